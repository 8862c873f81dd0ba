"""How much room a formula takes: its density without air."""

import numpy as np

from optiform.properties.base import Mix, Ratio, Terms


def density() -> Ratio:
    """Density without air, g/mL: sum(x_i) / sum(x_i / rho_i), rho_i of each ingredient nearest to 20 degC.

    Volumes are taken to add up, and grains to stay what they are: dissolved ones take a few per cent less room. What is
    whipped or stirred holds air besides.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"sugar, granulated": 60, "sunflower oil": 40})  # check value 1.230 g/mL
        >>> round(density().of(scrub), 2)
        1.23
    """
    return Ratio("density", "g/mL", "volume", _density, "without air")


def _density(mix: Mix) -> Terms:
    densities = [item.density for item in mix.ingredients]
    one = np.ones(len(densities))
    volumes = np.array([1.0 / value.figure if value else 0.0 for value in densities])
    known = Terms.known(densities, one)
    return Terms(one, volumes, one, one, known.missing, known.evidence)
