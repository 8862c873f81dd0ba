"""A ready-made blend weighed out of what it is made of, where the shelf holds each part by itself."""

from collections.abc import Iterator

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings, report

#: What a warning may be about all the same: limits count a blend by what it is bought for, its parts each by its own.
COUNTED = ("figures", "total", "usual")
WHOLE = (99.0, 101.0)  # %: between which the shares of a blend are all of it


def own_parts(brief: Brief, today: Formula, item: Ingredient) -> tuple[tuple[str, float], ...]:
    """The parts of a blend with their % of the jar in its place; nothing where the shelf lacks one, or the tool would
    warn of the formula.

    Its shares are those it declares: a maker's own blend may be of others, within their ranges.

    Args:
        brief: its candidates are the shelf.
        today: the formula with the blend in it.
        item: the blend.
    """
    parts = tuple(_parts(brief, item))
    shares = sum(share for _, share in parts)
    if len(parts) < 2 or len(parts) < len(item.constituents) or not WHOLE[0] <= shares <= WHOLE[1]:
        return ()
    gone = next(line for line in today.lines if line.ingredient == item)
    added = {part.name: gone.fraction * share / shares for part, share in parts}
    lines = [line for line in today.lines if line is not gone]
    there = {line.ingredient.name for line in lines}
    lines = [Line(x.ingredient, x.fraction + added.get(x.ingredient.name, 0.0), x.phase) for x in lines]
    lines += [Line(part, added[part.name], gone.phase) for part, _ in parts if part.name not in there]
    setting = setting_of(brief)
    fresh = new_warnings(report(Formula("of its parts", tuple(lines)), setting), report(today, setting))
    if any(warning.level != "note" and warning.about not in COUNTED for warning in fresh):
        return ()
    return tuple((name, 100 * share) for name, share in added.items())


def _parts(brief: Brief, item: Ingredient) -> Iterator[tuple[Ingredient, float]]:
    """For each substance of a blend the candidate that is nothing else, with its share of the blend, %."""
    pure = {x.constituents[0].inci: x for x in brief.mix.ingredients if len(x.constituents) == 1 and x != item}
    for part in item.constituents:
        if part.inci in pure:
            yield pure[part.inci], part.share.figure
