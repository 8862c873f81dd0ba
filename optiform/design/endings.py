"""Why a ladder of cheaper options ends where it does, in words."""

from collections.abc import Mapping


def too_small(most_change: float) -> str:
    """That no move of this size, mass fraction, keeps the limits."""
    how = f"by a step of the scale or more, and by {100 * most_change:g} % at most"
    return f"no formula keeps these limits where each line that changes moves {how}"


def ending(climbed: bool, least_saving: float, currency: str, undecided: Mapping[int, str]) -> str:
    """Why it ends where it does; `undecided`: by number of lines, why it is not known."""
    if undecided:
        lines = ", ".join(map(str, undecided))
        why = "; ".join(dict.fromkeys(undecided.values()))
        return f"not decided whether there is more to save with this many lines changed: {lines} ({why})"
    if not climbed:
        return "nothing on the shelf makes it cheaper in these limits"
    if least_saving > 0:
        return f"all further lines together save less than {least_saving:g} {currency}/kg"
    return "no further line saves anything"
