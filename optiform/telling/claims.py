"""What a formula is by the claims of its brief, told: kept or not, and what the suppliers have to confirm."""

from collections.abc import Iterator

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.rules.claims import CLAIMS, against, known_for, to_confirm
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
            yield Sentence(f"Claim {claim}: kept, {CLAIMS[claim].by}; suppliers confirm it.")
    yield from _confirm(brief, formula)


def _confirm(brief: Brief, formula: Formula) -> Iterator[Sentence]:
    """Of which lines to ask the suppliers, and for which claims: the names do not say what these are made from."""
    asked: dict[tuple[str, ...], list[str]] = {}
    for line in formula.lines:
        if of := tuple(claim for claim in brief.claims if to_confirm(claim, line.ingredient)):
            asked.setdefault(of, []).append(line.ingredient.name)
    for of, names in asked.items():
        words = "the name does not say what it is made from"
        yield Sentence(f"Have the suppliers confirm {' and '.join(of)} ({words}): {'; '.join(names)}.")
