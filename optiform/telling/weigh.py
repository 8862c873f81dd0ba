"""What to put on the scale, told."""

from collections.abc import Iterator, Sequence

from optiform.brief.goal import Nearest
from optiform.design.facts import Fact, LeastDose
from optiform.design.steps import Miss, Unweighable, Weighed, Weighing
from optiform.telling import measured, report, usual
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.goal import better, gap_of_usual
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.unused import kind_words


def weighed(answer: Weighed) -> Telling:
    """Grams per line in whole steps, what rounding costs, and how near the best it is proven to be."""
    brief = answer.brief
    sections = [
        Section("answer", "", tuple(_answer(answer))),
        Section("grams", f"Weigh this, {answer.batch.normalize():f} g in all", (_lines(answer.lines, _gone(answer)),)),
        Section(
            "summary",
            "",
            (
                report.limits_line(answer.report),
                report.law_line(answer.report, brief.scope),
                *usual.against_kind(answer.report, brief),
                report.cautions_line(answer.report),
                *sentences(map(in_words, answer.notes), bullet=False),
            ),
        ),
        report.warnings(answer.report.warnings),
        report.limits(answer.report),
        report.law(answer.report),
        report.cautions(answer.report),
        _proof(answer),
        Section("unused", "", sentences(kind_words(brief, answer.report.formula), bullet=False), short=False),
        report.notice(),
    ]
    return Telling(brief.title, tuple(sections), table(answer.lines))


def _answer(answer: Weighed) -> Iterator[Sentence]:
    reasons = dict(answer.brief.left_out)
    if gone := [f"{name} ({in_words(reasons.get(name, Fact.NO_CANDIDATE))})" for name, _ in _gone(answer)]:
        yield Sentence(f"Not used, and other lines make up for it: {'; '.join(gone)}.", Level.MIND)
    yield from _rounding(answer)
    yield _checked(answer)


def _gone(answer: Weighed) -> tuple[tuple[str, float], ...]:
    """Lines of the formula that was rounded which are no candidates, each with its g of the batch."""
    usable, batch = {line.ingredient for line in answer.lines}, float(answer.batch)
    lines = ((line.ingredient.name, line.fraction * batch) for line in answer.rounded.lines)
    return tuple((name, grams) for name, grams in lines if name not in usable)


def _rounding(answer: Weighed) -> tuple[Sentence, ...]:
    if answer.cost is None or answer.cost_unrounded is None:
        return ()
    change, money = answer.cost - answer.cost_unrounded, answer.brief.currency
    much = number(float(f"{abs(change):.2g}"))
    more = f"{much} {money}/kg {'more' if change > 0 else 'less'}" if abs(change) >= 5e-5 else "no more"
    goal = answer.brief.goal
    given = isinstance(goal, Nearest) and goal.formula is answer.rounded
    other = answer.rounded.name if given else "the best formula if any amount could be weighed"
    return (Sentence(f"The ingredients cost {answer.cost:.3f} {money}/kg, {more} than {other}."),)


def _checked(answer: Weighed) -> Sentence:
    """What is proven of the grams, with what a better formula could gain where something is left."""
    left = abs(answer.proof.value - answer.proof.bound)
    good = better(answer.brief.goal)
    least = next((f", with no line below {note.percent:.4g} % of the batch," for note in answer.notes
                  if isinstance(note, LeastDose)), "")  # fmt: skip
    if left <= 1e-6 * (1 + abs(answer.proof.bound)):
        return Sentence(f"Checked: no formula that your scale can show{least} is {good}.")
    share = gap_of_usual(answer.brief.goal, left, answer.proof.value)
    more = f"by more than {share or f'{number(left)} {answer.unit}'}".rstrip(" -")
    return Sentence(f"Checked: no formula that your scale can show{least} is {good} {more}.")


def _lines(lines: Sequence[Weighing], gone: Sequence[tuple[str, float]] = ()) -> Table:
    places = max(_places(line) for line in lines)
    columns = (
        Column("ingredient"), Column("weigh", "g", places), Column("% of the jar", "", 2, fine=True),
        Column("step", "g"), Column("change", "g", 2, sign=True),
    )  # fmt: skip
    total = float(sum(line.grams for line in lines)) or 1.0
    rows: list[tuple[Cell, ...]] = [
        (x.ingredient, float(x.grams), 100 * float(x.grams) / total, float(x.step), x.drift) for x in lines
    ]
    rows += [(name, 0.0, 0.0, None, -grams) for name, grams in gone]
    return Table(columns, tuple(rows))


def _places(line: Weighing) -> int:
    return max(0, -int(line.step.normalize().as_tuple().exponent))


def table(lines: Sequence[Weighing]) -> Table:
    """The grams for a spreadsheet."""
    heads = "ingredient", "phase", "grams", "rounded by, g", "rounded by, % points"
    rows = tuple((x.ingredient, x.phase, float(x.grams), x.drift, x.points) for x in lines)
    return Table(tuple(map(Column, heads)), rows)


def _proof(answer: Weighed) -> Section:
    proof = answer.proof
    words = (
        f"This formula is at {number(proof.value)} {answer.unit}; no weighable one is better than "
        f"{proof.bound:.6g} (gap {abs(proof.gap):.1e}); without steps it would be {answer.unrounded:.6g}."
    )
    return Section("proof", "Proof", (Sentence(words),), short=False)


def unweighable(answer: Unweighable) -> Telling:
    """Why no rounding meets every limit, and the nearest that comes."""
    reason = in_words(answer.reason) or "no weighable formula meets every limit"
    words = f"{capital(reason)}." if answer.decided else f"Not decided: {reason}."
    parts: list[Part] = [Sentence(words, Level.STOP if answer.decided else Level.MIND)]
    if answer.fewest:
        parts.append(Sentence(f"At least {answer.fewest} ingredients are needed to meet every limit."))
    sections = [Section("answer", "", tuple(parts)), *_nearest(answer)]
    sections.append(Section("notes", "", sentences(map(in_words, answer.notes), bullet=False)))
    return Telling(answer.brief.title, tuple(sections), table(answer.nearest))


def _nearest(answer: Unweighable) -> tuple[Section, ...]:
    if not answer.nearest:
        return ()
    count = "one limit" if len(answer.misses) == 1 else f"{len(answer.misses)} limits"
    head = f"Do not make this: the grams below miss {count}. They show how near it comes:"
    lines = _lines(answer.nearest)
    return (Section("nearest", "", (Sentence(head, Level.STOP), *sentences(map(_miss, answer.misses)), lines)),)


def _miss(miss: Miss) -> str:
    return f"{measured.demanded(miss.demand)}: {number(miss.value)} there, {number(float(f'{miss.by:.3g}'))} off."
