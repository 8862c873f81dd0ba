"""Firmer or softer, told: options with what they change and how firm they are, or how far it goes."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from optiform.design.cheaper import Move
from optiform.design.facts import Fact
from optiform.design.texture import Season, Texture, TextureOption
from optiform.properties.firmness import Band
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings, report
from optiform.telling.around import TRIAL, caveats, moved, moves_table, still, unjudged, unused
from optiform.telling.charts import firmness_chart, solid_fat_chart
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.measured import demanded
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Step, Table, Telling
from optiform.telling.report import warning_sentences
from optiform.telling.standing import READ, gauge_reads, to_read
from optiform.telling.steps import free
from optiform.trials.firm import Fitted, firm

SCALE = "Firmness is relative: today's formula at 20 °C is 100. It does not count gums, foam or how you make it."


def texture(answer: Texture, fitted: Fitted | None = None) -> Telling:
    """What reaches the wanted firmness and how firm it is warm and cold; where nothing does, how far it goes.

    `fitted`: the scale of the maker's own readings, which then says what she should read of each option.
    """
    best = next(iter(choices(answer).values()), None)
    sections = (
        Section("answer", "", tuple(_answer(answer))),
        Section("options", "", (_options(answer),) if answer.furthest is None else ()),
        *(option(answer, name, fitted, short=choice is best) for name, choice in choices(answer).items()),
        *([_common(answer.season)] if answer.season else []),
        Section("scale", "", tuple(_notes(answer))),
        unused(answer.brief),
        caveats(),
    )
    title = f"{answer.brief.title}: {_wish(answer)}"
    return Telling(title, sections, _table(answer))


def choices(answer: Texture) -> dict[str, TextureOption]:
    """The options by name; a winter and a summer version, or how far it goes, where there is no other."""
    if answer.season is not None:
        return {"winter": answer.season.winter, "summer": answer.season.summer}
    if answer.furthest is not None:
        return {"the furthest": answer.furthest}
    return {f"option {k}": choice for k, choice in enumerate(answer.courses, 1)}


def steps(answer: Texture, line: str, anew: str) -> tuple[Step, ...]:
    """What can be done with the answer next.

    Args:
        answer: the answer.
        line: the command that gave it.
        anew: the same without its step.
    """
    names = list(choices(answer))
    if not names:
        return ()
    files = {name: free(f"{name}.csv" if answer.season else "new.csv") for name in names[: 2 if answer.season else 1]}
    taken = [Step(f"Take {n} along", f"{line} --option {n.split()[-1]} --write {file}") for n, file in files.items()]
    reach = _reach(answer)
    far = [Step("As far as it goes", f"{anew} --step={reach:.0f}")] if answer.furthest and round(reach) else []
    return (*(taken if answer.reached else far), Step("All of it, to print", f"{line} --html {free('texture.html')}"))


def option(answer: Texture, name: str, fitted: Fitted | None = None, short: bool = True) -> Section:
    """One option: what it changes, how firm it is and what to watch out for; with its charts where it is `short`."""
    choice = choices(answer)[name]
    after = replace(choice.formula, name=name)
    warned = new_warnings(report(after, setting_of(answer.brief)), answer.today)
    charts = [
        firmness_chart({"today": answer.before, name: choice.firmness}),
        solid_fat_chart([answer.today.formula, after]),
    ]
    title = f"{capital(name)}: {_lines(choice)}"
    parts: tuple[Part, ...] = (
        moves_table(choice.moves, "today", name),
        *_firmness(answer, name, choice, fitted),
        *warning_sentences(warned),
        *charts[: 2 * short],
    )
    return Section(name.replace(" ", "-"), title, parts, short=short)


def _lines(choice: TextureOption) -> str:
    if not choice.moves:
        return "as today"
    lines = "1 line changes" if choice.lines == 1 else f"{choice.lines} lines change"
    return f"{lines}, {choice.points:.2f} % points"


def _percent(answer: Texture) -> float:
    """The step asked for, % of today's firmness."""
    return 100 * (answer.wanted / answer.before[answer.temperature].typical - 1)


def _wish(answer: Texture) -> str:
    step = _percent(answer)
    if abs(step) < 1e-9:
        return "as firm as today, cold and warm within limits"
    return f"{abs(step):.3g} % {'firmer' if step > 0 else 'softer'} at {answer.temperature:g} °C"


def _reach(answer: Texture) -> float:
    """How far it goes towards what was asked, whole % of today's firmness; never further."""
    if answer.furthest is None:
        return 0.0
    far = answer.furthest.firmness[answer.temperature].typical / answer.before[answer.temperature].typical - 1
    return float(int(100 * far))


def _answer(answer: Texture) -> Iterator[Part]:
    at, today = f"{answer.temperature:g} °C", answer.before[answer.temperature].typical
    limits = f"at most {answer.cold_most:.0f} at 10 °C and at least {answer.hot_least:.0f} at 35 °C"
    if answer.courses:
        first = answer.courses[0]
        yield Sentence(f"Option 1: {f'{moved(first.moves)} of the jar' if first.moves else 'nothing changes'}.")
        count = len(answer.courses)
        many = {0: "nothing has to change", 2: "one line goes up, another down by as much"}
        lines = many.get(len(first.moves), "it takes more than two lines")
        options = "1 option reaches" if count == 1 else f"{count} options reach"
        stay = "stays" if count == 1 else "stay"
        yield Sentence(
            f"{options} firmness {answer.wanted:.0f} at {at} (today {today:.0f}) and {stay} {limits}: {lines}."
        )
    elif answer.season is not None:
        yield Sentence(
            f"No one formula has firmness {answer.wanted:.0f} at {at} (today {today:.0f}) and stays {limits}."
        )
        yield Sentence(f"A winter and a summer version do. They differ by {answer.season.apart:.2f} % points.")
        yield Sentence(_change_over(answer.season))
    elif not answer.decided:
        yield Sentence(f"{capital(in_words(answer.note))}.", Level.MIND)
    else:
        yield from _furthest(answer, at, today, limits)


def _change_over(season: Season) -> str:
    """In which rooms which version goes."""
    soft, firm = season.either
    if soft <= firm:
        return f"Change over at {soft} to {firm} °C in the room, where either stays within both."
    return f"Winter is firm enough up to {firm} °C in the room, summer soft enough from {soft} °C: neither between."


def _furthest(answer: Texture, at: str, today: float, limits: str) -> Iterator[Part]:
    """That it is out of reach, how far it goes and what is in the way."""
    yield Sentence(f"No formula was found with firmness {answer.wanted:.0f} at {at} (today {today:.0f}).", Level.MIND)
    if answer.furthest is not None:
        band = answer.furthest.firmness[answer.temperature]
        step, wish = _reach(answer), _percent(answer)
        far = f"{abs(step):.0f} % {'firmer' if wish > 0 else 'softer'} than today" if step else "hardly any change"
        extreme = "firmest" if wish > 0 else "softest"
        near = "just short of " if f"{band.typical:.0f}" == f"{answer.wanted:.0f}" else ""
        yield Sentence(f"The {extreme} that was found is {near}{_words(band)}: {far}. You wanted {abs(wish):.3g} %.")
    if answer.in_the_way:
        way = "; ".join(in_words(x) if isinstance(x, Fact) else demanded(x) for x in answer.in_the_way)
        yield Sentence(f"In the way are: {way}.")
    yield Sentence(f"Firmness also has to stay {limits}.", Level.NOTE)


def _words(band: Band) -> str:
    """A firmness with what it could be.

    Example:
        >>> _words(Band(110, 120, 134)), _words(Band(100, 100, 100))
        ('120 (could be 110 to 134)', '100')
    """
    if round(band.low) == round(band.high):
        return f"{band.typical:.0f}"
    return f"{band.typical:.0f} (could be {band.low:.0f} to {band.high:.0f})"


def _options(answer: Texture) -> Table:
    heads = (Column(f"{at:g} °C", "", 0) for at in answer.before)
    columns = (Column("firmness"), *heads, Column("% points moved", "", 2), Column("what changes"))
    today: tuple[Cell, ...] = ("today", *_typical(answer.before), None, "")
    rows: Iterator[tuple[Cell, ...]] = (
        (name, *_typical(choice.firmness), choice.points, changes(choice.moves))
        for name, choice in choices(answer).items()
    )
    return Table(columns, (today, *rows))


def changes(moves: tuple[Move, ...], most: int = 3) -> str:
    """The largest changes of an option in few words, % points of the jar."""
    words = "; ".join(f"{move.ingredient} {move.points:+.2f}" for move in moves[:most])
    more = f"; {len(moves) - most} more" if len(moves) > most else ""
    return f"{words}{more}" or "as today"


def _typical(bands: Mapping[float, Band]) -> tuple[float, ...]:
    return tuple(band.typical for band in bands.values())


def _firmness(answer: Texture, name: str, choice: TextureOption, fitted: Fitted | None) -> Iterator[Part]:
    """How firm it is at each temperature, and where readings count what the maker reads of it."""
    bands = _bands(answer, name, choice)
    firms = firm(choice.formula, answer.today.formula, fitted, tuple(answer.before)) if fitted else ()
    reads = {each.temperature: each.reading for each in firms if each.reading}
    if not reads:
        yield bands
        return
    rows = tuple((*row, gauge_reads(reads.get(at))) for row, at in zip(bands.rows, answer.before, strict=True))
    yield Table((*bands.columns, Column(READ)), rows)
    yield Sentence(to_read(next(iter(reads.values())).gauge))


def _bands(answer: Texture, name: str, choice: TextureOption) -> Table:
    columns = (
        Column("firmness at", "°C"), Column("today", "", 0), Column(name, "", 0), Column("could be from", "", 0),
        Column("to", "", 0),
    )  # fmt: skip
    bands = choice.firmness
    rows = ((at, now.typical, bands[at].typical, bands[at].low, bands[at].high) for at, now in answer.before.items())
    return Table(columns, tuple(rows))


def _common(season: Season) -> Section:
    columns = (Column("in both versions"), Column("share", "% of the jar", 2))
    return Section("common", "The base to make once", (Table(columns, season.common),), short=False)


def _notes(answer: Texture) -> Iterator[Part]:
    yield Sentence(f"{SCALE} {capital(in_words(answer.rests_on))}.", Level.NOTE)
    if new := [name for name, choice in choices(answer).items() if choice.new]:
        plural = len(new) > 1
        names = ", ".join(name.removeprefix("option ") for name in new)
        words = f"Options {names} bring in" if plural else f"{capital(new[0])} brings in"
        yield Sentence(f"{words} an ingredient that today's formula does not have.", Level.NOTE)
    yield from still(answer.brief, answer.today.formula)
    yield from unjudged(answer.brief)
    yield Sentence(TRIAL, Level.NOTE)


def _table(answer: Texture) -> Table:
    columns = (Column("option"), Column("of what"), Column("today"), Column("new"), Column("unit"))
    rows: list[tuple[str, str, float, float, str]] = []
    for name, choice in choices(answer).items():
        rows += [(name, move.ingredient, move.before, move.after, "% of the jar") for move in choice.moves]
        rows += [
            (name, f"firmness at {at:g} °C", answer.before[at].typical, band.typical, "")
            for at, band in choice.firmness.items()
        ]
    return Table(columns, tuple(rows))
