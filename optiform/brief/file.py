"""Reading a brief from TOML. What a brief can say stands in KEYS; `optiform guide brief` shows a whole one."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from optiform.brief.background import Background, background_of
from optiform.brief.brief import Brief, Limit
from optiform.brief.candidates import LINE, candidates_of, line_table, lines_of
from optiform.brief.choices import CHOOSE, WHEN, choices_of
from optiform.brief.goal import Goal, NearestUsual
from optiform.brief.leftout import LeftOut, NoFigure, clashes, key_of
from optiform.brief.targets import ENDS, GOAL, goal_of, limits_of
from optiform.brief.towards import towards_usual
from optiform.brief.usual import grain_of, usual_limits
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Property
from optiform.properties.solubility import OutOfRange
from optiform.reading import keys
from optiform.reading.cells import Cells, positive
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.near import nearest
from optiform.rules.chemistry import rule_ids
from optiform.rules.kinds import ruled_out, use_of
from optiform.rules.law import AREAS, MARKETS, USES, Scope
from optiform.rules.packs import PACKS

PH = 2.0, 11.0  #: from which to which a brief may ask for a pH: what touches skin lies inside
NAMED = 3  # ingredients that a fault names
KEYS: keys.Keys = {
    "title": keys.text("what it is called; the file's name if left out"),
    "kind": keys.one_of("kind", "of product; what is usual for it holds where neither brief nor today's formula says"),
    "use": keys.one_of("use", "how it is used; as its kind is if left out"),
    "area": keys.one_of("area", "where; as its kind is if left out"),
    "markets": keys.many(keys.one_of("market"), "whose law holds; none if left out"),
    "date": keys.date("the day the law is taken for, without quotes; today if left out"),
    "currency": {**keys.text("three letters; EUR if left out"), "pattern": "^[A-Za-z]{3}$"},
    "batch": keys.amount("how much is made; 1 kg if left out"),
    "scale": keys.amount("the least that your scale shows; 0.1 g if left out"),
    "jar": keys.amount("net mass of one, for savings per jar"),
    "own_files": keys.texts("your own tables, beside the brief"),
    "reference": keys.text("file of today's formula"),
    "candidates": keys.either(keys.choice(("owned", "in stock")), keys.texts(), words="what it can be made of"),
    "exclude": keys.texts("names never used"),
    "usual": keys.choice(("hold", "warn"), "hold: usual ranges hold where the brief is silent"),
    "missing": keys.choice(("refuse", "leave out"), "candidates that lack a figure a limit needs"),
    "count_as_oil": keys.texts("emulsifiers that count as oil"),
    "claims": keys.many(keys.one_of("claim"), "of the label: what breaks one, or is of unknown origin, is left out"),
    "ph": keys.number(f"{PH[0]:g} to {PH[1]:g}, that the product is to have: what works outside it is left out"),
    "pack": keys.one_of("pack", "what it is filled into: how much air and light reach its oils"),
    "wet_fingers": keys.truth("whether they reach into the jar"),
    "overrule": keys.texts("ids of rules a formula may break: optiform rules"),
    "most_ingredients": keys.count("lines of a formula"),
    "goal": keys.table(GOAL, "one of the three", least=1, most=1),
    "lines": keys.named(keys.bare_or(LINE), "% of the jar of single ingredients"),
    "choose": keys.many(keys.table(CHOOSE, needed=("of",)), "which of several ingredients"),
    "when": keys.many(
        keys.table(WHEN, needed=("uses", "also", "at_least")),
        "what goes together: where there is one, at least so much of another",
    ),
    "limits": {
        **keys.named(
            keys.bare_or(ENDS, "low, high or both; or one value"), "what the formula must keep: optiform guide words"
        ),
        "propertyNames": keys.either(keys.one_of("property"), keys.text()),
    },
}


def read_brief(path: Path, figures: bool = True) -> Brief:
    """The brief in a TOML file, with the files it names; `figures` as in `brief_of`.

    Raises:
        BadInput: with every fault of the brief and of the files it names.
    """
    return brief_of(path, read_document(path), figures=figures)


def brief_of(
    path: Path, document: Mapping[str, object], catalogue: Catalogue | None = None, figures: bool = True
) -> Brief:
    """The brief that a document at `path` states; files it names lie beside it.

    Args:
        path: where the document stands, or would stand.
        document: the brief's keys.
        catalogue: what the brief's `own_files` give, where they have been read before.
        figures: whether candidates need what limits and goal ask of them, prices among it. A label needs none.

    Raises:
        BadInput: with every fault of the document and of the files it names.
    """
    cells = Cells(document, Inspection(str(path)))
    cells.only(sorted(KEYS), "brief")
    brief = _brief(background_of(path, cells, catalogue), figures)
    _check_models(brief, cells.inspection)
    cells.inspection.finish()
    return brief


def _brief(background: Background, figures: bool) -> Brief:
    cells, catalogue = background.cells, background.catalogue
    goal, limits = goal_of(background), limits_of(background)
    scope, choices = _scope(cells, background.kind), choices_of(background)
    candidates, left_out = candidates_of(background, scope)
    lines = lines_of(background, candidates)
    policy = cells.choice("missing", "refuse", ("refuse", "leave out"))
    if figures and background.whole:
        candidates, lacking = _with_figures(cells, candidates, _needed(goal, limits), policy)
        left_out += lacking
    for fault in clashes(line_table(cells), left_out, cells.texts("exclude"), catalogue):
        cells.inspection.fault(*fault)
    if not candidates and not cells.inspection.faults:
        cells.fault("candidates", "; ".join(f"{name}: {key_of(why)}" for name, why in left_out), "one that can be used")
    kind, today = background.kind, background.reference
    mix = Mix(tuple(candidates.values()), tuple(lines[key][1] for key in candidates))
    ranges = tuple(lines[key][0] for key in candidates)
    wanted = goal.wanted.name if goal.wanted else ""
    if isinstance(goal, NearestUsual):
        goal = towards_usual(kind, grain_of(kind, mix, ranges, limits, today), mix, scope, background.currency)
    return Brief(
        title=cells.text("title", background.path.stem),
        kind=kind,
        scope=scope,
        currency=background.currency,
        batch=cells.quantity("batch", "kg", 1.0, positive),
        step=cells.quantity("scale", "g", 0.1, positive),
        mix=mix,
        ranges=ranges,
        limits=limits,
        goal=goal,
        catalogue=catalogue,
        left_out=tuple(left_out),
        against_kind=tuple((item.name, why) for item in candidates.values() if (why := ruled_out(kind, item))),
        reference=today,
        jar=cells.optional("jar", "kg", positive),
        claims=background.claims,
        ph=cells.optional("ph", "pH", _on_skin),
        overrule=_overruled(cells),
        pack=cells.choice("pack", "", ("", *PACKS)),
        wet_fingers=cells.truth("wet_fingers") if "wet_fingers" in cells else None,
        usual=usual_limits(kind, mix, ranges, limits, today, background.currency, wanted) if background.usual else (),
        choices=choices,
        most_ingredients=cells.count("most_ingredients", 1, 1) if "most_ingredients" in cells else None,
    )


def _on_skin(ph: float) -> str:
    low, high = PH
    return "" if low <= ph <= high else f"a pH from {low:g} to {high:g}: what touches skin lies there"


def _overruled(cells: Cells) -> tuple[str, ...]:
    """Ids of rules that the brief overrules. A law is none of them."""
    names = [name.casefold() for name in cells.texts("overrule")]
    for name in names:
        if name not in rule_ids():
            near = nearest(name, rule_ids())
            meant = f"{near}? " if near else ""
            cells.fault("overrule", name, f"{meant}the id of a rule that `optiform rules` lists")
    return tuple(names)


def _scope(cells: Cells, kind: str) -> Scope:
    markets, date = cells.choices("markets", MARKETS), cells.date("date")
    use, area = use_of(kind)
    return Scope(cells.choice("use", use, USES), cells.choice("area", area, AREAS), markets, date)


# -- figures that limits and goal need ---------------------------------------------------------------------------------


def _needed(goal: Goal, limits: Sequence[Limit]) -> list[Property]:
    return [limit.property for limit in limits] + ([goal.wanted] if goal.wanted else [])


def _lacking(item: Ingredient, wanted: Property) -> str:
    """The name of a candidate without a figure; with the price that it has in another currency than the brief's."""
    price = item.value("price") if wanted.name == "cost" else None
    return f"{item.name} (only in {price.unit}, not in {wanted.unit})" if price else item.name


def _with_figures(
    cells: Cells, candidates: dict[str, Ingredient], needed: Sequence[Property], policy: str
) -> tuple[dict[str, Ingredient], list[LeftOut]]:
    """Candidates that have what a limit or the goal needs; one that lacks it is a fault, or left out as the brief says.

    The second are those left out, each with the reason; none where their lack is a fault already.
    """
    mix = Mix(tuple(candidates.values()), tuple(item.phase for item in candidates.values()))
    dropped: dict[str, list[str]] = {}
    for wanted in {wanted.name: wanted for wanted in needed}.values():
        lacking = [key for key, gap in zip(candidates, _missing(wanted, mix), strict=True) if gap]
        for key in lacking:
            dropped.setdefault(key, []).append(wanted.name)
        if lacking and policy == "refuse":
            names = [_lacking(candidates[key], wanted) for key in lacking]
            who = "; ".join(names if len(names) <= NAMED else [*names[:NAMED], f"{len(names) - NAMED} more"])
            expected = 'the figure in an own file, the ingredient under exclude, or missing = "leave out"'
            cells.fault(f"[limits] or [goal] {wanted.name}", f"no figure for {who}", expected)
    return (
        {key: item for key, item in candidates.items() if key not in dropped},
        [(candidates[key].name, NoFigure(tuple(wanted))) for key, wanted in dropped.items() if policy != "refuse"],
    )


def _missing(wanted: Property, mix: Mix) -> list[bool]:
    try:
        return [bool(gap) for gap in wanted.everywhere(mix).missing]
    except OutOfRange:
        return [False] * len(mix.ingredients)


def _check_models(brief: Brief, inspection: Inspection) -> None:
    """A limit at a temperature that its tables do not reach is a fault, not a crash later."""
    for wanted in _needed(brief.goal, brief.limits):
        try:
            wanted.everywhere(brief.mix)
        except OutOfRange as error:
            inspection.fault(f"[limits] {wanted.name}", str(error), "a condition the tables cover")
