"""A brief that no formula meets, told: the limits that contradict each other, and what would make one possible."""

from collections.abc import Sequence
from dataclasses import replace

from optiform.design.answer import Change, NoFormula
from optiform.reading.rounded import outward, target
from optiform.telling import usual
from optiform.telling.design import facts
from optiform.telling.facts import in_words
from optiform.telling.measured import demanded, unit_of
from optiform.telling.parts import Column, Level, Part, Section, Sentence, Table, Telling, sentences
from optiform.telling.unused import left_out

CLASH = (
    "These limits contradict each other. Take any one of them away and the others can be met; another contradiction "
    "may then show:"
)
AMONG = "Among these limits some contradict each other:"
NO_REPAIR = "Changing your own limits alone does not make it possible: look at the candidates and the law."


def impossible(answer: NoFormula) -> Telling:
    """Why no formula meets a brief, and the repairs; or that it is not decided."""
    sections = [_answer(answer), _repairs(answer), replace(left_out(answer.brief), short=True), _proof(answer)]
    rows = tuple((str(place), demanded(demand)) for place, demand in enumerate(answer.conflict, 1))
    table = Table((Column("no."), Column("limits that contradict each other")), rows)
    return Telling(answer.brief.title, tuple(sections), table)


def _answer(answer: NoFormula) -> Section:
    about = Sentence(facts(answer.brief))
    if not answer.decided:
        words = f"Not decided whether a formula can meet this brief: {in_words(answer.reason)}."
        help_ = "A narrower brief helps: fix a line that should not move, or give a limit more room."
        return Section("answer", "", (about, Sentence(words, Level.MIND), Sentence(help_)))
    parts: list[Part] = [about]
    if answer.lacking:
        return Section("answer", "", (about, *usual.lacking(answer.lacking, answer.brief.kind)))
    if answer.reason:
        parts.append(Sentence(f"No formula was found: {in_words(answer.reason)}.", Level.MIND))
    if answer.reason and not answer.conflict:
        return Section("answer", "", tuple(parts))
    if not answer.reason:
        parts.append(Sentence("No formula can meet this brief.", Level.STOP))
    if answer.conflict:
        parts += [Sentence(CLASH if answer.minimal else AMONG), *sentences(map(demanded, answer.conflict))]
    else:
        parts.append(Sentence("The candidates cannot sum to 100 %."))
    return Section("answer", "", tuple(parts))


def repairs_head(count: int) -> str:
    """What stands above so many repairs."""
    return "This makes it possible:" if count == 1 else "Each of these makes it possible:"


def repaired(changes: Sequence[Change]) -> str:
    """A repair as what to do to a brief.

    Args:
        changes: the targets it moves, together.
    """
    return ", and ".join(map(_change, changes))


def _change(change: Change) -> str:
    demand = change.demand
    end = "minimum" if demand.side == "low" else "maximum"
    move = "lower" if change.target < demand.target else "raise"
    new = f"{outward(demand.side, change.target)} {unit_of(demand)}".rstrip()
    return f"{move} the {end} {demand.name} from {target(demand.side, demand.target)} to {new}"


def _repairs(answer: NoFormula) -> Section:
    if not answer.decided or answer.lacking or (answer.reason and not answer.conflict):
        return Section("repairs", "", ())
    if not answer.repairs:
        return Section("repairs", "", (Sentence(NO_REPAIR),))
    return Section("repairs", repairs_head(len(answer.repairs)), sentences(map(repaired, answer.repairs)))


def _proof(answer: NoFormula) -> Section:
    if answer.certificate is None:
        return Section("proof", "", (), short=False)
    words = f"The proof that nothing fits closes (gap {answer.certificate.gap:.1e})."
    return Section("proof", "Proof", (Sentence(words),), short=False)
