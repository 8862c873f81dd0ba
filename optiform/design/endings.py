"""Why a ladder of cheaper options ends where it does."""

from collections.abc import Mapping

from optiform.design.facts import Fact, LittleToSave, Undecided


def ending(
    climbed: bool, least_saving: float, currency: str, undecided: Mapping[int, str]
) -> Fact | LittleToSave | Undecided:
    """Why it ends where it does; `undecided`: by number of lines, why it is not known."""
    if undecided:
        return Undecided(tuple(undecided), tuple(dict.fromkeys(undecided.values())))
    if not climbed:
        return Fact.NOTHING_CHEAPER
    return LittleToSave(least_saving, currency) if least_saving > 0 else Fact.NO_MORE_TO_SAVE
