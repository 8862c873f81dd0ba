"""Protection against wrong figures, told: what it costs, what it changes, and what could be missed without it."""

from collections.abc import Iterator

from optiform.design.protect import Protected
from optiform.program.robust import wrong
from optiform.telling.around import amount, moves_between, moves_table, shares_table, warned
from optiform.telling.figures import capital
from optiform.telling.measured import demanded
from optiform.telling.parts import Column, Part, Section, Sentence, Table, sentences
from optiform.telling.report import warning_sentences

PROOF = "gap {0.gap:.1e}, breach {0.primal:.1e}, duals {0.dual:.1e}, slackness {0.complementarity:.1e}"


def protected(answer: Protected) -> tuple[Section, ...]:
    """The protected formula against the best one without protection."""
    pair = answer.unprotected.report.formula, answer.report.formula
    notes = sentences((f"{capital(note)}." for note in answer.notes), bullet=False)
    return (
        Section("protected", "", (*_answered(answer), moves_table(moves_between(*pair), "unprotected", "protected"))),
        Section("missed", "", (_missed(answer), *notes)),
        Section("warnings", "Watch out for", tuple(warned(answer.report.warnings, "warned"))),
        Section("limits", "Every limit whose figures are ranges", (limits_table(answer),), short=False),
        Section(
            "formula", "The formula", (shares_table(pair[::-1], ("protected", "unprotected"), False),), short=False
        ),
        Section("warned", "Every warning", tuple(warning_sentences(answer.report.warnings)), short=False),
        Section("proof", "Proof", (Sentence(f"Checked: {PROOF.format(answer.certificate)}."),), short=False),
    )


def _answered(answer: Protected) -> Iterator[Part]:
    wanted = answer.brief.goal.wanted
    unit = wanted.unit if wanted else "% moved"
    more = "more" if answer.price >= 0 else "less"
    yield Sentence(
        f"Every limit is met even with {wrong(answer.budget)}: {answer.brief.goal.words} "
        f"{amount(answer.objective, unit)}, {amount(abs(answer.price), unit)} {more} than without this protection."
    )


def _missed(answer: Protected) -> Table:
    """The limits that could be missed without protection."""
    columns = (
        Column("could be missed without it"), Column("protected could be", unknown="-"),
        Column("unprotected could be", unknown="-"),
    )  # fmt: skip
    missed = (limit for limit in answer.limits if limit.broken_before)
    return Table(columns, tuple((demanded(limit.demand), limit.worst, limit.before) for limit in missed))


def limits_table(answer: Protected) -> Table:
    """Every limit whose figures are in doubt, and what it could be with and without protection."""
    columns = (
        Column("limit"), Column("typical", unknown="-"), Column("could be", unknown="-"),
        Column("unprotected could be", unknown="-"), Column("unprotected"),
    )  # fmt: skip
    rows = tuple(
        (demanded(limit.demand), limit.value, limit.worst, limit.before, "could miss" if limit.broken_before else "")
        for limit in answer.limits
    )
    return Table(columns, rows)
