"""What a label of a market holds beside the list of ingredients: the rules applied, and what a person decides."""

from collections.abc import Hashable, Iterator
from functools import cache

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.markets import country


@frozen
class Item:
    """A rule that was applied, or something that a person has to decide.

    `fact`: the text of a table, or a fact that this very draft raises; it has no source then.
    """

    about: str
    fact: Hashable
    source: str = ""
    evidence: Evidence | None = None


@frozen
class _Row:
    item: Item
    markets: frozenset[str]
    trigger: str
    part: str


def label_items(formula: Formula, market: str, part: str) -> Iterator[Item]:
    """The items of one part (`rule` or `decision`) that a formula sets off in a market, once each."""
    set_off = {"always"} | {f"function:{word}" for line in formula.lines for word in line.ingredient.functions}
    told = set()
    for row in _rows():
        if row.part == part and country(market) in row.markets and row.trigger in set_off and row.item.fact not in told:
            told.add(row.item.fact)
            yield row.item


@cache
def _rows() -> tuple[_Row, ...]:
    return tuple(map(_row, shipped("label_items")))


def _row(row: dict[str, str]) -> _Row:
    item = Item(row["about"], row["text"], row["source"], Evidence(row["evidence"]))
    return _Row(item, frozenset(row["markets"].split("; ")), row["trigger"], row["part"])
