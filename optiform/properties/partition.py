"""How a preservative spreads between oil and water, and what of it surfactant binds."""


def in_water(content: float, k: float, q: float, r: float = 1.0) -> float:
    """Free concentration in the water of an emulsion: Cw = C (q + 1) / (K q + R).

    Valid at equilibrium, below the solubility in both phases, for a substance that is one species. A K below 1 leaves
    more in the water as oil rises, a K above 1 less. J Soc Cosmet Chem 16 (1965) 18; with binding, 23 (1972) 714.

    Args:
        content: C, of the substance in the whole emulsion, in any unit; the result has the same.
        k: K, concentration in the oil over that in the water.
        q: volume of oil over volume of water.
        r: R, whole over free concentration in the water, 1 + c S with S of surfactant; 1 without binding.

    Raises:
        ValueError: K or q below 0, or R below 1.

    Example:
        >>> [round(in_water(0.4, 0.067, q), 3) for q in (0.2, 1, 2.5, 5, 10)]  # phenol in liquid paraffin, Table I
        [0.474, 0.75, 1.199, 1.798, 2.635]
        >>> round(in_water(0.2, 7.5, 0.25, 4.545), 3)  # methylparaben in soya oil, bound by surfactant
        0.039

    Source: J Soc Cosmet Chem 16 (1965) 18, Table I (CH-S01): 0.474, 0.750, 1.199, 1.799 and 2.636; 23 (1972) 714
        (CH-S02): 0.039.
    """
    if k < 0 or q < 0 or r < 1:
        raise ValueError("K and q are at least 0, R is at least 1")
    return content * (q + 1) / (k * q + r)
