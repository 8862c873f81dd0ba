"""A new brief as a text: what is known filled in, every other key there to be taken, each with a word on it.

`optiform new` and the workbench both begin with it.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from optiform.brief.brief import KINDS
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.ingredient import FUNCTIONS, PHASES, Ingredient
from optiform.reading.frozen import frozen
from optiform.reading.tables import csv_text
from optiform.reading.toml_text import toml_text
from optiform.rules.claims import CLAIMS
from optiform.rules.kinds import use_of
from optiform.rules.law import AREAS, MARKETS, USES
from optiform.rules.packs import PACKS
from optiform.rules.usual import first_choices, grain_in, grains_of, served

SHELF = "shelf.csv"  #: the table of what is on the shelf, beside the brief
MOST = 4  #: of what makers take for one function, where nothing is said of the shelf
FEW = 3  # values of a list that stand on one line
COLUMN = 34  # where the word on a key begins


@frozen
class OnShelf:
    """What a maker has of one ingredient: price of a pack (money), mass of a pack and of what is there (kg).

    A new ingredient has `phase` and `functions`, and perhaps its declaration, the known one that it is `like`, and the
    most of each allergen (%).
    """

    ingredient: str
    price: float | None = None
    pack: float | None = None
    stock: float | None = None
    phase: str = ""
    functions: str = ""
    inci: str = ""
    like: str = ""
    allergens: tuple[tuple[str, float], ...] = ()


@frozen
class Start:
    """What is known of a product that is begun. `today` names the file of the formula that is made now.

    Without `use` and `area` those of the kind stand.
    """

    title: str
    kind: str = ""
    use: str = ""
    area: str = ""
    markets: tuple[str, ...] = ()
    currency: str = "EUR"
    batch: str = "1 kg"
    scale: str = "0.1 g"
    jar: str = ""
    own_files: tuple[str, ...] = ()
    candidates: tuple[str, ...] = ()
    today: str = ""
    claims: tuple[str, ...] = ()


_STANDS = 'nearest = "reference"'  # what is made today stands until something else is wished

#: The tables of a brief, each with lines of an example and a word on them.
_HEADINGS = (
    (("[goal]", ""), ('lowest = "cost"', 'or highest; or nearest = "usual", "reference" or a file')),
    (("[lines]", "how much of one ingredient, % of the whole"), ('"glycerin" = "3 %"', "just so much"),
     ('"beeswax" = { low = "2 %", high = "5 %" }', ""),
     ('"lanolin" = { if_used = "1 %" }', "none, or at least so much")),
    (("[limits]", "of a property of the whole"), ('"oil phase" = { low = "20 %", high = "30 %" }', "")),
    (("[[choose]]", "which of several"), ('of = ["cocoa butter", "shea butter, refined"]', ""),
     ("exactly = 1", "or most, or least")),
    (("[[when]]", "what goes together"), ('uses = "beeswax"', ""), ('also = "candelilla wax"', ""),
     ('at_least = "0.5 %"', "")),
)  # fmt: skip


@dataclass
class _Text:
    """Lines of a brief that is written."""

    lines: list[str] = field(default_factory=list)

    def key(self, name: str, value: object, words: str, example: object = None) -> None:
        """A key with its value, or with an example behind a # where nothing is known."""
        known = value not in ("", (), None)
        shown = value if known else example
        if isinstance(shown, tuple) and len(shown) > FEW:
            self.lines += [f"# {words}", f"{name} = [", *(f"    {_written(each)}," for each in shown), "]"]
            return
        line = f"{name} = {_written(shown)}"
        line = line if known else f"# {line}"
        self.lines.append(f"{line:<{COLUMN}}  # {words}" if words else line)

    def note(self, *words: str) -> None:
        """Lines of words."""
        self.lines += [f"# {line}" if line else "" for line in words]


def _written(value: object) -> str:
    """A value as TOML has it."""
    if isinstance(value, tuple):
        return f"[{', '.join(map(_written, value))}]"
    return toml_text({"x": value}).strip().removeprefix("x = ")


def usual_shelf(kind: str, catalogue: Catalogue, grain: str = "", most: int = MOST) -> tuple[Ingredient, ...]:
    """What makers of a kind take, in the order of phases and parts, the usual one of each function first.

    Args:
        kind: of product.
        catalogue: where the ingredients are known.
        grain: which of the kind's grains, where it has several sorts: no others are taken.
        most: of one function.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> [item.name for item in usual_shelf("balm", read_catalogue(), most=1)][:3]
        ['beeswax', 'shea butter, refined', 'sunflower oil, high oleic']
    """
    grains = (grain,) if grain else grains_of(kind) or ("",)
    functions = {function for each in grains for function in served(kind, each)}
    ordered = [function for function in FUNCTIONS if function in functions]
    items: dict[Ingredient, None] = {}
    for function in ordered:
        known = [item for name in first_choices(kind, [function]) if (item := catalogue.called(name)) is not None]
        items |= dict.fromkeys(
            [item for item in known if not grain or grain_in(kind, {item: 1.0}) in ("", grain)][:most]
        )
    return tuple(sorted(items, key=lambda item: PHASES.index(item.phase)))


def brief_text(start: Start) -> str:
    """The brief of a product that is begun, with a word on every key that a brief can have.

    Example:
        >>> print(brief_text(Start("Hand butter", "body butter", candidates=("shea butter, refined",)))[:74])
        # A brief: what the product is to be. A line that begins with # counts for
    """
    text = _Text()
    usual_use, usual_area = use_of(start.kind)
    use = start.use or usual_use
    text.note("A brief: what the product is to be. A line that begins with # counts for nothing;",
              "take the # away where you want what stands behind it.", "")  # fmt: skip
    text.key("title", start.title, "")
    text.key("kind", start.kind, "what is usual for it holds; your own limits go before", KINDS[0])
    text.key("use", use, f"or {_other(use)}")
    text.key("area", start.area or usual_area, f"of: {', '.join(AREAS)}")
    text.key("markets", start.markets, f"whose law counts, of: {', '.join(MARKETS)}", MARKETS[:1])
    text.key("date", "", "the law as on this day; without it, today's", datetime.date(2027, 1, 31))
    text.key("currency", start.currency, "of every price here")
    text.key("batch", start.batch, "made at once")
    text.key("scale", start.scale, "the least that your scale shows")
    text.key("jar", start.jar, "net mass of one jar", "150 g")
    text.note("")
    text.key("own_files", start.own_files, "your prices, packs and stock, in tables beside this brief", (SHELF,))
    text.key("reference", start.today, "the formula you make today, beside this brief", "today.csv")
    text.key("candidates", start.candidates, '"owned" or "in stock", of own_files; or a list of names', "owned")
    text.key("exclude", "", "never these", ("coconut oil",))
    text.key("claims", start.claims, f"of the label: {', '.join(CLAIMS)}", tuple(CLAIMS)[:1])
    text.key("missing", "", "what lacks a figure that a limit needs; or refuse", "leave out")
    text.key("count_as_oil", "", "an emulsifier that is counted with the oils", ("glyceryl stearate",))
    text.key("ph", "", "the pH that you want", 5.2)
    text.key("pack", "", f"of: {', '.join(PACKS)}", PACKS[0])
    text.key("wet_fingers", "", "they reach into the jar; or false", True)
    text.key("overrule", "", "rules that it may break, by the id that `optiform rules` lists", ("chelator-helps",))
    text.key("most_ingredients", "", "lines of a formula; for design, weigh and check", 12)
    text.key("usual", "", 'usual ranges are only warned of; or "hold"', "warn")
    if start.today:
        text.lines += ["", "[goal]", f"{_STANDS:<{COLUMN}}  # or lowest = 'cost'; or highest"]
    for heading in _HEADINGS[1:] if start.today else _HEADINGS:
        text.lines.append("")
        text.note(*(f"{line:<{COLUMN - 2}}  # {words}" if words else line for line, words in heading))
    return "\n".join(text.lines) + "\n"


def _other(use: str) -> str:
    return next(f'"{each}"' for each in USES if each != use)


def shelf_text(shelf: Sequence[OnShelf], currency: str) -> str:
    """The own table of what is on the shelf: only the columns that say something.

    Example:
        >>> print(shelf_text([OnShelf("glycerin", 21.0, 5.0), OnShelf("water")], "EUR"), end="")
        ingredient,pack price (EUR),pack (kg)
        glycerin,21,5
        water,,
    """
    columns: list[tuple[str, list[object]]] = [
        ("ingredient", [each.ingredient for each in shelf]),
        (f"pack price ({currency})", [each.price for each in shelf]),
        ("pack (kg)", [each.pack for each in shelf]),
        ("stock (kg)", [each.stock for each in shelf]),
        ("phase", [each.phase for each in shelf]),
        ("functions", [each.functions for each in shelf]),
        ("inci", [each.inci for each in shelf]),
        ("like", [each.like for each in shelf]),
        *_allergens(shelf),
    ]
    said = [(name, cells) for name, cells in columns if any(cell not in (None, "") for cell in cells)]
    return csv_text([[name for name, _ in said], *zip(*(cells for _, cells in said), strict=True)])


def _allergens(shelf: Sequence[OnShelf]) -> Iterable[tuple[str, list[object]]]:
    names = dict.fromkeys(name for each in shelf for name, _ in each.allergens)
    return [(f"allergen {name} (%)", [dict(each.allergens).get(name) for each in shelf]) for name in names]
