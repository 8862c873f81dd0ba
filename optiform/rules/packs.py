"""What a product is filled into, and how much air and light reach its oils there."""

#: Packs in the words of the trade; `clear` where light passes through the wall, else it is opaque.
PACKS = (
    "jar", "tube", "bottle", "pump", "airless pump", "clear jar", "clear tube", "clear bottle", "clear pump",
)  # fmt: skip
CLEAR, JAR, AIRLESS = "clear ", "jar", "airless pump"
#: How far air and light reach the oils: much, as is usual, hardly. The order of chemistry.csv's `exposure`.
OPEN, USUAL, LITTLE = EXPOSURES = ("open", "usual", "airless")


def exposure(pack: str, use: str = "", wet_fingers: bool | None = None) -> str:
    """How far air and light reach the oils of a product in its pack. Common practice, no source.

    Much where the pack is clear, and in a jar whose product stays on the skin, which is opened for months, or that wet
    fingers reach into, which carry water and metals. Hardly in an airless pump. As is usual in any other pack, and
    where none is said.

    Args:
        pack: one of `PACKS`; empty where it is not said.
        use: `leave-on` or `rinse-off`; empty where it is not said.
        wet_fingers: whether wet fingers reach into it; None where it is not said.

    Example:
        >>> exposure("jar", "leave-on"), exposure("jar", "rinse-off"), exposure("jar", "rinse-off", wet_fingers=True)
        ('open', 'usual', 'open')
        >>> exposure("clear bottle"), exposure("airless pump", "leave-on"), exposure("")
        ('open', 'airless', 'usual')

    Source: none: custom of the trade.
    """
    if pack == AIRLESS:
        return LITTLE
    opened = pack == JAR and (use == "leave-on" or wet_fingers is True)
    return OPEN if opened or pack.startswith(CLEAR) else USUAL


def reached(pack: str, wet_fingers: bool | None) -> bool | None:
    """Whether wet fingers reach the product: into a jar where they are said to, and into no other pack.

    Example:
        >>> reached("jar", True), reached("tube", True), reached("", None)
        (True, False, None)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return False if pack and not pack.endswith(JAR) else wet_fingers
