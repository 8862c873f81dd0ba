"""What to put on the scale."""

from collections.abc import Sequence

from optiform.design.steps import Miss, Unweighable, Weighed, Weighing
from optiform.telling.sections import closing, kind_rules, warnings
from optiform.telling.text import number, paragraph, table


def weighed(found: Weighed) -> str:
    """Grams per line in whole steps, the drift of each, and how near the best it is proven to be."""
    brief = found.brief
    head = f"{brief.title}\n  to weigh: {found.batch} g in all"
    told = [_gap(found)]
    if found.cost is not None and found.cost_unrounded is not None:
        change = found.cost - found.cost_unrounded
        told.append(f"{found.cost:.4f} {brief.currency}/kg, {change:+.4f} against the formula before rounding.")
    parts = [head, _lines(found.lines), warnings(found.report.warnings)]
    told += found.notes
    rules = "\n".join(kind_rules(brief))
    return "\n\n".join(part for part in [*parts, *(paragraph(text, "") for text in told), rules, closing()] if part)


def _gap(found: Weighed) -> str:
    proof = found.proof
    return (
        f"Every limit holds with these grams. No weighable formula is better than {number(proof.bound, 6)} "
        f"{found.unit}; this one is at {number(proof.value, 6)} (gap {abs(proof.gap):.1e}), without steps it would "
        f"be {number(found.unrounded, 6)}."
    )


def _lines(lines: Sequence[Weighing]) -> str:
    rows = [["", "g", "step g", "drift g", "points"]]
    rows += [[w.ingredient, str(w.grams), str(w.step), f"{w.drift:+.2f}", f"{w.points:+.3f}"] for w in lines]
    return table(rows, right=[1, 2, 3, 4])


def unweighable(found: Unweighable) -> str:
    """Why no rounding keeps every limit, and the nearest that comes."""
    reason = found.reason or "no weighable formula keeps every limit"
    head = f"{found.brief.title}\n  {reason if found.decided else f'not decided: {reason}'}"
    few = f"At least {found.fewest} ingredients are needed to keep every limit." if found.fewest else ""
    parts = [head, paragraph(few, "") if few else ""]
    if found.nearest:
        parts += [_broken(found.misses), _lines(found.nearest)]
    return "\n\n".join(part for part in [*parts, *(paragraph(note, "") for note in found.notes)] if part)


def _broken(misses: Sequence[Miss]) -> str:
    count = "one limit" if len(misses) == 1 else f"{len(misses)} limits"
    told = [f"{miss.demand.words}: {number(miss.value)} there, {number(miss.by, 3)} off" for miss in misses]
    head = f"The grams below break the brief, they miss {count}. They show how near it comes and are not to be made:"
    return "\n".join([paragraph(head, ""), *map(paragraph, told)])
