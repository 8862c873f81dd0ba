"""What a formula is by the claims of its brief, told: kept or not, and what the suppliers have to confirm."""

from collections.abc import Iterator, Sequence

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.rules.claims import CLAIMS, against, known_for, unconfirmed
from optiform.telling.figures import listed
from optiform.telling.parts import Level, Sentence


def claims(brief: Brief, formula: Formula) -> Iterator[Sentence]:
    """Whether the formula keeps each claim of the brief, as far as it is known what its ingredients are made from."""
    for claim in brief.claims:
        off = [line.ingredient for line in formula.lines if against(claim, line.ingredient)]
        broken = "; ".join(item.name for item in off if known_for(claim, item))
        unknown = "; ".join(item.name for item in off if not known_for(claim, item))
        if off:
            words = [*([f"not kept by {broken}"] if broken else []), *([f"not known of {unknown}"] if unknown else [])]
            yield Sentence(f"Claim {claim}: {', and '.join(words)}.", Level.MIND)
        else:
            yield Sentence(f"Claim {claim}: kept, by {_judged_by(claim)}; suppliers confirm it.")
    yield from to_ask(unconfirmed(brief.claims, (line.ingredient for line in formula.lines)))


def _judged_by(claim: str) -> str:
    if CLAIMS[claim].by_origin:
        return "what its ingredients are usually made from"
    return "the names its ingredients are declared under"


def to_ask(asked: Sequence[tuple[tuple[str, ...], tuple[str, ...]]]) -> Iterator[Sentence]:
    """Of which lines to ask the suppliers, and for which claims: the names do not say what these are made from."""
    for of, names in asked:
        words = "the name does not say what it is made from"
        yield Sentence(f"Have the suppliers confirm {listed(of)} ({words}): {'; '.join(names)}.")
