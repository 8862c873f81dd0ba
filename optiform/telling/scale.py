"""The firmness scale fitted to readings, told: who disagrees, what each trial taught, the scale before and after."""

from collections.abc import Iterator, Sequence

from optiform.properties.firmness import Band
from optiform.reading.units import count_of
from optiform.telling.facts import in_words
from optiform.telling.parts import Column, Level, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.report import NOT_A_RELEASE, PROCESS
from optiform.telling.tried import FIGURES, figure, fit_notes, uncounted
from optiform.trials.fit import Fitted, Learned, Seen
from optiform.trials.taught import Figure, Taught

NINE_IN_TEN = "Ranges hold nine times in ten."
SCALE = (
    "Firmness compares jars made and read alike: it counts structuring solids and grains, no gums and no foam. What "
    "was assumed before the readings is from memory or custom, not measured on scrubs."
)
#: What the fit calls its figures, as a maker reads it.
SPOKEN = {
    FIGURES[Figure.POWER]: "power of the solids",
    FIGURES[Figure.JAMMING]: "share of the volume at which grains jam",
    "phi_m": "the share at which grains jam",
}
#: The same in the head of a column; what is left are the instruments' own figures.
BRIEFLY = {
    Figure.POWER: "power",
    Figure.JAMMING: "jamming",
    Figure.BATCHES: "batches",
    Figure.JARS: "jars",
    Figure.AGING: "aging",
}
MOST = 20  # rows of a table in the short telling
ALONE = 1000.0  # %: a range that much wider without a trial is what was assumed


def fitted(fit: Fitted) -> Telling:
    """Which trials disagree, the scale before and after the readings, and what the fit rests on."""
    sections = (
        Section("verdict", "", (_verdict(fit), *sentences(_solids(fit.learned), bullet=False))),
        Section("trials", "Each trial against the others", (_against(fit),), most=MOST),
        _behind(
            "taught", "What each trial taught: how much wider the scale's ranges would be without it", _taught(fit)
        ),
        _behind("scale", "The scale, before and after the readings", _learned(fit.learned)),
        _behind("without", "Every range with and without each trial", _without(fit.seen)),
        _uncounted(fit),
        Section("notes", "Good to know", sentences((*map(spoken, fit_notes(fit)), NINE_IN_TEN, SCALE)), most=2),
        closing(),
    )
    title = f"Firmness fitted to {in_words(fit.basis)}; {fit.reference.name} at 20 °C is 100"
    return Telling(title, sections, _table(fit))


def _behind(name: str, title: str, table: Table) -> Section:
    """A table that the short telling names by what stands before the colon of its title."""
    return Section(name, title, (table,), short=False, instead=title.partition(":")[0])


def spoken(words: str) -> str:
    """Words of the fit without its symbols.

    Example:
        >>> spoken("next to nothing of phi_m.")
        'next to nothing of the share at which grains jam.'
    """
    for symbol, name in SPOKEN.items():
        words = words.replace(symbol, name)
    return words


def _verdict(fit: Fitted) -> Sentence:
    return Sentence(verdict(fit), Level.MIND if fit.disagreeing else Level.PLAIN)


def verdict(fit: Fitted) -> str:
    """Which trials disagree with the others, or that none does."""
    off = fit.disagreeing
    if not off:
        return "All trials agree: none is so far off that chance would do it less than once in 100."
    words = "disagrees" if len(off) == 1 else "disagree"
    return (
        f"{', '.join(off)} {words} with the others: a trial is that far off by chance less than once in 100. Look at "
        "how it was made and read before you believe it or leave it out."
    )


def _solids(learned: Sequence[Learned]) -> Iterator[str]:
    """What a tenth more of what holds it up does, by the readings and before them: firmness goes as a power of it."""
    for row in learned:
        if row.figure is Figure.POWER and row.prior is not None:
            now, before = (
                [100 * (1.1**power - 1) for power in (of.low, of.typical, of.high)] for of in (row.fitted, row.prior)
            )
            yield (
                f"By your readings, a tenth more of the structuring solids makes it {now[1]:.0f} % firmer "
                f"({now[0]:.0f} to {now[2]:.0f}). Without readings, {before[1]:.0f} % was assumed."
            )


def _against(fit: Fitted) -> Table:
    columns = (
        Column("trial"), Column("readings"), Column("°C"), Column("firmer than fitted"), Column("than the others say"),
        Column("that far off by chance"), Column("verdict"),
    )  # fmt: skip
    rows = tuple(
        (x.trial, x.readings, ", ".join(f"{at:g}" for at in x.temperatures), f"{x.off:+.0f} %",
         f"{x.expected_alone:+.0f} %", chance(x.likelihood), "DISAGREES" if x.disagrees else "agrees")
        for x in fit.seen
    )  # fmt: skip
    return Table(columns, rows)


def _taught(fit: Fitted) -> Table:
    """By how much each range would be wider without each trial; of the instruments' ranges the one most so."""
    named = _named(fit)
    heads = (*(BRIEFLY[fit.learned[k].figure] for k in named), "instruments, most")
    rows = ((x.trial, *(wider(x.taught[k]) for k in named), _of_instruments(x)) for x in fit.seen)
    return Table((Column("% wider without"), *map(Column, heads)), tuple(rows))


def _named(fit: Fitted) -> list[int]:
    """The figures that are the scale's own, not an instrument's; they come first."""
    return [k for k, x in enumerate(fit.learned) if x.figure in BRIEFLY]


def _of_instruments(of: Seen) -> str:
    own = [row for row in of.taught if row.figure not in BRIEFLY]
    return wider(max(own, key=lambda row: row.wider)) if own else ""


def _without(seen: Sequence[Seen]) -> Table:
    columns = (
        Column("without"), Column("of the scale"), Column("range with it"), Column("without it"), Column("unit"),
        Column("% wider"),
    )  # fmt: skip
    rows = (
        (x.trial, spoken(figure(row)), _ends(row.fitted), _ends(row.without), row.unit, wider(row))
        for x in seen
        for row in x.taught
    )
    return Table(columns, tuple(rows))


def _ends(band: Band) -> str:
    return f"{float(f'{band.low:.2g}'):g} to {float(f'{band.high:.2g}'):g}"


def wider(row: Taught) -> str:
    """By how much a range would be wider without a trial, in %, or in words where nothing else tells of it.

    Example:
        >>> scale, without = Band(2.0, 2.5, 3.0), Band(1.8, 2.5, 3.3)
        >>> power = Figure.POWER
        >>> wider(Taught(power, "", scale, without)), wider(Taught(power, "", scale, Band(0.0, 2.5, 50.0)))
        ('+50', 'known by it alone')
    """
    return f"{row.wider:+.0f}".replace("-0", "+0") if row.wider < ALONE else "known by it alone"


def _learned(learned: Sequence[Learned]) -> Table:
    columns = (Column("of the scale"), Column("assumed, before"), Column("fitted, after"), Column("unit"))
    rows = tuple(
        (spoken(figure(x)), "not known" if x.prior is None else whole(x.prior), whole(x.fitted), x.unit)
        for x in learned
    )
    return Table(columns, rows)


def whole(band: Band) -> str:
    """A range to two digits: nobody's jar knows a third."""
    low, typical, high = (f"{float(f'{end:.2g}'):g}" for end in (band.low, band.typical, band.high))
    return typical if low == high else f"{typical} ({low} to {high})"


def firm(band: Band) -> str:
    """A firmness with its range, in whole numbers as on every page.

    Example:
        >>> firm(Band(49.4, 116.2, 342.0))
        '116 (49 to 342)'
    """
    ends = f" ({band.low:.0f} to {band.high:.0f})" if round(band.low) != round(band.high) else ""
    return f"{band.typical:.0f}{ends}"


def chance(likelihood: float) -> str:
    """How often, in words."""
    return "under 1 in 1000" if likelihood < 0.001 else f"{number(float(f'{100 * likelihood:.2g}'))} in 100"


def _uncounted(fit: Fitted) -> Section:
    reasons: dict[tuple[str, str], list[int]] = {}
    for reading in fit.left_out:
        reasons.setdefault((reading.trial, uncounted(reading.why)), []).append(reading.number)
    texts = [
        f"{trial}, {'reading' if len(numbers) == 1 else 'readings'} {', '.join(map(str, numbers))}: {why}"
        for (trial, why), numbers in reasons.items()
    ]
    instead = f"{count_of(len(fit.left_out), 'reading')} that did not count" if texts else ""
    return Section("uncounted", "Not counted", sentences(texts), short=False, instead=instead)


def closing() -> Section:
    """What no fit settles."""
    return Section("closing", "", sentences((PROCESS, NOT_A_RELEASE), Level.NOTE, bullet=False), short=False)


def _table(fit: Fitted) -> Table:
    heads = ("trial", "readings", "off %", "off % without it", "likelihood", "disagrees")
    rows = tuple((s.trial, s.readings, s.off, s.expected_alone, s.likelihood, s.disagrees) for s in fit.seen)
    return Table(tuple(map(Column, heads)), rows)
