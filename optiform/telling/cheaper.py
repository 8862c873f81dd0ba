"""Today's formula for less, told: options, each changing more lines and saving more than the one before."""

from collections.abc import Iterator
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.design.cheaper import CheaperOption, CheaperOptions
from optiform.design.facts import OtherThickness
from optiform.design.feel import Felt, felt, steps_of
from optiform.properties.base import Bent
from optiform.properties.registry import find_property
from optiform.review.report import new_warnings
from optiform.telling.around import TRIAL, caveats, lacking, moves_table, unit_of, unjudged, unused
from optiform.telling.charts import solid_fat_chart
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.impossible import impossible
from optiform.telling.measured import demanded
from optiform.telling.parts import Column, Level, Part, Section, Sentence, Step, Table, Telling, sentences
from optiform.telling.report import warning_sentences
from optiform.telling.standing import firmness_line
from optiform.telling.steps import free
from optiform.trials.firm import Fitted

WORTH = 0.8  # of all that can be saved: the option with the fewest changes that saves as much is shown in full
MOST_STOPS = 3
ROWS = 12  # of options and of what the best one changes, in the short telling
FEW = 5  # options there, where there are more rows than that
NO_STEP = 0.05  # of feel: less is told as none
PROVEN = 1e-6  # relative


def cheaper(answer: CheaperOptions, fitted: Fitted | None = None) -> Telling:
    """What each option saves, what the most rewarding one changes, and what keeps it from saving more.

    `fitted`: the scale of firmness that the maker's own readings fit.
    """
    title = f"{answer.brief.title}: the same for less"
    if answer.impossible is not None:
        gone = sentences(_gone(answer), bullet=False)
        head = Section("answer", "", (Sentence(nothing_fits(answer), Level.MIND), *gone))
        return Telling(title, (head, *impossible(answer.impossible).sections), _table(answer))
    if not answer.rungs:
        head = Section("answer", "", sentences((_end(answer), _today(answer), *_gone(answer)), bullet=False))
        return Telling(title, (head, _held(answer), unused(answer.brief)), _table(answer))
    best = rewarding(answer)
    sections = (
        Section("answer", "", tuple(_answer(answer))),
        Section("options", "", (_options(answer),), most=_most(answer)[0]),
        *(
            option(answer, k, k == best, fitted)
            for k in sorted(range(1, len(answer.rungs) + 1), key=lambda k: k != best)
        ),
        Section("end", "", tuple(_notes(answer))),
        _held(answer),
        unused(answer.brief),
        _proof(answer),
        caveats(),
    )
    return Telling(title, sections, _table(answer))


def rewarding(answer: CheaperOptions) -> int:
    """The number of the option with the fewest changes that saves four fifths of what can be saved; 1 is the first."""
    most = max(choice.saving for choice in answer.rungs)
    return next(k for k, choice in enumerate(answer.rungs, 1) if choice.saving >= WORTH * most)


def steps(answer: CheaperOptions, line: str) -> tuple[Step, ...]:
    """What can be done with the answer next; `line` is the command that gave it."""
    if not answer.rungs:
        return ()
    best, last = rewarding(answer), len(answer.rungs)
    other = [Step(f"What option {last} changes", f"{line} --part option-{last}")] if last != best else []
    return (
        Step(f"Take option {best} along", f"{line} --option {best} --write {free('new.csv')}"),
        *other,
        Step("All of it, to print", f"{line} --html {free('cheaper.html')}"),
    )


def option(answer: CheaperOptions, number: int, drawn: bool = True, fitted: Fitted | None = None) -> Section:
    """One option: what it changes, what keeps it from saving more, and what to watch out for; with its chart."""
    choice = answer.rungs[number - 1]
    name = f"option {number}"
    after = replace(choice.report.formula, name=name)
    chart = [solid_fat_chart([answer.today.formula, after])] if drawn else []
    stops = "; ".join(demanded(demand) for demand in choice.stops[:MOST_STOPS])
    parts: list[Part] = [
        moves_table(choice.moves, "today", name),
        *firmness_line(answer.brief, {name: after}, fitted),
        *_spreading(choice),
        *([Sentence(f"These limits keep it from saving more: {stops}.")] if stops else []),
        *warning_sentences(new_warnings(choice.report, answer.today)),
        *chart,
    ]
    title = f"Option {number} changes {_lines(choice)}"
    short = number == rewarding(answer)
    return Section(f"option-{number}", title, tuple(parts), short=short, most=_most(answer)[1] if short else None)


def _spreading(choice: CheaperOption) -> Iterator[Sentence]:
    """Where the oils that come in are not known to be about as thick as those that go."""
    fact = choice.thickness
    alike = isinstance(fact, OtherThickness) and fact.thickness.low <= 1 <= fact.thickness.high
    if fact is not None and not alike:
        yield Sentence(f"Spreading: {in_words(fact)}.")


def _most(answer: CheaperOptions) -> tuple[int | None, int | None]:
    """Of how many options, and of how many changed lines of the best, the short telling has room: None for all."""
    options, lines = len(answer.rungs), len(answer.rungs[rewarding(answer) - 1].moves)
    if options + lines <= ROWS:
        return None, None
    few = min(options, FEW)
    return few, ROWS - 1 - few - (few < options)


def nothing_fits(answer: CheaperOptions) -> str:
    """What it is that no formula can meet: the brief, or the brief with what is held near today."""
    assert answer.impossible is not None
    if len(answer.impossible.brief.limits) == len(answer.brief.limits):
        return "No formula meets this brief yet, so none can be made cheaper."
    return "The brief can be met, but not together with what is held near today."


def _answer(answer: CheaperOptions) -> Iterator[Part]:
    money, most = answer.brief.currency, max(answer.rungs, key=lambda choice: choice.saving)
    best = rewarding(answer)
    choice = answer.rungs[best - 1]
    jar = f", {choice.saving_per_jar:.3f} {money} a jar" if choice.saving_per_jar is not None else ""
    yield Sentence(
        f"Option {best} costs {choice.cost:.3f} {money}/kg and saves {choice.saving:.3f} {money}/kg{jar}. "
        f"It changes {_lines(choice)}."
    )
    if most is not choice:
        number = answer.rungs.index(most) + 1
        yield Sentence(f"Option {number} saves most: {most.saving:.3f} {money}/kg.")
    yield Sentence(" ".join([_today(answer), *_gone(answer)]))


def _lines(choice: CheaperOption) -> str:
    return "1 line" if choice.lines == 1 else f"{choice.lines} lines"


def _today(answer: CheaperOptions) -> str:
    cost = f"Today's formula costs {answer.cost:.3f} {answer.brief.currency}/kg."
    return f"{cost} {capital(answer.balance)} fills up to 100 % and does not count."


def _gone(answer: CheaperOptions) -> Iterator[str]:
    """Lines of today's formula that go whatever else changes."""
    if answer.gone:
        names = "; ".join(f"{name} ({in_words(why)})" for name, why in answer.gone)
        go, them = ("goes", "it counts") if len(answer.gone) == 1 else ("go", "they count")
        yield f"{capital(names)} {go} in any case; {them} as changed."


def _options(answer: CheaperOptions) -> Table:
    money = answer.brief.currency
    columns = (
        Column("option", "", 0), Column("lines changed", "", 0), Column("costs", f"{money}/kg", 3),
        Column("saves", f"{money}/kg", 3), Column("saves", "% of today", 1), Column("saves a jar", money, 3),
        Column("feel", "steps", 1), Column("a step", f"{money}/kg", 3),
    )  # fmt: skip
    rows = tuple(
        (k, c.lines, c.cost, c.saving, 100 * c.saving / answer.cost, c.saving_per_jar, steps, _each(c, steps))
        for k, (c, steps) in enumerate(zip(answer.rungs, map(steps_of, _felt(answer)), strict=True), 1)
    )
    if answer.brief.jar is not None:
        return Table(columns, rows)
    return Table((*columns[:5], *columns[6:]), tuple((*row[:5], *row[6:]) for row in rows))


def _felt(answer: CheaperOptions) -> list[tuple[Felt, ...]]:
    """What each option moves of what customers notice."""
    return [felt(answer.held, choice.report.formula, answer.brief.currency) for choice in answer.rungs]


def _each(choice: CheaperOption, steps: float) -> float | None:
    """What an option saves for each step of feel; None where nothing moves."""
    return choice.saving / steps if steps > NO_STEP else None


def _feel(answer: CheaperOptions) -> str:
    """Which option saves most for what it moves; nothing of a single one, which has no other beside it."""
    if len(answer.rungs) == 1:
        return ""
    rates = [_each(choice, steps_of(moves)) for choice, moves in zip(answer.rungs, _felt(answer), strict=True)]
    free = next((k for k, rate in enumerate(rates, 1) if rate is None), None)
    most = max(range(len(rates)), key=lambda k: rates[k] or 0.0) + 1
    moves = "moves nothing that is held" if answer.not_held else "moves no feel"
    named = f"Option {most} saves most for each step of feel" if free is None else f"Option {free} {moves}"
    return f"{named}. A step is what a hand can just tell; “a step” says what each option saves for one."


def _notes(answer: CheaperOptions) -> Iterator[Part]:
    held = f"{len(answer.held)} properties that customers notice stay near today's: --part held."
    yield Sentence(f"{_checked(answer)} {held}" if answer.held else _checked(answer))
    yield Sentence(f"{_end(answer)} {_feel(answer)}".strip() if answer.held else _end(answer))
    yield from lacking(answer.not_held, "Not held near today's")
    yield from unjudged(answer.brief)
    yield Sentence(TRIAL, Level.NOTE)


def _checked(answer: CheaperOptions) -> str:
    bends = any(isinstance(limit.property, Bent) for limit in answer.brief.limits)
    near = " near it" if bends else ""
    if not answer.decided or max(abs(choice.gap) for choice in answer.rungs) > PROVEN:
        return "Not checked for every option whether another formula with as many changed lines is cheaper."
    return f"Checked for each option: no formula{near} with as many changed lines is cheaper."


def _end(answer: CheaperOptions) -> str:
    return f"{capital(in_words(answer.note))}."


def _held(answer: CheaperOptions) -> Section:
    columns = (Column("held near today"), Column("today"), Column("at least"), Column("at most"), Column("unit"))
    rows = tuple(
        (h.name, h.value, max(0.0, h.value - h.tolerance), h.value + h.tolerance, _unit(h.name, answer.brief))
        for h in answer.held
    )
    words = (
        "How far each may move is common practice, no source: as far as a hand can just tell, one step of feel. Your "
        "own limit on the same thing goes before it."
    )
    return Section("held", "What customers notice", (Table(columns, rows), Sentence(words, Level.NOTE)), short=False)


def _unit(name: str, brief: Brief) -> str:
    return unit_of(name, find_property(name, brief.currency).unit, brief)


def _proof(answer: CheaperOptions) -> Section:
    words = f"The proof of every option closes to a gap of {max(abs(choice.gap) for choice in answer.rungs):.0e}."
    return Section("proof", "Proof", (Sentence(words),), short=False)


def _table(answer: CheaperOptions) -> Table:
    money = f"{answer.brief.currency}/kg"
    columns = (
        Column("option"), Column("lines changed"), Column("cost", money), Column("saving", money),
        Column("ingredient"), Column("today", "% of the jar"), Column("new", "% of the jar"),
    )  # fmt: skip
    rows = [
        (k, choice.lines, choice.cost, choice.saving, move.ingredient, move.before, move.after)
        for k, choice in enumerate(answer.rungs, 1)
        for move in choice.moves
    ]
    return Table(columns, tuple(rows))
