"""What a look at one formula gives: values only. It can be printed, compared and written as JSON."""

import datetime
from collections.abc import Hashable, Iterable
from typing import Literal, get_args

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula, Reading
from optiform.ingredients.ingredient import Evidence
from optiform.reading.answer import Answer, Rows, words_of
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable
from optiform.review.facts import Stated, Unjudged
from optiform.review.rounding import allowed
from optiform.rules.forms import LEVELS, Level
from optiform.rules.kinds import Exclusion
from optiform.rules.law import HARD
from optiform.rules.positive import Listing

State = Literal["known", "not known", "not given", "does not apply"]
NOT_CHOSEN = "choice-missed"  #: rule of a warning that a choice of the brief is not kept
HOLDS_UP = ("vessel-full", "stock-short")  #: rules of warnings without whose remedy a batch does not begin
#: What a warning can be about.
About = Literal[
    "law", "preservation", "acidity", "charge", "electrolyte", "gas", "emulsifier", "heat", "oxidation", "water",
    "grains", "texture", "foam", "dose", "usual", "total", "figures",
]  # fmt: skip
ABOUT: tuple[About, ...] = get_args(About)


@frozen
class Measured:
    """A property of a formula: its value, what was asked of it and how well it is known.

    `value` is None when `lacking` ingredients have no figure for it, when the formula is beyond what the model covers
    (`beyond`), or when it does not apply. `span` is the value with every figure at its low and at its high end.
    `rounding`: by how much the scale alone can put the value off, where it lies outside what was asked; else 0.
    """

    name: str
    value: float | None
    unit: str
    basis: str
    evidence: Evidence
    low: float | None = None
    high: float | None = None
    span: tuple[float, float] | None = None
    lacking: tuple[str, ...] = ()
    note: Hashable = ""
    beyond: bool = False
    rounding: float = 0.0

    @property
    def limited(self) -> bool:
        """Whether a brief asks something of it."""
        return (self.low, self.high) != (None, None)

    @property
    def none(self) -> bool:
        """Whether a brief asks for none of it."""
        return not self.low and self.high == 0

    @property
    def state(self) -> State:
        """Why there is a value or none."""
        if self.value is not None:
            return "known"
        if self.lacking:
            return "not known"
        return "not given" if self.beyond else "does not apply"

    @property
    def bar(self) -> tuple[float, float, float] | None:
        """Where a bar from 0 to 1 shows the asked range and the value: (start, end, value); None without a value.

        The bar ends a quarter beyond the largest of the three; an open end of the range is the bar's own end.
        """
        known = [end for end in (self.low, self.high, self.value) if end is not None]
        if self.value is None or min(known) < 0:
            return None
        top = 1.25 * max(known) or 1.0
        return (self.low or 0.0) / top, 1.0 if self.high is None else self.high / top, self.value / top

    @property
    def missed(self) -> bool:
        """Whether a known value lies outside what was asked, beyond rounding to the scale."""
        if self.value is None:
            return False
        exact = 1e-6 * (1 + abs(self.value))
        below, above = (
            0.0 if end is None else sign * (self.value - end) - max(exact, allowed(end, self.rounding))
            for sign, end in ((-1.0, self.low), (1.0, self.high))
        )
        return below > 0 or above > 0


@frozen
class RuleCheck:
    """A rule on constituents, what the formula contains of them, and whether it keeps the rule.

    `id` is the rule's row in limits.csv, empty for a certificate; content and limit count mass as `expressed_as`.
    `words`: what a label has to say where it is not kept. `read`: the day the rule was last read, None where it never
    was.
    """

    group: str
    content: float
    limit: float | None
    market: str
    kind: str
    reference: str
    evidence: Evidence
    kept: bool
    note: str | Listing = ""
    id: str = ""
    expressed_as: str = ""
    words: str = ""
    read: datetime.date | None = None

    @property
    def hard(self) -> bool:
        """Whether a formula that does not keep it may not be sold: law with a number or a list, or a certificate."""
        return self.kind in (*HARD, "positive list", "certificate")


@frozen
class FormulaWarning:
    """What a maker should know of a formula before weighing it.

    Attributes:
        about: what it concerns, one of `ABOUT`.
        level: `stop`: made like this it fails or is not allowed; `mind`: an experienced maker would look at it; `note`:
            unusual, no harm.
        fact: what it says; telling/warned.py has its words. A text says itself.
        rule: the id of what says so: a row of a table of rules, or what this program looks at.
        lines: the ingredients at fault, by name.
        evidence: how well it is known.
        source: where it was read, an id of sources.csv; empty where there is none.
        overruled: whether the brief overrules the rule: told all the same, and kept from nothing.
        part: of the batch that it is about; empty for all of it.
    """

    about: About
    level: Level
    fact: Hashable
    rule: str
    lines: tuple[str, ...] = ()
    evidence: Evidence = Evidence.PRACTICE
    source: str = ""
    overruled: bool = False
    part: str = ""

    @property
    def comes_first(self) -> bool:
        """Whether no short answer leaves it out, though it is no stop: the brief overrules it, or no batch begins."""
        return self.level != "stop" and (self.overruled or self.rule in HOLDS_UP)

    @property
    def text(self) -> str:
        """The whole of it in words."""
        return words_of(self)

    def __str__(self) -> str:
        """Its words."""
        return self.text


def heaviest_first(warnings: Iterable[FormulaWarning]) -> list[FormulaWarning]:
    """Every stop, then what holds up the batch, what the brief overrules, what to mind, and the notes.

    Otherwise in their order.

    Example:
        >>> note, stop = (FormulaWarning("dose", level, level, "usual-use") for level in ("note", "stop"))
        >>> [warning.text for warning in heaviest_first([note, stop])]
        ['stop', 'note']
        >>> rules = ("usual-use", "stock-short")
        >>> dose, lot = (FormulaWarning("dose", "mind", word, rule) for word, rule in zip(("dose", "lot"), rules))
        >>> [warning.text for warning in heaviest_first([dose, lot])]
        ['lot', 'dose']
    """
    return sorted(warnings, key=_lightness)


def _lightness(warning: FormulaWarning) -> float:
    if warning.overruled:
        return 0.5
    return 0.25 if warning.comes_first else LEVELS.index(warning.level)


@frozen
class Caution:
    """A usual caution, and where it belongs: making, using or selling."""

    where: str
    text: str


@frozen
class Report(Comparable):
    """A formula looked at from every side; common to a designed and a given one.

    `warnings`: in the order they were looked for; `heaviest_first` puts every stop before the others.
    `markets`: whose law was looked at. `unjudged`: what keeps its law from being known.
    `lines`: the ingredients of which there is not as much as the brief says.
    `against_kind`: those that its kind of product is usually made without, each with why.
    `statements`: of suppliers, on which the law rests where a rule asks for them.
    """

    formula: Formula
    measures: tuple[Measured, ...]
    rules: tuple[RuleCheck, ...]
    warnings: tuple[FormulaWarning, ...]
    cautions: tuple[Caution, ...]
    markets: tuple[str, ...] = ()
    unjudged: tuple[Unjudged, ...] = ()
    lines: tuple[Measured, ...] = ()
    against_kind: tuple[tuple[str, Exclusion], ...] = ()
    statements: tuple[Stated, ...] = ()

    @property
    def keeps_law(self) -> bool | None:
        """Whether law and certificates in the tables are kept. No release for sale.

        A rule that is broken is broken, whatever else is not known. None where none was looked at, or where something
        is declared for which nothing was looked up.
        """
        hard = [rule for rule in self.rules if rule.hard]
        if not all(rule.kept for rule in hard):
            return False
        return True if (hard or self.markets) and not self.unjudged else None

    @property
    def keeps_limits(self) -> bool | None:
        """Whether every limit is kept, every line as the brief fixes it, and every choice that it asks for.

        None without limits, or where one is not missed but its value is not known.
        """
        asked = [measure for measure in self.measures if measure.limited]
        chosen = all(warning.rule != NOT_CHOSEN for warning in self.warnings)
        if not chosen or self.lines or any(measure.missed for measure in asked):
            return False
        return None if not asked or any(measure.value is None for measure in asked) else True


class Formulated(Answer):
    """An answer that is one formula, looked at from every side in its `report`."""

    report: Report

    @property
    def formula(self) -> Formula:
        """The formula."""
        return self.report.formula


class Reported(Formulated):
    """Likewise, with what was asked of it."""

    @property
    def limits(self) -> Rows[Measured]:
        """Each property that the brief asks something of: its value, and what was asked."""
        return Rows(measured for measured in self.report.measures if measured.limited)


@frozen
class Checked(Reported):
    """A given formula as read, and the report on it."""

    reading: Reading
    report: Report
    brief: Brief | None = None
