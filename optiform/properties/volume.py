"""How much room a formula takes: its density without air."""

import numpy as np

from optiform.properties.base import Mix, Ratio, Terms


def density() -> Ratio:
    """Density without air, g/mL: sum(x_i) / sum(x_i / rho_i), rho_i of each ingredient nearest to 20 degC.

    Volumes are taken to add up, and grains to stay what they are: dissolved ones take a few per cent less room. What is
    whipped or stirred holds air besides.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"sugar, granulated": 60, "sunflower oil": 40})
        >>> round(density().of(scrub), 2)
        1.23
        >>> round(density().of(mixed({"sunflower oil": 1})), 4)
        0.9178

    Source: Codex CXS 210, sunflower oil as amended in 2022 (FR-CXS210-2022): relative density 0.916 to 0.923, so 0.9144
        to 0.9213 g/mL; crystals of sucrose 1.5805 (FR-CHEM-CRC), by hand 1.226 for the two.
    """
    return Ratio("density", "g/mL", "volume", _density, "without air")


def _density(mix: Mix) -> Terms:
    densities = [item.density for item in mix.ingredients]
    one = np.ones(len(densities))
    volumes = np.array([1.0 / value.figure if value else 0.0 for value in densities])
    known = Terms.known(densities, one)
    return Terms(one, volumes, one, one, known.missing, known.evidence)
