"""What a brief's formula can be made of: the candidates, why others are left out, and the line of each."""

from collections.abc import Callable, Mapping
from functools import partial

from optiform.brief.background import Background
from optiform.brief.brief import Range
from optiform.brief.leftout import LeftOut, Out, Reason, Unconfirmed
from optiform.brief.targets import ENDS, asks_of_base, ends_of, read_ends
from optiform.brief.usual import advised
from optiform.ingredients.ingredient import DOSED, PHASES, Ingredient
from optiform.reading import keys
from optiform.reading.cells import Cells
from optiform.rules.claims import against
from optiform.rules.kinds import ruled_out
from optiform.rules.law import Scope, unconfirmed
from optiform.rules.positive import not_allowed, not_settled
from optiform.rules.usual import usual_use

LINE: keys.Keys = {**ENDS, "phase": keys.one_of("phase"), "if_used": keys.number("none at all, or at least so much")}
Candidates = dict[str, Ingredient]  # by the name in lower case


def candidates_of(background: Background, scope: Scope) -> tuple[Candidates, list[LeftOut]]:
    """Usable candidates, and those that are not, with the reason.

    Of what nobody knows whether it is allowed only what the brief or today's formula names is a candidate, where what
    is usual in the kind holds: it would be warned of.

    Args:
        background: what a brief is read against.
        scope: of the product.
    """
    cells, catalogue = background.cells, background.catalogue
    wish = cells.table.get("candidates", "owned" if cells.table.get("own_files") else None)
    excluded = [cells.known("exclude", name, catalogue) for name in cells.texts("exclude")]
    chosen = _chosen(background, wish)
    if chosen is None:
        return {}, []
    asked = {item.name.casefold(): item for name in line_table(cells) if (item := catalogue.find(name))}
    out: dict[str, Reason] = {item.name.casefold(): Out.EXCLUDED for item in excluded if item}
    for claim in background.claims:
        out |= _reasons({**chosen, **asked}, partial(against, claim))
    if wish == "in stock":
        gone = {key for key, item in chosen.items() if (stock := item.value("stock")) and stock.figure <= 0}
        out = {**dict.fromkeys(gone - set(asked), Out.OUT_OF_STOCK), **out}
    if not isinstance(wish, list):  # a list names every one of its candidates
        unasked = _unasked(background, chosen, set(asked))
        kind, usual = background.kind, background.kind and background.usual
        unsure = _reasons(unasked, partial(_unsure, scope=scope)) if usual else {}
        out = {**_reasons(unasked, partial(ruled_out, kind)), **unsure, **out}
    chosen |= asked
    out |= _reasons(chosen, partial(not_allowed, scope=scope))
    left_out = [(chosen[key].name, why) for key, why in out.items() if key in chosen]
    return {key: item for key, item in chosen.items() if key not in out}, left_out


def _reasons(items: Candidates, why: Callable[[Ingredient], Reason | None]) -> dict[str, Reason]:
    """Those of which something says why they cannot be used, with that."""
    return {key: reason for key, item in items.items() if (reason := why(item)) is not None}


def _chosen(background: Background, wish: object) -> Candidates | None:
    """Those that `candidates` asks for; None where it says nothing that can be meant."""
    cells, catalogue = background.cells, background.catalogue
    if isinstance(wish, list) and wish:
        items = [cells.known("candidates", str(name), catalogue) for name in wish]
        return {item.name.casefold(): item for item in items if item}
    if wish not in ("owned", "in stock"):
        cells.fault("candidates", wish or None, '"in stock", "owned" or a list of ingredients')
        return None
    owned = {key: catalogue.ingredients[key] for key in sorted(catalogue.owned)}
    if not owned and not cells.table.get("own_files"):
        cells.fault("candidates", wish, "own_files that name ingredients, or a list of them here")
    return owned


def _unsure(item: Ingredient, scope: Scope) -> Reason | None:
    """Why nobody knows here whether the law allows an ingredient; None where it is known."""
    papers = unconfirmed(item, scope)
    return not_settled(item, scope) or (Unconfirmed(tuple(papers)) if papers else None)


def _unasked(background: Background, chosen: Candidates, asked: set[str]) -> Candidates:
    """Candidates that neither the brief nor today's formula names."""
    today = {line.ingredient.name.casefold() for line in background.reference.lines} if background.reference else set()
    return {key: item for key, item in chosen.items() if key not in asked | today}


# -- lines -------------------------------------------------------------------------------------------------------------


def line_table(cells: Cells) -> Mapping[str, object]:
    """The brief's `[lines]` as written; empty where they are no table."""
    lines = cells.table.get("lines", {})
    return lines if isinstance(lines, dict) else {}


def lines_of(background: Background, candidates: Candidates) -> dict[str, tuple[Range, str]]:
    """The range and phase of each candidate: the brief's, else the formula of today's phase and usual maximum."""
    today = background.reference.lines if background.reference else ()
    phases = {line.ingredient.name.casefold(): line.phase for line in today}
    amounts = {line.ingredient.name: line.fraction for line in today}
    lines = {
        key: (_advised(background, item, amounts), phases.get(key, item.phase)) for key, item in candidates.items()
    }
    cells = background.cells.within("lines", expected="a table of ingredients")
    named: set[str] = set()
    for name in cells.table:
        item = cells.known(name, name, background.catalogue)
        if item and item.name in named:
            cells.fault(name, item.name, "each ingredient once")
        if item:  # the line of an excluded candidate is read all the same, for its faults
            named.add(item.name)
            key = item.name.casefold()
            lines[key] = _line(cells, name, lines.get(key, (Range(), item.phase)), item, background.kind)
    return lines


def _advised(background: Background, item: Ingredient, amounts: Mapping[str, float]) -> Range:
    """The range of a candidate by itself; with `usual = "warn"` only what holds in any case."""
    span = advised(item, background.kind, amounts)
    return span if background.usual or span.source == "advice" else Range()


def _line(cells: Cells, name: str, default: tuple[Range, str], item: Ingredient, kind: str) -> tuple[Range, str]:
    written, ends = cells.table[name], ends_of(cells, name)
    if any(asks_of_base(end) for end in ends.table.values()):
        ends.fault("", written, "% of the whole: a line is of the whole, only [limits] may be of base")
        return default
    ends.only(LINE)
    phase = ends.table.get("phase", default[1])
    if phase not in PHASES:
        ends.fault("", phase, f"one of the phases: {', '.join(PHASES)}")
    if not set(ends.table) & {"low", "high"}:
        return default[0], phase
    low, high = read_ends(ends, "%", _usual_of(kind, item))
    fixed = Range((low or 0.0) / 100, (100.0 if high is None else high) / 100, "brief")
    if not 0 <= fixed.low <= fixed.high <= 1:
        ends.fault("", written, "0 to 100 %, low not above high")
        return default
    return fixed, phase


def _usual_of(kind: str, item: Ingredient) -> tuple[float, float] | None:
    """How much of an ingredient is usual, %; None where it is not known."""
    usual = usual_use(kind, item)
    if usual:
        return usual.least, usual.most
    return (0.0, 1.0) if item.functions[0] in DOSED else None
