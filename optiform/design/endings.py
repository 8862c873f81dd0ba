"""Why a ladder of cheaper options ends where it does."""

from collections.abc import Mapping

from optiform.design.facts import Fact, LittleToSave, Undecided


def ending(climbed: bool, little: LittleToSave | None, undecided: Mapping[int, str]) -> Fact | LittleToSave | Undecided:
    """Why it ends where it does.

    Args:
        climbed: whether there is an option.
        little: what further lines save less than; None where they save nothing.
        undecided: by number of lines, why it is not known.
    """
    if undecided:
        return Undecided(tuple(undecided), tuple(dict.fromkeys(undecided.values())))
    return little or (Fact.NO_MORE_TO_SAVE if climbed else Fact.NOTHING_CHEAPER)
