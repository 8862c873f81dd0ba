"""Trials: what was kept, what they teach, and which to make next."""

from collections.abc import Sequence
from itertools import groupby

from optiform.properties.firmness import Band
from optiform.reading.units import count_of
from optiform.telling.sections import closing
from optiform.telling.text import number, paragraph, table
from optiform.trials.cells import not_counted
from optiform.trials.fit import Fitted, Learned, Prediction
from optiform.trials.question import Next, Proposal
from optiform.trials.weighable import Weighings
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Trial

NINE_IN_TEN = "Bands hold nine times in ten."
SCALE = (
    "Firmness compares jars made and read alike: it counts structuring solids and grains, no gums and no foam. What "
    "was assumed before the readings is recalled or practice, not measured on scrubs."
)


def kept(trial: Trial, weights: int) -> str:
    """That a trial was kept."""
    of = f"{trial.product}, version {trial.version}"
    lines = (
        count_of(weights, "actual weight") if weights else "no weights given, so the version's own percentages are used"
    )
    return f"Kept trial {trial.name} of {of}: {lines}."


def read(readings: Sequence[Reading]) -> str:
    """That readings were kept."""
    values = ", ".join(f"{reading.value:g}" for reading in readings)
    one = readings[0]
    at = f"{one.temperature:g} degC, {_age(one.age)} old"
    many = count_of(len(readings), "reading")
    return f"Kept {many} of trial {one.trial} by {one.instrument} at {at}: {values} {one.unit}".rstrip()


def _age(hours: float) -> str:
    return f"{hours:g} h" if hours < 48 else f"{hours / 24:.3g} days"


# -- the log -----------------------------------------------------------------------------------------------------------


def rows(log: Log) -> list[list[object]]:
    """The log as a table: one row for each trial, gauge, condition, temperature and age."""
    found: list[list[object]] = [
        ["trial", "version", "made", "changed", "instrument", "geometry", "condition", "degC", "age h", "readings",
         "unit", "not counted"]
    ]  # fmt: skip
    for trial in log.trials:
        about: list[object] = [trial.name, trial.version, trial.made.isoformat(), trial.changed]
        mine = [reading for reading in log.readings if reading.trial == trial.name]
        for key, group in groupby(sorted(mine, key=_alike), key=_alike):
            values = " ".join(f"{reading.value:g}" for reading in group)
            found.append([*about, *key[:5], values, *key[5:]])
        if not mine:
            found.append([*about, "no readings", "", "", "", "", "", "", ""])
    return found


def _alike(reading: Reading) -> tuple[str, str, str, float, float, str, str]:
    return (
        reading.instrument, reading.geometry, reading.condition, reading.temperature, reading.age, reading.unit,
        not_counted(reading),
    )  # fmt: skip


def shown(log: Log) -> str:
    """The log, trial by trial."""
    if not log.trials:
        return "No trials are kept here yet."
    parts = []
    for trial in log.trials:
        head = f"{trial.name}: {trial.product}, version {trial.version}, made {trial.made}"
        words = [
            ("aim", trial.aim),
            ("changed", trial.changed),
            ("made with", _making(trial)),
            ("outcome", trial.outcome),
        ]
        told = "\n".join(paragraph(f"{name}: {text}", "") for name, text in words if text)
        mine = [[str(_shown(cell)) for cell in row[4:]] for row in rows(log)[1:] if row[0] == trial.name]
        lines = table([[str(name) for name in rows(log)[0][4:]], *mine], right=[3, 4]) if mine else ""
        parts.append("\n".join(part for part in (head, told, lines) if part))
    return "\n\n".join(parts)


def _making(trial: Trial) -> str:
    figures = [
        (trial.mass, "g"), (trial.hot_water, "degC water phase"), (trial.hot_oil, "degC oil phase"),
        (trial.cooling, "min to the grains"), (trial.added_at, "degC when the grains went in"),
        (trial.room, "degC room"),
    ]  # fmt: skip
    return ", ".join(f"{value:g} {words}" for value, words in figures if value is not None)


def _shown(cell: object) -> object:
    return f"{cell:g}" if isinstance(cell, float) else cell


# -- the fit -----------------------------------------------------------------------------------------------------------


def fitted(found: Fitted) -> str:
    """The scale before and after, each trial against the others, and what the fit rests on."""
    head = f"Firmness fitted to {found.basis.words}\n  {found.reference.name} at 20 degC is 100"
    after = [["", "assumed", "fitted"], *map(_learned, found.learned)]
    trials = [["trial", "readings", "degC", "firmer than fitted", "than the others say", "chance"]]
    trials += [
        [
            seen.trial,
            str(seen.readings),
            ", ".join(f"{at:g}" for at in seen.temperatures),
            f"{seen.off:+.0f} %",
            f"{seen.expected_alone:+.0f} %" + (" DISAGREES" if seen.disagrees else ""),
            chance(seen.likelihood),
        ]
        for seen in found.seen
    ]
    return "\n\n".join(
        [head, table(after, right=[1, 2]), table(trials, right=[1, 3, 5]), _left_out(found),
         "\n".join(paragraph(text, "") for text in (verdict(found), *found.notes, NINE_IN_TEN, SCALE)), closing()]
    ).replace("\n\n\n\n", "\n\n")  # fmt: skip


def _learned(each: Learned) -> list[str]:
    unit = f" {each.unit}" if each.unit else ""
    assumed = "not known" if each.prior is None else f"{whole(each.prior)}{unit}"
    return [each.name, assumed, f"{whole(each.fitted)}{unit}"]


def whole(found: Band) -> str:
    """A band to two digits: nobody's jar knows a third."""
    low, typical, high = (f"{float(f'{end:.2g}'):g}" for end in (found.low, found.typical, found.high))
    return typical if low == high else f"{typical} ({low} to {high})"


def chance(likelihood: float) -> str:
    """How often, in words."""
    return "under 1 in 1000" if likelihood < 0.001 else f"{number(100 * likelihood, 2)} in 100"


def verdict(found: Fitted) -> str:
    """Which trials disagree with the others, or that none does."""
    off = found.disagreeing
    if not off:
        return "No trial disagrees with the others (further off than 1 in 100)."
    words = "disagrees" if len(off) == 1 else "disagree"
    return (
        f"{', '.join(off)} {words} with the others: predicted without it, a trial is that far off less than once in "
        "100. Look at how it was made and read before believing it or leaving it out."
    )


def _left_out(found: Fitted) -> str:
    reasons: dict[tuple[str, str], list[int]] = {}
    for each in found.left_out:
        reasons.setdefault((each.trial, each.why), []).append(each.number)
    lines = [
        paragraph(f"{trial}, {'reading' if len(k) == 1 else 'readings'} {', '.join(map(str, k))}: {why}")
        for (trial, why), k in reasons.items()
    ]
    return "\n".join(["  Not counted", *lines]) if lines else ""


def against(found: Fitted) -> list[list[object]]:
    """Trials against the fit, as a table to save."""
    head: list[object] = ["trial", "readings", "off %", "off % without it", "likelihood", "disagrees"]
    return [head, *([s.trial, s.readings, s.off, s.expected_alone, s.likelihood, s.disagrees] for s in found.seen)]


# -- predictions -------------------------------------------------------------------------------------------------------


def predicted(all_of_them: Sequence[Prediction], found: Fitted) -> str:
    """Bands before and after the readings, on the relative scale and on every gauge's own."""
    first = all_of_them[0]
    head = f"{first.formula.name}\n  firmness, {found.reference.name} at 20 degC is 100; about {_age(first.age)} old"
    lines = [["", "assumed", "fitted", "the next batch"]]
    lines += [[f"{p.temperature:g} degC", whole(p.before), whole(p.after), whole(p.batch)] for p in all_of_them]
    reads = [["mean of three jars of the next batch", *(f"{p.temperature:g} degC" for p in all_of_them)]]
    for k, gauge in enumerate(first.gauges):
        unit = f", {gauge.unit}" if gauge.unit else ""
        reads.append([f"{gauge.gauge}{unit}", *(whole(p.gauges[k].band) for p in all_of_them)])
    notes = [f"at {p.temperature:g} degC: {note}" for p in all_of_them for note in p.notes]
    rests = f"Fitted to {found.basis.words}. {NINE_IN_TEN}"
    told = "\n".join(paragraph(text, "") for text in (*notes, rests, SCALE))
    return "\n\n".join(
        [head, table(lines, right=[1, 2, 3]), table(reads, right=range(1, len(reads[0]))), told, closing()]
    )


# -- the next one ------------------------------------------------------------------------------------------------------


def whether(found: Next) -> str:
    """Yes or no to one more trial. Nobody is told to stop on the model's word alone."""
    if found.worth_it:
        return "Yes, make one more trial"
    if found.beyond:
        return "No further trial changes the model's word, but no reading of yours bears it out"
    return "No, you can stop"


def next_one(found: Next, fit: Fitted, weighings: Sequence[Weighings] = ()) -> str:
    """Yes or no to one more trial, why, which, and what to weigh for the best of them."""
    of = "%, of the other's" if found.question.rival is not None else f"({fit.reference.name} at 20 degC is 100)"
    head = f"{found.question.words[0].upper()}{found.question.words[1:]}\n  {whole(found.now.band)} {of}"
    rows = [["", "readings at", "narrows by", "band after", "would change the answer", "still wrong"]]
    rows += [[f"trial {k}", *_proposal(each)] for k, each in enumerate(found.proposals, 1)]
    what = "\n".join(paragraph(f"trial {k}: {_words(each)}") for k, each in enumerate(found.proposals, 1))
    equal = "\n".join(["  Hold equal", *map(paragraph, found.equal)])
    rests = (
        f"{found.looked_at} trials were looked at: the formulas as they are, and one line up with another down by "
        f"whole steps of {found.step:g} g in {found.mass:g} g, inside the brief and the law. "
        f"Fitted to {fit.basis.words}. {NINE_IN_TEN}"
    )
    told = "\n".join(paragraph(text, "") for text in (rests, SCALE))
    return "\n\n".join(
        [
            head,
            "\n".join([paragraph(f"{whether(found)}: {found.reason}.", ""), *map(paragraph, found.beyond)]),
            table(rows, right=range(2, 6)),
            what,
            *([_weighings(weighings[0])] if weighings else []),
            equal,
            told,
            closing(),
        ]
    )


def _weighings(found: Weighings) -> str:
    rows = [["Weigh for trial 1", "g", "due g", "against today's", "phase"]]
    rows += [[x.ingredient, f"{x.grams:g}", f"{x.due:.4g}", x.against, x.phase] for x in found.lines]
    helps = [f"{x.ingredient}: {x.small.helps}." for x in found.lines if x.small and x.small.told]
    words = [*([found.warning] if found.warning else []), *helps]
    return "\n".join([table(rows, right=[1, 2]), *map(paragraph, words)])


def _proposal(each: Proposal) -> list[str]:
    heat = ", ".join(f"{at:g}" for at in each.temperatures)
    return [
        f"{heat} degC", narrows(each), whole(each.band_after),
        f"{100 * each.flips:.0f} in 100", f"{100 * each.wrong_after:.0f} in 100",
    ]  # fmt: skip


def narrows(each: Proposal) -> str:
    """By how much narrower the band is expected to be: variances are told as widths."""
    return f"{100 * (1 - (1 - each.narrows) ** 0.5):.0f} %"


def _words(each: Proposal) -> str:
    moves = [f"{name} {grams:+g} g ({points:+.2g} points)" for name, grams, points in each.changes]
    return (", ".join(moves) or each.words) + f"; three jars each by {each.gauge}"
