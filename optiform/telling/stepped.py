"""What one limit costs at steps over its range, told: where limits bend, each step is a design of its own."""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise

from optiform.design.stepped import Status, Step, Stepped
from optiform.telling.around import amount, enters
from optiform.telling.charts import target_unit, trade_off_chart
from optiform.telling.design import NOTHING
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.goal import better
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Table, sentences

KNOWN: dict[Status, str] = {
    "proven": "proven best",
    "near": "best near itself only",
    "nothing": "nothing fits",
    "none found": "none found, not proven",
    "undecided": "not decided",
}

NONE = ("nothing", "none found")


def stepped(answer: Stepped) -> tuple[Section, ...]:
    """The steps, what is known at each, and the chart."""
    first, last = answer.corners[0], answer.corners[-1]
    unit = answer.value_unit
    head = f"{capital(answer.brief.goal.words)}: {amount(first.value, unit)} with {answer.words} "
    head += f"{_target(answer, first.target)}; {amount(last.value, unit)} with {_target(answer, last.target)}."
    answered = Sentence(" ".join([head, *_ends(answer)]))
    return (
        Section("curve", "", (answered, _steps(answer), trade_off_chart(answer))),
        Section("bends", "", tuple(_known(answer))),
        Section("reasons", "Why a step is not decided", sentences(dict.fromkeys(_reasons(answer))), short=False),
        Section("proof", "Proof", (Sentence(f"Worst residual of all proofs: {answer.residual:.1e}."),), short=False),
    )


def steps_table(answer: Stepped) -> Table:
    """Each step with the lines of its formula, for a spreadsheet; one without a formula has one row."""
    columns = (
        *_columns(answer)[:2], Column("ingredient"), Column("share", "% of the jar"), Column("what is known"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for step in answer.steps:
        if step.corner is None:
            rows.append((step.target, None, "", None, _status(step)))
        else:
            lines = step.corner.formula.lines
            rows += [
                (step.target, step.corner.value, x.ingredient.name, 100 * x.fraction, _status(step)) for x in lines
            ]
    return Table(columns, tuple(rows))


def _target(answer: Stepped, target: float) -> str:
    return amount(target, target_unit(answer))


def _ends(answer: Stepped) -> Iterator[str]:
    """Beside the outermost formulas: where nothing fits, or none was found; and the brief's own target."""
    for one, other in pairwise(answer.steps):
        for here, there in ((one, other), (other, one)):
            if here.corner and there.status in NONE:
                what = "nothing fits" if there.status == "nothing" else "none was found"
                yield f"With {_target(answer, there.target)} {what}."
    if answer.today is not None:
        yield f"Your brief says {_target(answer, answer.today)}."


def _columns(answer: Stepped) -> tuple[Column, ...]:
    return (
        Column(answer.words, target_unit(answer)),
        Column(answer.brief.goal.words, answer.value_unit.strip("-")),
        Column("what changes there"),
        Column("what is known"),
    )


def _steps(answer: Stepped) -> Table:
    """Each step but those beyond the ends that have no formula either."""
    rows: list[tuple[Cell, ...]] = []
    before: dict[str, float] = {}
    for behind, step, ahead in zip((None, *answer.steps), answer.steps, (*answer.steps[1:], None), strict=False):
        if step.corner is None:
            beside = any(other is not None and other.corner for other in (behind, ahead))
            if not beside and step.status in NONE:
                continue
            rows.append((step.target, None, "", KNOWN[step.status]))
            continue
        now = {line.ingredient.name: line.fraction for line in step.corner.formula.lines}
        unusual = [f"unusual: not {words}" for words in step.gave]
        changes = "; ".join([enters(before, now), *unusual])
        rows.append((step.target, step.corner.value, changes, KNOWN[step.status]))
        before = now
    return Table(_columns(answer), tuple(rows))


def _status(step: Step) -> str:
    return f"{KNOWN[step.status]}: {in_words(step.reason)}" if step.reason else KNOWN[step.status]


def _reasons(answer: Stepped) -> Iterator[str]:
    return (f"{_target(answer, step.target)}: {in_words(step.reason)}" for step in answer.steps if step.reason)


def _known(answer: Stepped) -> Iterator[Sentence]:
    """What the words of the last column mean, those that are there."""
    yield Sentence(
        "A limit or the goal bends here, so each row is a formula worked out by itself. Between two rows the chart is "
        "drawn straight: what lies there was not worked out."
    )
    statuses, good = {step.status for step in answer.steps}, better(answer.brief.goal)
    if "proven" in statuses:
        gap = max(step.gap or 0.0 for step in answer.steps if step.status == "proven")
        more = f" by more than {Decimal(f'{gap:.2g}'):f} {answer.value_unit}".rstrip() if gap > NOTHING else ""
        yield Sentence(f"Proven best: no formula that keeps the limits there is {good}{more}.")
    if "near" in statuses:
        words = f"the best formula found from several starts, proven best near itself; another could be {good}"
        yield Sentence(f"Best near itself only: {words}.", Level.MIND)
    if "nothing" in statuses:
        yield Sentence("Nothing fits: proven for all formulas.")
    if "none found" in statuses:
        yield Sentence("None found: searched from several starts, which is no proof that nothing fits.", Level.MIND)
    if "undecided" in statuses:
        yield Sentence(
            "Not decided: the search was given up, or its proof failed (--part reasons). A narrower brief helps.",
            Level.MIND,
        )
