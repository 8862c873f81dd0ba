"""How thick liquid oils are, one against another: viscosity by their fatty acids, or as somebody measured it.

Triglycerides: ln(eta / mPa s) = A + B / (T - C), T in K, with A = (A1 - A2) / (1 + exp((N - A3) / A4)) + A2 + A5 D,
C = C1 + C2 N + C3 D, N carbon atoms and D double bonds of the three acids (J. Rabelo et al., Viscosity prediction for
fatty systems, J Am Oil Chem Soc 77 (2000) 1255; form and constants read in public code that quotes it, source
F-RABELO of ingredient_db). An oil counts as the triglyceride with its mean acids. Ricinoleic acid, whose hydroxyl group
thickens castor oil tenfold, wax esters and what is no triglyceride are outside of it.

It reads an eighth low, of most oils alike: so it serves to compare two of them, and for no more. Of 49 pairs of oils
that were each measured in one laboratory 43 lie within a factor 1.25 of the ratio it gives, and 47 within 1.3
(tests/published/test_viscosity.py). Oils mix by the logarithm of their viscosity (Arrhenius; the rule by which
P. Benjumea et al., Fuel 87 (2008) 2069, mix fuels of palm oil).
"""

from collections.abc import Mapping, Sequence
from math import exp, fsum, log

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.oil_phase import fatty_acid_constants
from optiform.reading.frozen import frozen

ROOM = 25.0  # degC: where oils are compared, if their figures allow it
HELD = (
    1.3  #: to which factor a ratio holds, nine times in ten at least, between oils worked out and against one measured
)
REPEATED = 1.15  #: the same of two figures of one maker's own. Assumed.
KELVIN = 273.15
A1, A2, A3, A4, A5 = -4.01, -2.954, 28.9, 6.5, -0.0033
B1, C1, C2, C3 = 1156.0, 99.1, 0.851, -3.65

Parts = Sequence[tuple[Ingredient, float]]  #: liquids and their shares, in any one unit


@frozen
class Thickness:
    """How many times as thick one liquid is as another, at a temperature in degC, and what that could be.

    `how`: the weakest of what it rests on; derived where it was worked out from the fatty acids of both.
    """

    times: float
    low: float
    high: float
    at: float
    how: Evidence


def triglyceride_viscosity(carbons: float, bonds: float, at: float) -> float:
    """Viscosity of a liquid triglyceride, mPa s, by the formula of this module.

    Args:
        carbons: carbon atoms of its three acids together, some 24 to 66.
        bonds: double bonds of its three acids together.
        at: degC, above its melting point.

    Example:
        >>> round(triglyceride_viscosity(54, 3, 40.0), 1)  # triolein
        32.2
        >>> acids = {"C8:0": 60, "C10:0": 40}  # of which a pharmacopoeia wants 25 to 33 at 20 degC: it reads low
        >>> round(triglyceride_viscosity(*mean_acids(acids), 20.0), 1)
        23.0

    Source: Ph. Eur. 0868, medium-chain triglycerides at 20 degC: 25 to 33 mPa s. It holds to a factor 1.3, so 19 to 43.
    """
    a = (A1 - A2) / (1 + exp((carbons - A3) / A4)) + A2 + A5 * bonds
    return exp(a + B1 / (at + KELVIN - C1 - C2 * carbons - C3 * bonds))


def mean_acids(acids: Mapping[str, float]) -> tuple[float, float]:
    """Carbon atoms and double bonds of a mean triglyceride, from % of its fatty acids by mass.

    Example:
        >>> carbons, bonds = mean_acids({"C18:1": 75, "C16:0": 25})
        >>> round(carbons, 1), round(bonds, 2)
        (52.4, 2.19)
        >>> [round(count, 6) for count in mean_acids({"C18:1": 100})]
        [54.0, 3.0]

    Source: triolein has three acids of 18 carbon atoms and one double bond each, by any textbook: 54 and 3.
    """
    constants = fatty_acid_constants()
    moles = {acid: share / constants[acid].molar_mass for acid, share in acids.items()}
    whole = fsum(moles.values())
    carbons = fsum(mole * int(acid[1:].partition(":")[0]) for acid, mole in moles.items())
    bonds = fsum(mole * constants[acid].double_bonds for acid, mole in moles.items())
    return 3 * carbons / whole, 3 * bonds / whole


def worked_out(item: Ingredient, at: float) -> float | None:
    """Viscosity of an oil by its fatty acids, mPa s at degC; None where they are not known, or outside the formula.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> oils = read_catalogue().ingredients
        >>> round(worked_out(oils["grapeseed oil"], 25.0)), round(worked_out(oils["olive oil"], 25.0))
        (43, 58)
        >>> round(worked_out(oils["rice bran oil"], 38.0), 1)  # J Food Process 2014, 234583: 39.8; it reads low
        30.9
        >>> worked_out(oils["castor oil"], 25.0), worked_out(oils["jojoba oil"], 25.0)
        (None, None)

    Source: J Food Process 2014, 234583, rice bran oil at 38 degC: 39.8 mPa s. It holds to a factor 1.3, so 30.6 to
        51.7.
    """
    acids = {acid: value.figure for acid, value in item.fatty_acids.items()}
    if not acids or any(acid.endswith("-OH") and share > 1 for acid, share in acids.items()):
        return None
    return triglyceride_viscosity(*mean_acids(acids), at)


def compared(new: Parts, old: Parts) -> Thickness | tuple[str, ...]:
    """How many times as thick one mix of liquids is as another; else the names of those of which it is not known.

    It is told at 25 degC where every part has a figure there, else at the nearest temperature where all have one. A
    figure of the maker's own goes before the fatty acids, these before a figure of the tables, so that two oils are
    judged by one formula wherever they can be.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> oils = read_catalogue().ingredients
        >>> thickness = compared([(oils["grapeseed oil"], 9.0)], [(oils["sweet almond oil"], 9.0)])
        >>> round(thickness.times, 2), thickness.at
        (0.78, 25.0)
        >>> sesame = [(oils["sesame oil"], 1.0)]  # Goering 1982 at 40 degC: 41.2 over 35.5 mm2/s, 1.16
        >>> round(compared([(oils["safflower oil, high oleic"], 1.0)], sesame).times, 2)
        1.13
        >>> compared([(oils["jojoba oil"], 9.0)], [(oils["sweet almond oil"], 9.0)])
        ('jojoba oil',)

    Source: Goering 1982 as compiled in fgregg/fgregg.github.io, at 40 degC: 41.2 over 35.5 mm2/s, 1.16. It holds to a
        factor 1.3, so 0.89 to 1.51.
    """
    items = [item for item, _ in (*new, *old)]
    places = sorted({ROOM, *(at for item in items for at, _ in item.curve("viscosity"))}, key=lambda at: abs(at - ROOM))
    for at in places:
        figures = {item.name: figure for item in items if (figure := _figure(item, at))}
        if len(figures) == len({item.name for item in items}):
            times = exp(_mixed(new, figures) - _mixed(old, figures))
            factor, how = _held(list(figures.values()))
            return Thickness(times, times / factor, times * factor, at, how)
    unknown = [item.name for item in items if worked_out(item, ROOM) is None and not item.curve("viscosity")]
    return tuple(dict.fromkeys(unknown or [item.name for item in items if worked_out(item, ROOM) is None]))


def _figure(item: Ingredient, at: float) -> tuple[float, Evidence] | None:
    """Its viscosity at a temperature, mPa s, and how it is known."""
    stated = item.value("viscosity", at)
    if stated is not None and stated.evidence is Evidence.OWN:
        return _stated(stated)
    figure = worked_out(item, at)
    if figure is not None:
        return figure, Evidence.DERIVED
    return _stated(stated) if stated is not None else None


def _stated(value: Value) -> tuple[float, Evidence]:
    return value.figure, value.evidence


def _mixed(parts: Parts, figures: Mapping[str, tuple[float, Evidence]]) -> float:
    """The logarithm of the viscosity of a mix."""
    whole = fsum(share for _, share in parts)
    return fsum(share / whole * log(figures[item.name][0]) for item, share in parts)


def _held(figures: Sequence[tuple[float, Evidence]]) -> tuple[float, Evidence]:
    """To which factor a ratio of these holds, and how sure it is."""
    kinds = {how for _, how in figures}
    return REPEATED if kinds == {Evidence.OWN} else HELD, Evidence.weakest(kinds)
