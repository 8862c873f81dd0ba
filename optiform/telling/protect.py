"""Protection against wrong figures, told: what it costs, what it changes, and what could be missed without it."""

from collections.abc import Iterator, Sequence
from math import inf

from optiform.design.protect import LEAST_SHARE, AtWorst, Protected
from optiform.program.chance import Chance
from optiform.telling.around import amount, moves_between, moves_table, shares_table
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, significant
from optiform.telling.goal import unit_of_goal
from optiform.telling.measured import SURE, demanded
from optiform.telling.noted import against
from optiform.telling.parts import Column, Level, Part, Section, Sentence, Table, sentences
from optiform.telling.report import watch_out

LOTS = (
    "All figures of one lot of an ingredient move together, those of other ingredients by themselves; 95 lots of 100 "
    "lie in the stated ranges. Where a range is an estimate, so is the chance."
)
MOVES = 5  # lines of what changes, in the short telling
TOLD = 3  # limits of which it is told what they cost
PROOF = "gap {0.gap:.1e}, breach {0.primal:.1e}, duals {0.dual:.1e}, slackness {0.complementarity:.1e}"


def protected(answer: Protected) -> tuple[Section, ...]:
    """The protected formula against the best one without protection."""
    pair = answer.unprotected.report.formula, answer.report.formula
    notes = sentences((f"{capital(in_words(note))}." for note in answer.notes), bullet=False)
    return (
        Section("protected", "", tuple(_answered(answer))),
        Section("moves", "", (moves_table(moves_between(*pair), "unprotected", "protected"),), most=MOVES),
        Section("missed", "", (_missed(answer), *notes)),
        watch_out(answer.report.warnings),
        Section("limits", "Every limit whose figures are ranges", (limits_table(answer), *_lots(answer)), short=False),
        Section(
            "formula", "The formula", (shares_table(pair[::-1], ("protected", "unprotected"), False),), short=False
        ),
        Section("proof", "Proof", (Sentence(f"Checked: {PROOF.format(answer.certificate)}."),), short=False),
    )


def _answered(answer: Protected) -> Iterator[Part]:
    wanted = answer.brief.goal.wanted
    unit = wanted.unit if wanted else "% moved"
    more = "more" if answer.price >= 0 else "less"
    yield Sentence(
        f"{_kept(answer)}: {answer.brief.goal.words} {amount(answer.objective, unit)}, "
        f"{amount(significant(abs(answer.price), 3), unit)} {more} than without it."
    )
    if isinstance(answer.budget, Chance):
        yield from sentences(_why(answer), bullet=False)
        yield Sentence("Where a range is an estimate, so is the chance.", Level.NOTE)


def _lots(answer: Protected) -> Iterator[Sentence]:
    """What a chance in lots counts as moving together."""
    if isinstance(answer.budget, Chance):
        yield Sentence(LOTS, Level.NOTE)


def _why(answer: Protected) -> Iterator[str]:
    """For which limits most of it is paid, whose lots are behind each, and what exact figures would be worth."""
    for place, doubt in enumerate(answer.doubts[:TOLD]):
        whose = f"{doubt.ingredient} ({100 * doubt.part:.0f} % of the doubt"
        sure = f", figure {SURE[doubt.evidence]})" if doubt.evidence else ")"
        start = f"{100 * doubt.share:.0f} % of that is for" if place == 0 else f"{100 * doubt.share:.0f} % for"
        yield (
            f"{start} {demanded(doubt.demand)}: the formula keeps {significant(doubt.away, 2):g} away from it, because "
            f"lots differ, mostly those of {whose}{sure}."
        )
    unit = unit_of_goal(answer.brief.goal)
    cheaper = [one for one in answer.exact if answer.price - one.price > LEAST_SHARE * answer.price]
    if cheaper:
        told = "; ".join(f"of {one.ingredient} {significant(max(0.0, one.price), 2):g}" for one in cheaper)
        yield f"What it would cost, in {unit}, if the figures of one ingredient were known exactly: {told}."


def _kept(answer: Protected) -> str:
    words = str(answer.budget)
    if isinstance(answer.budget, Chance):
        return capital(words)
    return f"Every limit is met even with {against(answer.budget)}"


def _missed(answer: Protected) -> Table:
    """The limits that could be missed without protection."""
    columns = (
        Column("could be missed without it"), Column("protected could be", unknown="-"),
        Column("unprotected could be", unknown="-"),
    )  # fmt: skip
    missed = (limit for limit in _once(answer.limits) if limit.broken_before)
    return Table(columns, tuple((demanded(limit.demand), *_three(limit.worst, limit.before)) for limit in missed))


def _three(*figures: float | None) -> tuple[float | None, ...]:
    """Figures to three digits."""
    return tuple(None if figure is None else significant(figure, 3) for figure in figures)


def limits_table(answer: Protected) -> Table:
    """Every limit whose figures are in doubt, and what it could be with and without protection."""
    columns = (
        Column("limit"), Column("typical", unknown="-"), Column("could be", unknown="-"),
        Column("unprotected could be", unknown="-"), Column("unprotected"),
    )  # fmt: skip
    rows = tuple(
        (
            demanded(limit.demand),
            *_three(limit.value, limit.worst, limit.before),
            "could miss" if limit.broken_before else "",
        )
        for limit in _once(answer.limits)
    )
    return Table(columns, rows)


def _once(limits: Sequence[AtWorst]) -> list[AtWorst]:
    """Each limit once: of those that bend and are kept piece by piece, the piece that comes nearest to the limit."""
    nearest: dict[str, AtWorst] = {}
    for limit in limits:
        other = nearest.setdefault(demanded(limit.demand), limit)
        if _beyond(limit) > _beyond(other):
            nearest[demanded(limit.demand)] = limit
    return list(nearest.values())


def _beyond(limit: AtWorst) -> float:
    """How far up to its limit it could be, or beyond: 0 at the limit."""
    if limit.worst is None:
        return -inf
    return limit.worst - limit.demand.target if limit.demand.side == "high" else limit.demand.target - limit.worst
