"""A formula in a table: what is weighed, its shares, and what each line costs."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from optiform.batch.grams import Grams, in_grams
from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import PHASES, Ingredient
from optiform.properties.cost import cost
from optiform.review.rounding import capped
from optiform.telling.doses import helps
from optiform.telling.figures import amount
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Table, number

SMALL_TOLD = 2  # doses that the scale cannot weigh well, in the short telling


def share_of(line: Line) -> float:
    """A line's share of the jar, in %; that of what has a most is cut off to what is shown, so never rounded up."""
    return float(percent_of(line)) if capped(line.ingredient) else 100 * line.fraction


def percent_of(line: Line) -> str:
    """A line's share of the jar in %, as it is shown."""
    return amount(100 * line.fraction, capped=capped(line.ingredient))


def grams_of(line: Line, batch: float) -> float:
    """A line's mass in a batch of so many kg, in g, as it is shown where no scale is known."""
    return float(amount(1000 * batch * line.fraction, 1, capped(line.ingredient)))


def price_of(item: Ingredient, currency: str) -> float | None:
    """The price per kg in this currency, None where there is none."""
    price = item.price_in(currency)
    return None if price is None else price.figure


def weigh_this(brief: Brief, formula: Formula, grams: Grams | None, title: str = "Weigh this, for") -> Section:
    """What to put on the scale, beside today's formula; also what today's has and this one has not."""
    today = brief.reference if brief.reference and brief.reference.lines != formula.lines else None
    before = (Column("% of today's", "", 2, fine=True, unknown="-"),) if today else ()
    places = max(0, -int(grams.step.normalize().as_tuple().exponent)) if grams else 1
    columns = (
        Column("ingredient"), Column("weigh", "g", places, unknown="-"),
        Column("% of the jar", "", 2, fine=True, unknown="-"), *before, Column("phase"),
    )  # fmt: skip
    weights = list(zip(formula.lines, _weights(formula, brief, grams), strict=True))
    rows: list[tuple[Cell, ...]] = []
    for phase in PHASES:
        rows += [
            (line.ingredient.name, weight, share_of(line), *_before(today, line), phase)
            for line, weight in weights
            if line.phase == phase
        ]
        rows += [
            (line.ingredient.name, None, None, share_of(line), phase)
            for line in (today.lines if today else ())
            if line.phase == phase and not formula.fraction(line.ingredient.name)
        ]
    parts = (Table(columns, tuple(rows)), *_coarse(grams))
    whole = round(1000 * Decimal(str(brief.batch)), 6)
    in_all = f" ({grams.total} g in all)" if grams and grams.total != whole else ""
    return Section("formula", f"{title} {number(brief.batch)} kg{in_all}", parts)


def _weights(formula: Formula, brief: Brief, grams: Grams | None) -> Sequence[float]:
    if grams is None:
        return [grams_of(line, brief.batch) for line in formula.lines]
    return [float(weight) for _, weight in grams.lines]


def _before(today: Formula | None, line: Line) -> tuple[Cell, ...]:
    if today is None:
        return ()
    was = today.fraction(line.ingredient.name)
    return (share_of(Line(line.ingredient, was, line.phase)) if was else None,)


def _coarse(grams: Grams | None) -> Iterator[Part]:
    if grams is None:
        yield Sentence("The batch is too small to be weighed in whole steps of your scale.", Level.MIND)
        return
    for place, dose in enumerate(grams.small):
        due = f"{dose.due:.3g} g are due, and your scale shows steps of {number(float(grams.step))} g"
        yield Sentence(f"{dose.ingredient}: {due}. Better: {helps(dose)}.", Level.MIND, short=place < SMALL_TOLD)


def spending(brief_currency: str, formula: Formula, batch: float) -> Section:
    """What each line costs."""
    total = cost(brief_currency).of(formula)
    columns = (
        Column("ingredient"), Column("price", f"{brief_currency}/kg", 2, unknown="no price"),
        Column("cost in 1 kg", brief_currency, 3), Column("of the cost", "%", 0),
    )  # fmt: skip
    rows = tuple(_spent(line, brief_currency, total) for line in formula.lines)
    unpriced = [line.ingredient.name for line in formula.lines if price_of(line.ingredient, brief_currency) is None]
    lacking = (Sentence(f"No price in {brief_currency}/kg for {'; '.join(unpriced)}.", Level.MIND),) if unpriced else ()
    whole = (Sentence(f"The batch of {number(batch)} kg costs {batch * total:.2f} {brief_currency}."),) if total else ()
    return Section("cost", "What each line costs", (Table(columns, rows), *whole, *lacking), short=False)


def _spent(line: Line, currency: str, total: float | None) -> tuple[Cell, ...]:
    price = price_of(line.ingredient, currency)
    spent = None if price is None else line.fraction * price
    return line.ingredient.name, price, spent, 100 * spent / total if spent is not None and total else None


def lines_table(formula: Formula, currency: str, batch: float, today: Formula | None = None) -> Table:
    """The formula as a table for a spreadsheet."""
    total = cost(currency).of(formula)
    was = (Column("today", "% of the jar"),) if today else ()
    columns = (
        Column("ingredient"), Column("phase"), Column("share", "% of the jar"), Column("weigh", "g"),
        Column("cost in 1 kg", currency), Column("of the cost", "%"), *was,
    )  # fmt: skip
    rows = []
    for line in formula.lines:
        _, _, spent, part = _spent(line, currency, total)
        before = (100 * today.fraction(line.ingredient.name),) if today else ()
        rows.append(
            (line.ingredient.name, line.phase, 100 * line.fraction, 1000 * batch * line.fraction, spent, part, *before)
        )
    return Table(columns, tuple(rows))


def weighed_out(brief: Brief, formula: Formula) -> tuple[Grams | None, Section]:
    """The grams of a formula for the brief's batch, and the section on them."""
    grams = in_grams(formula, brief)
    return grams, weigh_this(brief, formula, grams)


def money_sentence(brief: Brief, formula: Formula) -> Sentence:
    """Cost and saving, per kg and per jar, in one sentence."""
    unit, price = f"{brief.currency}/kg", cost(brief.currency)
    now = price.of(formula)
    if now is None:
        lacking = [line.ingredient.name for line in formula.lines if price_of(line.ingredient, brief.currency) is None]
        return Sentence(f"The cost is not known: no price in {unit} for {'; '.join(lacking)}.", Level.MIND)
    in_jar = f", {now * brief.jar:.2f} {brief.currency} a jar of {1000 * brief.jar:g} g" if brief.jar else ""
    words = f"The ingredients cost {now:.3f} {unit}{in_jar}"
    before = price.of(brief.reference) if brief.reference and brief.reference.lines != formula.lines else None
    if not before:
        return Sentence(f"{words}.")
    gain = before - now
    if abs(gain) < 5e-4:
        return Sentence(f"{words}, as much as today's formula.")
    jar = f" or {abs(gain) * brief.jar:.2f} {brief.currency} a jar" if brief.jar else ""
    change = f"{abs(gain):.3f} {unit}{jar}"
    share = f"{100 * abs(gain) / before:.1f} %"
    return Sentence(f"{words}: {change} ({share}) {'less' if gain > 0 else 'more'} than today's formula.")
