"""The order of what is ranked by a figure: a solver's last digits decide nothing, equal figures go by name."""

DIGITS = 6  # that count; a solver's own rounding is well below the seventh
NOTHING = 9  # decimal places from which on a figure is nothing


def largest_first(figure: float, name: str) -> tuple[float, str]:
    """What to sort by for the largest figure first, and of equal ones the first by name.

    Example:
        >>> shares = {"wax": 0.3, "gum": 0.1 + 0.2, "oil": 9.0}
        >>> sorted(shares, key=lambda name: largest_first(shares[name], name))
        ['oil', 'gum', 'wax']
    """
    return -ranked(figure), name


def ranked(figure: float) -> float:
    """A figure as far as it ranks.

    Example:
        >>> ranked(0.1 + 0.2) == ranked(0.3), ranked(-1e-15), ranked(1234567.8)
        (True, 0.0, 1234570.0)
    """
    return float(f"{round(figure, NOTHING):.{DIGITS}g}") + 0.0
