"""A brief that no formula meets, told: the limits that contradict each other, and what would make it possible."""

from collections.abc import Iterator, Sequence

from optiform.design.answer import Change, Impossible
from optiform.telling.around import amount, unused
from optiform.telling.parts import Column, Level, Part, Section, Sentence, Table, Telling, sentences
from optiform.telling.text import outward

HEAD = "No formula can meet this brief."
CLASH = "These limits contradict each other. Without any one of them the others can hold; others may clash behind it:"


def impossible(answer: Impossible) -> Telling:
    """Why nothing fits, and each repair; or that it is not known."""
    sections = Section("answer", "", tuple(_conflict(answer))), unused(answer.brief), *_proof(answer)
    return Telling(answer.brief.title, sections, Table((Column("limit"),), tuple((d.words,) for d in answer.conflict)))


def repair_words(changes: Sequence[Change]) -> str:
    """One repair: which targets to lower or to raise, from what to what."""
    return ", and ".join(_change(change) for change in changes)


def _conflict(answer: Impossible) -> Iterator[Part]:
    if not answer.decided:
        yield Sentence(f"Not decided: {answer.reason}.", Level.MIND)
        yield Sentence("A narrower brief helps: fix a line that should not move, or give a limit more room.")
        return
    yield Sentence(HEAD)
    if answer.reason:
        yield Sentence(f"{answer.reason[0].upper() + answer.reason[1:]}.")
    if answer.reason and not answer.conflict:
        return
    yield Sentence(CLASH if answer.conflict else "The candidates cannot make up 100 %.")
    yield from sentences(demand.words for demand in answer.conflict)
    if answer.repairs:
        yield Sentence("This makes it possible:" if len(answer.repairs) == 1 else "Any one of these makes it possible:")
        yield from sentences(f"{words[0].upper()}{words[1:]}." for words in map(repair_words, answer.repairs))
    else:
        yield Sentence("No change of your own limits alone makes it possible. Look at the candidates and the law.")


def _change(change: Change) -> str:
    demand = change.demand
    verb = "lower" if demand.side == "low" else "raise"
    end = "least" if demand.side == "low" else "most"
    new = f"{outward(demand.side, change.target)} {demand.unit.strip('-')}".rstrip()
    return f"{verb} the {end} of {demand.name} from {amount(demand.target, demand.unit)} to {new}"


def _proof(answer: Impossible) -> Iterator[Section]:
    if answer.certificate is not None:
        words = f"The proof that nothing fits closes (gap {answer.certificate.gap:.1e})."
        yield Section("proof", "Proof", (Sentence(words),), short=False)
