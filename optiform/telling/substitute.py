"""What replaces an ingredient, told: options ranked by how far the whole product moves."""

from collections.abc import Collection, Iterator
from dataclasses import replace

from optiform.design.facts import Difference, OtherThickness, UnknownThickness
from optiform.design.function import OILS, SURFACTANTS, Family, family_of
from optiform.design.replacement import Replacement
from optiform.design.substitute import Substitutes
from optiform.ingredients.ingredient import Ingredient
from optiform.telling.around import TRIAL, amount, caveats, lacking, moves_between, moves_table, unit_of, unused
from optiform.telling.charts import solid_fat_chart
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, carried, listed, significant
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Step, Table, Telling, number, sentences
from optiform.telling.report import warning_sentences
from optiform.telling.standing import firmness_line
from optiform.telling.steps import free
from optiform.trials.firm import Fitted

MOST_SHIFTS = 4
MOST_OPEN = 1
MOST_MISSED = 2
NO_NEARER = 0.9  # of the distance on the shelf: a purchase that is nearer by less is not worth the errand
LEAST_SHOWN = 5e-3  # of a figure as it is told: less is the same
WIDE = 0.1  # of today's figure: what it could be is told from this width on
NOT_COUNTED = "Not in the distance"
DISTANCE = "Distance: how far all properties move. Close: no move that a hand can quite feel."
FOAM = (
    "Foam is not worked out. Compare it: 1 g of each jar in 50 ml of water at 38 °C in a tall closed glass, 20 shakes, "
    "ml of foam at once and after 5 minutes."
)
SPREADING = (
    "How an oil spreads is not in the distance. That a thinner one spreads further is second-hand; by how much could "
    "not be read. Compare a drop of each on a pane: its width after ten minutes."
)
COUNTED = (
    "Each property counts by what a hand can just about feel (common practice, no source). Each new name on the label "
    "counts 0.5. An option is close only if it meets all your limits. What is not known of a figure does not count. "
    "Options that miss a limit come last. Options with a distance above 30 are not looked for."
)


def substitute(answer: Substitutes, fitted: Fitted | None = None) -> Telling:
    """Whether anything on the shelf comes close, the options, and what the first one changes.

    `fitted`: the scale of firmness that the maker's own readings fit.
    """
    sections = (
        Section("answer", "", tuple(_answer(answer))),
        Section("options", "", (_options(answer), Sentence(DISTANCE)) if answer.swaps else ()),
        *(option(answer, k, k == 1, fitted) for k in range(1, len(answer.swaps) + 1)),
        Section("distance", "How the distance is counted", tuple(_counted(answer)), short=False),
        Section("end", "", (*lacking(answer.not_held, NOT_COUNTED), *_foam(answer), Sentence(TRIAL, Level.NOTE))),
        unused(answer.brief, _unjudged(answer)),
        caveats(),
    )
    title = f"{answer.brief.title}: in place of {listed(answer.missing)}"
    return Telling(title, sections, _table(answer))


def steps(answer: Substitutes, line: str) -> tuple[Step, ...]:
    """What can be done with the answer next; `line` is the command that gave it."""
    if not answer.swaps:
        return ()
    other = [Step("What option 2 changes", f"{line} --part option-2")] if len(answer.swaps) > 1 else []
    return (
        Step("Take option 1 along", f"{line} --option 1 --write {free('new.csv')}"),
        *other,
        Step("All of it, to print", f"{line} --html {free('substitute.html')}"),
    )


def option(answer: Substitutes, number: int, drawn: bool = True, fitted: Fitted | None = None) -> Section:
    """One option: the lines and properties it moves, and what it brings; with its chart."""
    choice = answer.swaps[number - 1]
    name = f"option {number}"
    chart = [solid_fat_chart([answer.today.formula, replace(choice.formula, name=name)])] if drawn else []
    along = [companion.item.name for companion in choice.along]
    meant = {*answer.missing, *dict(choice.parts), *along, *(line.ingredient for line in choice.follows)}
    extra = [move for move in moves_between(answer.today.formula, choice.formula) if move.ingredient not in meant]
    parts: list[Part] = [
        *_functions(choice),
        *_along(choice),
        *_doses(choice),
        *_active(answer, choice, name),
        *([moves_table(extra, "today", name)] if extra else []),
        _shifts(answer, choice, name),
        *firmness_line(answer.brief, {name: choice.formula}, fitted),
        *_open(answer, choice),
        *_brings(choice),
        *chart,
    ]
    return Section(
        f"option-{number}", f"Option {number}: {parts_words(choice)} % of the jar", tuple(parts), number == 1
    )


def parts_words(choice: Replacement) -> str:
    """What comes in, in % of the jar, and what comes along with it."""
    along = [(x.item.name, x.percent) for x in choice.along]
    came, more = (" + ".join(f"{name} {share:.2f}" for name, share in of) for of in (choice.parts, along))
    return f"{came} with {more}" if more else came


def _answer(answer: Substitutes) -> Iterator[Part]:
    close = sum(choice.close for choice in answer.swaps)
    if close:
        first = answer.swaps[0]
        yield Sentence(f"Option 1 moves the product least: {parts_words(first)} % of the jar.{_cost(answer, first)}")
        if len(answer.swaps) > 1:
            come = "comes" if close == 1 else "come"
            yield Sentence(f"{close} of the {len(answer.swaps)} nearest on the shelf {come} close.")
    else:
        does = "comes close" if answer.swaps else f"can take the place of {listed(answer.missing)}"
        yield Sentence(f"Nothing on the shelf {does}.", Level.MIND)
    yield from _own_parts(answer)
    best = answer.purchase
    if best is not None and not (close and answer.swaps[0].distance * NO_NEARER <= best.distance):
        ends = [number(figure) for figure in (best.worst.before, best.worst.after)]
        worst = f"{best.worst.name} moves most, from {ends[0]} to {ends[1]}" if ends[0] != ends[1] else "nothing moves"
        yield Sentence(
            f"Of what you could buy, {parts_words(best)} % of the jar would help most (distance {best.distance:.2f}, "
            f"cost not counted; {worst})."
        )


def _counted(answer: Substitutes) -> Iterator[Sentence]:
    """What the distance counts, and of oils what it leaves out."""
    yield Sentence(COUNTED)
    yield from sentences([SPREADING] if OILS in _families(answer) else [])


def _foam(answer: Substitutes) -> Iterator[Sentence]:
    """What no figure here says of a surfactant that goes, and how to try it."""
    yield from sentences([FOAM] if SURFACTANTS in _families(answer) else [], Level.NOTE)


def _families(answer: Substitutes) -> list[Family]:
    """What the lines that go are bought for."""
    return [family_of(x.ingredient) for x in answer.today.formula.lines if x.ingredient.name in answer.missing]


def _own_parts(answer: Substitutes) -> Iterator[Sentence]:
    """That what goes is a blend of what is on the shelf."""
    if answer.own_parts:
        parts = " and ".join(f"{name} {share:.2f}" for name, share in answer.own_parts)
        yield Sentence(
            f"{answer.missing[0]} is a blend, and its parts are on the shelf: {parts} % of the jar are about the "
            "same (its shares may differ: ask the supplier). Limits count a blend by what it is bought for, its parts "
            "each by its own."
        )


def _cost(answer: Substitutes, choice: Replacement) -> str:
    if choice.cost is None:
        return ""
    costs, change = f" It costs {choice.cost:.3f} {answer.brief.currency}/kg", choice.cost_change
    if change is None:
        return f"{costs}."
    return f"{costs}, {abs(change):.3f} {'less' if change < 0 else 'more'} than today's formula."


def _options(answer: Substitutes) -> Table:
    columns: tuple[Column, ...] = (
        Column("option"), Column("in its place, % of the jar"), Column("close"), Column("distance", "", 2),
        Column("costs", f"{answer.brief.currency}/kg", 3), Column("against today", "", 3, sign=True),
        Column("thick", "times", 2, unknown="?"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (k, parts_words(c), c.close, c.distance, c.cost, c.cost_change, _times_as_thick(c))
        for k, c in enumerate(answer.swaps, 1)
    )
    if OILS not in _families(answer):
        columns, rows = columns[:-1], tuple(row[:-1] for row in rows)
    return Table(columns, rows)


def _times_as_thick(choice: Replacement) -> float | None:
    """How many times as thick the oils that come in are as those that go; None where it is not known."""
    return next((x.thickness.times for x in choice.differences if isinstance(x, OtherThickness)), None)


def _functions(choice: Replacement) -> Iterator[Sentence]:
    """What the new lines do of what the old ones did, and the line that makes room or fills up."""
    for function in choice.functions:
        same = abs(function.after - function.before) < LEAST_SHOWN
        before, after = map(number, _beside(function.before, function.after))
        now = "as today" if same else f"today {before}"
        yield Sentence(f"{capital(function.measure)}: {after} % of the jar, {now}.")
    for line in choice.follows:
        what = "fills up" if line.after > line.before else "makes room"
        points = (
            f"{abs(line.after - line.before):.2f} % points, from {line.before:.2f} to {line.after:.2f} % of the jar"
        )
        yield Sentence(f"{line.ingredient} {what}: {points}.")


def _along(choice: Replacement) -> Iterator[Sentence]:
    """What comes along, for which rule, and of a pH adjuster that its dose is only where to begin."""
    for x in choice.along:
        text = f"{x.item.name} {x.percent:.2f} % of the jar comes along: {x.rule.title} ({x.of})."
        begins = x.item.functions[0] == "ph adjuster"
        yield Sentence(f"{text} It is a dose to begin with: measure the pH and set it." if begins else text)


def _doses(choice: Replacement) -> Iterator[Part]:
    """A new emulsifier at its least and most usual dose, and what each does."""
    if len(choice.doses) < 2:
        return
    columns = (
        Column("dose"), Column("% of the jar", "", 2), Column("emulsifier per 100 of oil phase", "", 1),
        Column("HLB less the required", "", 1, sign=True), Column("misses"),
    )  # fmt: skip
    rows = tuple(
        (x.which, x.dose, x.per_oil, x.hlb_difference, _few(dict.fromkeys(x.broken))) for x in choice.doses
    )  # fmt: skip
    yield Table(columns, rows)


def _active(answer: Substitutes, choice: Replacement, name: str) -> Iterator[Part]:
    """Where a surfactant goes or comes: each of them as supplied and as active matter."""
    made = answer.today.formula, choice.formula
    items = {x.ingredient.name: x.ingredient for formula in made for x in formula.lines if _is_surfactant(x.ingredient)}
    if not {*answer.missing, *dict(choice.parts)} & set(items):
        return
    columns = (
        Column("surfactant, % of the jar"), Column("today, as supplied", "", 2), Column("today, active", "", 2),
        Column(f"{name}, as supplied", "", 2), Column(f"{name}, active", "", 2),
    )  # fmt: skip
    rows = [
        (item.name, *(figure for formula in made for figure in _as_active(item, 100 * formula.fraction(item.name))))
        for item in items.values()
    ]
    yield Table(columns, tuple(rows))


def _is_surfactant(item: Ingredient) -> bool:
    return item.functions[0] in SURFACTANTS.functions


def _as_active(item: Ingredient, share: float) -> tuple[float, float | None]:
    """So much of a surfactant, and of it what is active; None where that is not known."""
    strength = SURFACTANTS.strength(item)
    return share, None if strength is None else strength * share


def _few(limits: Collection[str]) -> str:
    more = [f"{len(limits) - MOST_MISSED} more"] if len(limits) > MOST_MISSED else []
    return "; ".join([*list(limits)[:MOST_MISSED], *more])


def _open(answer: Substitutes, choice: Replacement) -> Iterator[Sentence]:
    """Properties of which the figures leave open whether they move."""
    wide = [
        shift
        for shift in choice.shifts
        if shift.could_be and shift.could_be[1] - shift.could_be[0] > WIDE * abs(shift.before)
    ]
    told = [
        f"{shift.name} could be {number(shift.could_be[0])} to {number(shift.could_be[1])} "
        f"(today {amount(shift.before, unit_of(shift.name, shift.unit, answer.brief))})"
        for shift in wide[:MOST_OPEN]
        if shift.could_be
    ]
    if told:
        yield Sentence(f"Some figures of these ingredients are wide ranges: {'; '.join(told)}.")


def _shifts(answer: Substitutes, choice: Replacement, name: str) -> Table:
    columns = (Column("what moves most"), Column("today"), Column(name), Column("unit"))
    shifts = choice.shifts[:MOST_SHIFTS]
    return Table(
        columns, tuple((s.name, *_beside(s.before, s.after), unit_of(s.name, s.unit, answer.brief)) for s in shifts)
    )


def _beside(before: float, after: float) -> tuple[float, float]:
    """A figure before and after, in the digits that carry."""
    digits = carried((before, after))
    return significant(before, digits), significant(after, digits)


def _brings(choice: Replacement) -> Iterator[Part]:
    """Limits it does not keep, pairs of fats, new warnings and cautions, and what is new on the label."""
    yield from sentences((f"It misses a limit: {words}." for words in choice.broken), Level.MIND)
    yield from warning_sentences([warning for warning in choice.new_warnings if warning.rule != "limit-missed"])
    yield from sentences((f"They melt lower together: {pair}." for pair in choice.eutectics), Level.NOTE)
    yield from sentences([f"{_about(fact)}: {in_words(fact)}." for fact in choice.differences])
    if choice.new_names:
        yield Sentence(f"New on the label: {', '.join(choice.new_names)}.")
    yield from (Sentence(caution, bullet=True, short=False) for caution in choice.new_cautions)


def _about(fact: Difference) -> str:
    """What a difference is told under."""
    return "Spreading" if isinstance(fact, OtherThickness | UnknownThickness) else "Different"


def _unjudged(answer: Substitutes) -> Iterator[str]:
    if answer.without_figures:
        names = "; ".join(f"{name} ({in_words(why)})" for name, why in answer.without_figures)
        yield f"On the shelf, and not proposed: {names}."
    if answer.by_mass:
        yield f"How much of another does the same is not known of {', '.join(answer.by_mass)}: its mass is taken."


def _table(answer: Substitutes) -> Table:
    money = f"{answer.brief.currency}/kg"
    columns = (
        Column("option"), Column("in its place"), Column("distance"), Column("close"), Column("cost", money),
        Column("change", money), Column("property"), Column("today"), Column("new"), Column("unit"),
    )  # fmt: skip
    rows = [
        (k, parts_words(c), c.distance, c.close, c.cost, c.cost_change, s.name, s.before, s.after, s.unit)
        for k, c in enumerate(answer.swaps, 1)
        for s in c.shifts
    ]
    return Table(columns, tuple(rows))
