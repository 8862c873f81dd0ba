"""What is told of trials in text and as data alike: figures of the scale, notes, the question and its answer."""

from collections.abc import Iterator, Mapping
from math import isfinite

from optiform.reading.faults import Fault
from optiform.reading.units import count_of
from optiform.telling.figures import capital
from optiform.trials.cells import SETTLED, Reason, Uncounted
from optiform.trials.fit import JARS, Beyond, Fitted, Learned, Note
from optiform.trials.next_trial import WORTH
from optiform.trials.question import Equal, Next, Proposal, Question
from optiform.trials.taught import Figure, Taught

#: Figures of the scale; those of an instrument stand behind its name.
FIGURES: Mapping[Figure, str] = {
    Figure.POWER: "n, power of the solids",
    Figure.JAMMING: "phi_m, volume at which grains jam",
    Figure.BATCHES: "from batch to batch of one formula",
    Figure.JARS: "from jar to jar of one batch",
    Figure.AGING: "firmer each time the age doubles",
    Figure.AT_100: "at firmness 100",
    Figure.ANSWER: "power of firmness",
    Figure.SCORES: "scores where 2.7 times as firm",
}
#: Why a reading does not count: behind each reason what is said of it, and the hours counted from.
UNCOUNTED = {
    Reason.EXCLUDED: "excluded: {0}",
    Reason.NO_READING: "{0}; the right one can be saved beside it",
    Reason.INSTRUMENT: "how {0!r} answers to firmness is not known",
    Reason.CONDITION: "condition {0}, not plain",
    Reason.YOUNG: "{0} h old; firmness counts from {1:g} h on",
    Reason.FIGURE: "a figure for the formula at {0} degC is not known",
    Reason.NO_SOLIDS: "no structuring solids at {0} degC, where the scale ends",
    Reason.JAMMED: "grains fill {0} % of the volume and jam",
}
#: What no trial reaches.
REACHED = {"solids": "its structuring solids", "grains": "its grains by volume"}


def figure(of: Learned | Taught) -> str:
    """What a figure of the scale is called.

    Example:
        >>> from optiform.properties.firmness import Band
        >>> figure(Learned(Figure.AT_100, "g", None, Band(180, 200, 220), "push on a scale"))
        'push on a scale: at firmness 100'
    """
    return f"{of.gauge}: {FIGURES[of.figure]}" if of.gauge else FIGURES[of.figure]


def fit_notes(fit: Fitted) -> Iterator[str]:
    """What a reader of the figures must know."""
    words = {
        Note.AGING: "Firmness moves with age; predictions are for 7 days.",
        Note.AGES_DIFFER: (
            "Each trial was read at one age only, and the ages differ: whether jars get firmer with age cannot be "
            f"told. Predictions are for about {fit.taken.age / 24:.2g} days."
        ),
        Note.GRAINS_ALIKE: "Your trials have nearly the same grains by volume, so they say next to nothing of phi_m.",
        Note.SOLIDS_ALIKE: (
            "Your trials have nearly the same structuring solids, so they say little of n. Read them at two "
            "temperatures."
        ),
        Note.FEW: "With fewer than four trials the scatter from batch to batch is mostly assumed.",
    }
    yield from (words[note] for note in fit.notes)


def left_behind(beyond: Beyond) -> str:
    """That a prediction leaves the trials behind.

    Example:
        >>> left_behind(Beyond("grains", 20.0))
        'Its grains by volume lie beyond your trials: the model says this, not your readings.'
    """
    what = REACHED.get(beyond.reach, f"{beyond.temperature:g} degC")
    lie = "lie" if beyond.reach in REACHED else "lies"
    return f"{capital(what)} {lie} beyond your trials: the model says this, not your readings."


def uncounted(why: Uncounted | None) -> str:
    """Why a reading does not count; empty where it does."""
    if why is None:
        return ""
    about = f"{why.about:g}" if isinstance(why.about, float) else why.about
    if isinstance(about, Fault):
        read = about.read.strip("'")
        about = f"{about.place} “{read}” is not {about.expected}"
    return UNCOUNTED[why.reason].format(about, SETTLED)


# -- the next trial ----------------------------------------------------------------------------------------------------


def asked_of(question: Question) -> str:
    """A question as a person would ask it."""
    what = f"is the firmness of {question.formula.name} at {question.temperature:g} degC"
    low, high = question.low, question.high
    if question.rival is not None:
        return f"{what} above that of {question.rival.name}?"
    if low > 0 and isfinite(high):
        return f"{what} between {low:g} and {high:g}?"
    return f"{what} at most {high:g}?" if isfinite(high) else f"{what} at least {low:g}?"


def proposed(proposal: Proposal, question: Question) -> str:
    """What a trial is of: its changed lines, or which formula it is as it stands."""
    if proposal.changes:
        return " and ".join(f"{name} {grams:+g} g" for name, grams, _ in proposal.changes)
    return "the reference once more, as it is" if proposal.again else f"{question.formula.name}, as it is"


def reason(answer: Next) -> str:
    """Why one more trial is worth making, or is not, in sentences."""
    now = answer.now
    sure = f"Now the answer is {now.answer}, and that is right {_in_100(1 - now.wrong)}."
    if not answer.proposals:
        return f"{sure} No trial that the scale covers could be made and read."
    best = answer.proposals[0]
    wrong, after = _in_100(now.wrong), _in_100(best.wrong_after)
    rest = f"make it wrong {after} instead of {wrong}" if wrong != after else f"leave it wrong {wrong}"
    change = f"The best trial would change it {_in_100(best.flips)}, and {rest}."
    if answer.worth_it:
        return f"{sure} {change}"
    doubt = "" if now.wrong < WORTH else " One trial does not settle the scatter that is left."
    return f"{sure} {change} At {_in_100(WORTH)} or more it is worth making.{doubt}"


def _in_100(probability: float) -> str:
    return "less than once in 100" if probability < 0.005 else f"{count_of(round(100 * probability), 'time')} in 100"


def equal(same: Equal) -> tuple[str, ...]:
    """What to hold as it was, with the last trial's own figures where they were noted."""
    last = same.last
    noted = [
        ("mass", last.mass, "g"), ("hot water phase", last.hot_water, "degC"), ("hot oil phase", last.hot_oil, "degC"),
        ("from heat to grains", last.cooling, "min"), ("grains added at", last.added_at, "degC"),
        ("room", last.room, "degC"),
    ] if last else []  # fmt: skip
    told = [f"{name} {value:g} {unit}, as in {last.name}" for name, value, unit in noted if value is not None and last]
    heat = " and ".join(f"{at:g} degC" for at in same.temperatures)
    lots = "the same lots, vessel and stirring; nothing else changed"
    read = f"{JARS} jars at {heat}, {same.age / 24:.2g} days old, by {same.gauge}"
    return (*(told or ["temperatures, cooling minutes and mass as in the last trial"]), lots, read)


def beyond_readings(answer: Next) -> Iterator[str]:
    """Where the question leaves the readings behind, which ones there do not count, and what to read."""
    yield from dict.fromkeys(map(left_behind, answer.beyond))
    if answer.unread is not None:
        at = f"{answer.question.temperature:g} degC"
        yield from (f"Readings at {at} that do not count: {count} ({uncounted(why)})." for why, count in answer.unread)
        yield (
            "Read a plain jar of a trial that you have made, stored as usual and at least 24 h old. Bring it to "
            f"{at} only to read it."
        )
