"""The batch sheet, told: what to weigh, what to do with the cautions beside it, and room to write down both."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from optiform.batch.batch import Amounts, BatchSheet, SheetLine, SheetPhase
from optiform.batch.doses import FEWEST_STEPS, SmallDose
from optiform.batch.facts import OwnHeat, Source
from optiform.batch.making import PRACTICE
from optiform.batch.pots import Step
from optiform.batch.scale_up import STEP
from optiform.reading.units import count_of
from optiform.telling.claims import to_ask
from optiform.telling.doses import helps
from optiform.telling.figures import amount
from optiform.telling.jar import holds
from optiform.telling.method import SAID_BY, done, minded, said_by
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Table, Telling, sentences
from optiform.telling.report import MAKING, NOT_A_RELEASE, watch_out

ROUNDING = (
    "Grams are whole steps of the scale and add up to the batch exactly. No line is rounded up above its maximum use, "
    "the law, a panel's advice or the fragrance certificate. A preservative, fragrance, active or colourant is not "
    "rounded up above the brief's own range or its usual use. A preservative is not rounded down below them either."
)
SMALL = (
    f"A small dose is fewer than {FEWEST_STEPS} steps of the scale. Rounding can change it by more than 2.5 %. This is "
    "our own rule; that every scale has a smallest weight is from memory."
)
#: What is read in both batches; what differs between them tells which step did not grow along.
READINGS = (
    "the temperature in the middle of the mass at each addition, and the minutes until then",
    "grams of water put back",
    "net grams of three filled jars",
    "pH, where there is water",
    "how it looks and pours while it is filled",
    "firmness at 20 °C after a day and after a week, three places in one jar",
    "a jar in the cold and one in the warm for a week",
)
NOTHING = "\u00a0"  # in a cell that is not to be filled in


def batch(sheet: BatchSheet) -> Telling:
    """What to weigh in working order, what to watch out for, the steps, and on paper room for the record."""
    sections = (
        _amounts(sheet.batch), _content(sheet), _head(sheet), _weigh(sheet),
        watch_out(sheet.warnings), _small(sheet), _parts(sheet), _grown(sheet), _steps(sheet), *_record(sheet),
        Section("confirm", "Suppliers", tuple(to_ask(sheet.unconfirmed))), _notes(),
    )  # fmt: skip
    title = f"Batch of {sheet.title}: {sheet.called}"
    return Telling(title, sections, _table(sheet))


def running(sheet: BatchSheet) -> str:
    """What tells on every printed page which batch it is of, with room to write where it is not known yet."""
    room = "_" * 14
    return f"Batch sheet, {sheet.title}; batch number {sheet.filled.number or room}, date {sheet.filled.date or room}"


def _table(sheet: BatchSheet) -> Table:
    heads = ("phase", "part", "ingredient", "inci", "percent", "grams", "grams weighed", "lot", "note")
    rows = tuple(
        (phase.phase, phase.part, x.ingredient, x.inci, x.percent, _grams(x.grams), None, x.lot, minded(x))
        for phase in sheet.phases
        for x in phase.lines
    )
    return Table(tuple(map(Column, heads)), rows)


def _grams(mass: Decimal) -> float | int:
    return int(mass) if mass == mass.to_integral_value() else float(mass)


def _places(figure: str | Decimal) -> int:
    """How many decimals a number as it is written has."""
    return len(str(figure).partition(".")[2])


def _amounts(batch: Amounts) -> Section:
    weigh = f"Weigh {batch.weighed_g} g"
    if batch.jars == 0:
        return Section("amounts", "", (Sentence(f"{weigh}: less than one jar of {batch.fill_g:g} g takes."),))
    lost = f"; {batch.loss:g} % of it is lost" if batch.loss else ""
    if batch.jars is None:
        words = f"{weigh} for {batch.planned_g:g} g{lost}. No net mass of a jar is known."
    else:
        net = "" if batch.fill_g == batch.jar_g else f" (net {batch.jar_g:g} g)"
        jars = f"{count_of(batch.jars, 'jar')} of {batch.fill_g:g} g{net}"
        rest = round(batch.left_g or 0.0, 1)
        words = f"{weigh} for {jars}{lost}{f'; {rest:g} g are left' if rest else ''}."
    return Section("amounts", "", (Sentence(words),))


def _content(sheet: BatchSheet) -> Section:
    """What a jar holds, where its volume is given."""
    parts = tuple(holds(sheet.content)) if sheet.content else ()
    return Section("jar", "", parts, short=len(parts) == 1, instead=parts[0].text.rstrip(".") if parts else "")


def _head(sheet: BatchSheet) -> Section:
    filled = sheet.filled
    rows = (
        ("batch number", filled.number, "operator", filled.maker),
        ("date", filled.date, "weighings checked by", ""),
        ("start, end", "", "room: °C, % humidity", filled.room),
        ("version, saved on", filled.version, f"scale ({sheet.batch.scale_g} g), thermometer, pH meter", ""),
    )
    return Section("head", "", (Table(_blanks("batch"), rows),), paper=True)


def _blanks(title: str) -> tuple[Column, ...]:
    """Two columns of names, each with one to write in."""
    return Column(title), Column("", by_hand="line"), Column(" "), Column("  ", by_hand="line")


# -- weighing ----------------------------------------------------------------------------------------------------------


def _weigh(sheet: BatchSheet) -> Section:
    shares = [amount(x.percent, capped=x.capped) for phase in sheet.phases for x in phase.lines]
    columns = (
        Column("weigh"), Column("g", places=_places(sheet.batch.scale_g)),
        Column("% of the jar", places=max(map(_places, shares), default=2)), Column("", by_hand="tick"),
        Column("g weighed", by_hand="line"), Column("lot, expiry", by_hand="line", cut=True),
        Column("watch out for", short=False),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    heads = set()
    for phase in sheet.phases:
        heads.add(len(rows))
        if len(phase.lines) == 1:
            rows.append(_line(phase.lines[0], f"{_where(phase)}: "))
        else:
            rows.append((_where(phase), _grams(phase.grams), None, NOTHING, NOTHING, NOTHING, ""))
            rows += map(_line, phase.lines)
    inset = frozenset(range(len(rows))) - heads
    return Section("weigh", "", (Table(columns, tuple(rows), inset=inset, strong=frozenset(heads)),))


def _line(line: SheetLine, where: str = "") -> tuple[Cell, ...]:
    share = float(amount(line.percent, capped=line.capped))
    return f"{where}{line.ingredient}", _grams(line.grams), share, "", "", line.lot, minded(line)


def _where(phase: SheetPhase) -> str:
    words = phase.phase.capitalize()
    return f"{words}, {phase.part}" if phase.part else words


def _small(sheet: BatchSheet) -> Section:
    """Doses of few steps of the scale: what is due, what is weighed, what helps."""
    columns = (
        Column("small dose"), Column("due, g"), Column("weighed, g", places=_places(sheet.batch.scale_g)),
        Column("off", "% of the dose", 1, sign=True), Column("what helps"),
    )  # fmt: skip
    rows = tuple(
        (_of(dose.ingredient, part), float(f"{dose.due:.3g}"), _grams(dose.weighed), dose.off, _helps(dose))
        for part, dose in sheet.small
    )
    parts = (Table(columns, rows), Sentence(SMALL, Level.NOTE)) if rows else ()
    return Section("small", "Small doses", parts, short=False)


def _helps(dose: SmallDose) -> str:
    """What helps, where it is further off than a dose of enough steps can be."""
    return helps(dose) if dose.told else "as near as the scale allows"


def _of(name: str, part: str) -> str:
    return f"{name}, {part}" if part else name


def _parts(sheet: BatchSheet) -> Section:
    columns = (
        Column("part"), Column("of the batch", "%", 1), Column("common mass, g"), Column("g divided", by_hand="line"),
        Column("with its own lines, g"), Column("jars", unknown="-"), Column("left, g", places=1),
        Column("jars filled", by_hand="line"),
    )  # fmt: skip
    rows = tuple(
        (x.name, x.share, _grams(x.shared_g), "", _grams(x.weighed_g), x.jars, x.left_g, "") for x in sheet.parts
    )
    return Section("parts", "Parts", (Table(columns, rows),) if rows else (), short=False)


# -- watching out, doing -----------------------------------------------------------------------------------------------


def _grown(sheet: BatchSheet) -> Section:
    """From the batch made so far to this one: a batch in between, longer cooling, what to compare."""
    grown = sheet.scale_up
    if grown is None:
        return Section("larger", "", ())
    times = f"{grown.made:.0f} g at once: {grown.made / grown.seen:.1f} times the {grown.seen:g} g made so far"
    words, first = [f"{times}."], " g, then of ".join(f"{mass:.0f}" for mass in grown.between)
    if first:
        words.append(f"Make one of {first} g first: no step larger than {STEP:g} times.")
    words += [
        f"Cooling to {slower.to:g} °C took {slower.seen:.0f} min; now about {slower.low:.0f} min stirred, up to "
        f"{slower.high:.0f} min in the middle of a mass at rest, in a pot of the same shape."
        for slower in grown.cooling
    ]
    words.append("Read in both batches, and compare:")
    parts = (*sentences(words, bullet=False), *sentences(READINGS))
    return Section(
        "larger",
        "Larger than before",
        parts,
        short=False,
        instead=f"{times}; make one of {first} g first" if first else times,
    )


def _steps(sheet: BatchSheet) -> Section:
    """Every step, and right below it the cautions that belong to it."""
    columns = (
        Column("no."), Column("", by_hand="tick"), Column("what to do"), Column("°C"),
        Column("°C read", by_hand="line"), Column("time"), Column("time taken", by_hand="line"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for number, step in enumerate(sheet.steps, 1):
        rows.append(
            (_number(number, step), "", _doing(step), step.temperature, "", step.time.replace(" ", NOTHING), "")
        )
        for caution in sheet.cautions:
            if caution.step == number:
                rows.append(("", NOTHING, f"Caution: {caution.text}", None, NOTHING, "", NOTHING))
    beside = sum(caution.where == MAKING for caution in sheet.cautions)
    others = len(sheet.cautions) - beside
    instead = f"{count_of(len(sheet.steps), 'step')} with {count_of(beside, 'caution')} on making it"
    notes = [f"* {SAID_BY[PRACTICE]}."]
    if others:
        instead += f" ({others} more on the declaration)"
        notes.append(f"{count_of(others, 'caution')} on using and selling it: on the declaration.")
    parts: tuple[Part, ...] = (Table(columns, tuple(rows)), *sentences(notes, Level.NOTE, bullet=False))
    return Section("steps", "Steps", parts, short=False, instead=instead)


def _number(number: int, step: Step) -> str:
    return f"{number}*" if PRACTICE in step.sources else str(number)


def _doing(step: Step) -> str:
    """Its words, for which part, and by whom where that is no common practice; a heat limit stands beside its line."""
    words = f"{step.part}: {done(step)}" if step.part else done(step)
    said = said_by(replace(step, sources=tuple(source for source in step.sources if not _beside(source))))
    return f"{words} ({said})" if said else words


def _beside(source: Source) -> bool:
    """Whether a source is told elsewhere: by a star at the step's number, or beside its line."""
    return source == PRACTICE or (isinstance(source, OwnHeat) and source.poured is None)


# -- to fill in by hand ------------------------------------------------------------------------------------------------


def _record(sheet: BatchSheet) -> Iterator[Section]:
    """What is written down when the batch is made: yield, fill weights, what went another way, release."""
    rows = (
        ("vessel with contents before heating, g", "", "after, g", ""),
        ("water put back, g", "", "pH, at °C, method", ""),
        ("mass made, g", "", "loss % = (weighed - made) / weighed", ""),
        ("jars filled", "", "jars rejected", ""),
        (f"jars held back ({sheet.batch.retained} planned)", "", "where, until when", ""),
        ("clean-down done by", "", "checked by", ""),
    )
    jars = tuple(Column(f"{which}, g", by_hand="line") for which in ("first", "second", "third", "fourth", "fifth"))
    sizes = Table((Column("net mass of jars over the run"), *jars), (("", *[""] * 5),))
    off = Table((Column("no."), Column("what went another way: when, why, what was decided", by_hand="line")),
                (("1", ""), ("2", "")))  # fmt: skip
    seen = Table((Column("look at it"), Column("seen", by_hand="line")),
                 (("on the day: look, smell, feel", ""), ("after two weeks at 10 °C", "")))  # fmt: skip
    release = tuple(Column(word, by_hand="line") for word in
                    ("accepted, reworked, rejected", "name", "release on", "signature"))  # fmt: skip
    yield Section("record", "Record", (Table(_blanks("made"), rows), sizes, off, seen), paper=True)
    yield Section("release", "Release", (Table(release, (("",) * 4,)),), paper=True)


def _notes() -> Section:
    return Section("notes", "", sentences((ROUNDING, NOT_A_RELEASE), Level.NOTE, bullet=False), short=False)
