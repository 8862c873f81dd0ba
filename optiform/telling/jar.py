"""What a jar holds, told."""

from collections.abc import Iterator

from optiform.batch.jar import JarContent
from optiform.telling.parts import Sentence


def holds(jar: JarContent) -> Iterator[Sentence]:
    """What a jar of its volume holds: by the maker's cup first, else without air and with the air of its kind."""
    if jar.by_cup is not None:
        air = "" if jar.overrun is None else f", {jar.overrun:.0f} % air on top of what it is without"
        yield Sentence(f"{jar.volume:g} mL hold {jar.by_cup:.0f} g by your own cup ({jar.cup:g} g in 100 mL{air}).")
        return
    if jar.without_air is None:
        yield Sentence(f"What {jar.volume:g} mL hold is not known: the density of a line lacks.")
    else:
        dense = f"{jar.density:.3f} g/mL, worked out"
        yield Sentence(f"{jar.volume:g} mL hold {jar.without_air:.0f} g without air ({dense}).")
    for row in jar.airy:
        low, typical, high = (jar.volume * figure for figure in (row.low, row.typical, row.high))
        yield Sentence(
            f"{row.state.capitalize()}, they usually hold {typical:.0f} g ({low:.0f} to {high:.0f}; common practice, "
            "no source). Weigh a level cup of 100 mL of yours: cup in the file goes before this."
        )
