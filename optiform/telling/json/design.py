"""The answer to a brief as plain data, or why it has none."""

from typing import NamedTuple

from optiform.brief.brief import Brief
from optiform.design.answer import Designed, NoFormula
from optiform.ingredients.formula import Formula
from optiform.program.certificate import Certificate
from optiform.telling.json.basic import (
    CERTIFICATE,
    CHANGE,
    DEMAND,
    REASON,
    WARNINGS,
    Scoped,
    costed,
    costed_formula,
    demand_keys,
    report_keys,
)  # fmt: skip
from optiform.telling.json.form import (
    NONE_OF,
    NOTHING,
    WHOLE,
    Data,
    Either,
    Many,
    Maybe,
    Plain,
    Shared,
    answer,
    exactly,
    key,
    many,
    number,
    record,
    text,
    texts,
    truth,
)  # fmt: skip
from optiform.telling.unsure import could_be_missed, price_of_sureness


class Best(NamedTuple):
    """A formula that answers a brief, with its proof: the part of an answer that is known first."""

    brief: Brief
    formula: Formula
    certificate: Certificate
    local: bool
    gap: float | None


class Change(NamedTuple):
    """A line of either of two formulas, % of the whole."""

    ingredient: str
    before: float
    after: float

    @property
    def points(self) -> float:
        """Percentage points."""
        return self.after - self.before


def _changes(best: Best | Designed) -> list[Change]:
    now, before = best.formula, best.brief.reference
    if before is None:
        return []
    names = dict.fromkeys(line.ingredient.name for line in (*now.lines, *before.lines))
    return [Change(name, 100 * before.fraction(name), 100 * now.fraction(name)) for name in names]


def _proof(best: Best | Designed) -> Scoped:
    return Scoped(best.certificate, "near this formula" if best.local else "all", best.gap)


_BEST = (
    text("title", "brief.title"),
    *costed("formula", "brief"),
    costed_formula("today", "brief.reference", "brief", null=True),
    many("changes", CHANGE, _changes),
    key("certificate", CERTIFICATE, _proof),
)
BEST = answer(["optimal"], *_BEST)
LACKING = Shared(
    "lacking",
    record(
        text("part"), number("low"), number("high", null=True), text("unit"),
        texts("buy", words="what makers of the kind take, the usual one first"),
        number("reached", words="what the candidates give beside the rules; null where none serves it", null=True),
        texts("rules", words="each of which, left away, would let the parts come together"),
    ),
    "A part that a product of the kind must have and no candidate serves, or too little of it.",
)  # fmt: skip
_GOAL = record(text("words", "brief.goal.words"), number("value", lambda of: getattr(of, "objective", None), null=True))
_SHARED = (
    key("goal", _GOAL, lambda of: of),
    many("left_out", REASON, "brief.left_out"),
    many("against_kind", REASON, "brief.against_kind"),
)
_BOUND = record(
    *demand_keys("demand"),
    number("price", words="what each point of easing saves, in the goal's unit"), text("price_unit"),
    number("valid_from", null=True), number("valid_to", null=True), number("tighter_price", "tighter", null=True),
    truth("tighter_proven"), truth("whole"),
)  # fmt: skip
_ENTRY = record(
    text("ingredient"), number("price", null=True), number("enters_below", "below", null=True), truth("whole")
)
_EASED = record(*demand_keys("demand"), number("reached", words="the value in its place"))
_MISSED = record(*demand_keys("demand"), number("worst"))


class Missed(NamedTuple):
    """A limit that could be missed, with its worst value; or one that is, with its value."""

    demand: object
    worst: float


_UNSURE = record(
    many("limits", _MISSED, lambda of: [Missed(*pair) for pair in of.unsure.limits]),
    many("unguarded", _MISSED, lambda of: [Missed(*pair) for pair in of.unsure.unguarded]),
    key(
        "figures",
        Either((exactly("all"), WHOLE), lambda budget: int(budget != "all")),
        lambda of: "all" if of.unsure.budget is None else of.unsure.budget,
    ),
    number("price", "unsure.price", null=True),
    truth("at_most", "unsure.at_most"),
    truth("decided", "unsure.decided"),
    text("text", lambda of: f"{could_be_missed(of.unsure)} {price_of_sureness(of.unsure, of.brief.goal)}".strip()),
)
DESIGNED = answer(
    ["optimal"],
    *_BEST,
    *report_keys("report"),
    *_SHARED,
    key("lacking", NONE_OF, lambda _: []),
    many("binding", _BOUND),
    many("unpriced", DEMAND),
    many("unused", _ENTRY, "entries"),
    costed_formula("tie", "tie", "brief", "another formula that is exactly as good", null=True),
    key("conflict", NONE_OF, lambda _: []),
    key("repairs", NONE_OF, lambda _: []),
    many("gave", _EASED, words="usual ranges that could not be kept beside the brief's limits"),
    key(
        "unsure",
        Maybe(_UNSURE),
        lambda of: of if of.unsure else None,
        "limits that could be missed as figures are ranges",
    ),
)
_REPAIR = record(*demand_keys("demand"), number("new", "target", "a target that makes it possible"))
_NOTHING = answer(
    ["infeasible", "undecided"],
    text("title", "brief.title"),
    key("formula", NONE_OF, lambda _: []),
    key("cost", NOTHING, lambda _: None),
    key("properties", Plain({"type": "object", "maxProperties": 0}, dict), lambda _: {}),
    key("binding", NONE_OF, lambda _: []),
    *_SHARED,
    many("lacking", LACKING),
    many("conflict", DEMAND, words="the limits that contradict each other"),
    truth("minimal", words="whether the others can be met without any one of them"),
    key("repairs", Many(Many(_REPAIR)), words="each a set of changes that makes it possible"),
    text("reason", words="why it is not decided, or why none was found"),
    key("warnings", WARNINGS, lambda _: []),
    key("certificate", Maybe(CERTIFICATE)),
    status=lambda of: "infeasible" if of.decided else "undecided",
)
IMPOSSIBLE = Shared("impossible", _NOTHING, "A brief that no formula meets, or of which that is not known.")
DESIGN = Either((DESIGNED, IMPOSSIBLE), lambda of: int(isinstance(of, NoFormula)))


def best(brief: Brief, formula: Formula, proof: Certificate, local: bool, gap: float | None = None) -> Data:
    """The formula that answers a brief, against today's, and its proof: the part of an answer that is known first.

    `gap`: where a limit bends, by how much another formula could be better at most, in the goal's unit.
    """
    return BEST.said(Best(brief, formula, proof, local, gap))


def designed(answer: Designed) -> Data:
    """The answer to a brief that has one."""
    return DESIGNED.said(answer)


def impossible(answer: NoFormula) -> Data:
    """The answer to a brief that nothing fits."""
    return _NOTHING.said(answer)
