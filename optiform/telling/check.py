"""A formula that exists, told: whether it keeps limits and law first."""

from collections.abc import Iterator
from dataclasses import replace

from optiform.batch.grams import in_grams
from optiform.brief.brief import called
from optiform.ingredients.formula import Formula, Reading
from optiform.properties.cost import cost
from optiform.review.answer import Checked
from optiform.review.measures import Setting
from optiform.telling import report, usual
from optiform.telling.acidity import acidity
from optiform.telling.claims import claims
from optiform.telling.formula import grams_of, lines_table, money_sentence, share_of, spending, weigh_this
from optiform.telling.parts import Column, Level, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.preservation import preservation

ROUNDED = 0.5  # % of the jar: a sum further from 100 is no rounding of its lines but a slip
READ = {"whole": "% of the jar", "base": "% of the base, with the grains on top"}


def checked(answer: Checked, setting: Setting) -> Telling:
    """The report on a formula that exists.

    Args:
        answer: the report.
        setting: what it was looked at for.
    """
    looked, formula = answer.report, answer.report.formula
    batch = setting.batch or 1.0
    sections = [
        _verdict(answer, setting),
        report.warnings(looked.warnings),
        _formula(answer, batch),
        report.limits(looked),
        report.properties(looked),
        spending(setting.currency, formula, batch),
        report.law(looked),
        acidity(formula, setting),
        preservation(formula, setting),
        report.cautions(looked),
        report.notice(),
    ]
    table = lines_table(formula, setting.currency, batch)
    return Telling(called(formula, answer.brief), tuple(sections), table)


def _verdict(answer: Checked, setting: Setting) -> Section:
    """Limits and law, a broken law first, then what it costs and how it was read."""
    looked, brief = answer.report, answer.brief
    slipped = answer.reading.rescaled and abs(answer.reading.total - 100) > ROUNDED
    limits = (report.limits_line(looked), *claims(brief, looked.formula)) if brief else ()
    law = (report.law_line(looked, setting.scope),)
    return Section(
        "verdict",
        "",
        (
            *(_slip(answer.reading) if slipped else ()),
            *((*law, *limits) if law[0].level is Level.STOP else (*limits, *law)),
            money_sentence(brief, looked.formula) if brief else _cost(looked.formula, setting.currency),
            *usual.against_kind(looked, brief),
            report.cautions_line(looked),
            *(() if slipped else how_read(answer.reading)),
        ),
    )


def _slip(reading: Reading) -> Iterator[Sentence]:
    """A sum that is not whole moves every figure that follows, so it comes before all of them."""
    first, *others = how_read(reading)
    yield replace(first, level=Level.MIND)
    yield from others


def _cost(formula: Formula, currency: str) -> Sentence:
    total = cost(currency).of(formula)
    known = "is not known, because a price is missing" if total is None else f"is {total:.3f} {currency}/kg"
    return Sentence(f"The cost of the ingredients {known}.")


def how_read(reading: Reading) -> tuple[Sentence, ...]:
    """How a formula was read: what its amounts are of, and what was made of a sum that is not whole."""
    words = f"The amounts were read as {READ.get(reading.basis, reading.basis)}; they add up to {reading.total:.6g}."
    return (Sentence(words), *sentences(reading.notes, bullet=False))


def _formula(answer: Checked, batch: float) -> Section:
    formula, brief = answer.report.formula, answer.brief
    if brief is not None:
        return weigh_this(brief, formula, in_grams(formula, brief), "In")
    base = sum(line.fraction for line in formula.lines if line.phase != "grains")
    of_base = (Column("% of the base", "", 2, fine=True),) if 0 < base < 1 - 1e-9 else ()
    columns = (
        Column("ingredient"), Column("weigh", "g", 1), Column("% of the jar", "", 2, fine=True), *of_base,
        Column("phase"),
    )  # fmt: skip
    rows = tuple(
        (x.ingredient.name, grams_of(x, batch), share_of(x), *([100 * x.fraction / base] if of_base else ()), x.phase)
        for x in formula.lines
    )
    return Section("formula", f"In {number(batch)} kg", (Table(columns, rows),))
