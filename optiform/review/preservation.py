"""What is known of how a product with water is kept: what its preservatives reach, and what is left to ask.

No statement here says that a product is kept: only a test of the product does.
"""

from collections.abc import Iterable, Iterator

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.properties.acids import acid_of, undissociated
from optiform.properties.base import Mix, fractions
from optiform.properties.partition import in_water
from optiform.properties.registry import find_property
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.review.measures import Setting, measure
from optiform.rules.acidity import WATERY
from optiform.rules.quantities import amount, facts

ORGANISMS = ("gram positive", "gram negative", "yeast", "mould")
#: Oils for which a distribution was measured, for any liquid or solid plant fat: the first that a substance has.
PLANT = ("soya oil", "soybean oil", "vegetable oil", "peanut oil", "corn oil")
MINERAL = ("liquid paraffin", "mineral oil")
SOLVENTS = ("oil", "butter", "ester", "silicone")  #: what a preservative dissolves in
PHS = (4.5, 5.0, 5.5)  #: at which undissociated shares are shown where the brief sets no pH


@frozen
class Reach:
    """How strongly a preservative acts on each of `ORGANISMS`, in words; how sure the ratings are."""

    ingredient: str
    ratings: tuple[str, ...]
    dry: str
    evidence: Evidence


@frozen
class AcidShare:
    """How much of a preservative acid is undissociated at some pH, % of the acid; the law counts all of it."""

    acid: str
    shares: tuple[tuple[float, float], ...]
    evidence: Evidence


@frozen
class Spread:
    """How much of a preservative is in the water once oil has taken its part, in % of the water phase.

    Attributes:
        whole: of it in the product, %.
        water: in the water, %, by Cw = C (q + 1) / (K q + 1) with masses for volumes; nothing bound.
        k: the distribution coefficient that was used, a mean over the oils by mass.
    """

    substance: str
    whole: float
    water: float
    k: float
    evidence: Evidence


@frozen
class Question:
    """A criterion of ISO 29621 as a question, and the figure that there is for it: worked out, or set by the brief."""

    asked: str
    criterion: str
    figure: float | None = None


@frozen
class Keeping:
    """What is known, and the questions of ISO 29621."""

    reaches: tuple[Reach, ...]
    acids: tuple[AcidShare, ...]
    spreads: tuple[Spread, ...]
    questions: tuple[Question, ...]

    @property
    def weak_on(self) -> tuple[str, ...]:
        """The organisms on which none of the preservatives acts more than weakly."""
        rated = [reach.ratings for reach in self.reaches]
        return tuple(
            name for place, name in enumerate(ORGANISMS) if rated and all(row[place] in ("weak", "") for row in rated)
        )


def keeping(formula: Formula, setting: Setting) -> Keeping | None:
    """How a formula with water is kept, as far as known; None for one without.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> toner = mixed({"water": 99, "sodium benzoate": 1})
        >>> keeping(toner, Setting(ph=5.0)).acids[0].shares[0][1].__round__(1)
        13.7
    """
    used = {line.ingredient: formula.fraction(line.ingredient.name) for line in formula.lines if line.fraction > 0}
    water = sum(share * amount(item, "water") for item, share in used.items())
    if water < WATERY:
        return None
    return Keeping(
        reaches=tuple(_reaches(used)),
        acids=tuple(_acids(used, (setting.ph,) if setting.ph is not None else PHS)),
        spreads=tuple(_spreads(used, water)),
        questions=tuple(_questions(formula, setting)),
    )


def _reaches(used: Iterable[Ingredient]) -> Iterator[Reach]:
    for item in used:
        rows = [row for row, _ in facts(item, "preservation")] if item.has("preservative") else []
        for row in rows[:1]:
            ratings = tuple(row[name] for name in ORGANISMS)
            yield Reach(item.name, ratings, row["anhydrous with wet fingers"], Evidence(row["evidence"]))


def _acids(used: Iterable[Ingredient], phs: Iterable[float]) -> Iterator[AcidShare]:
    parts = (part.inci for item in used if item.has("preservative") for part in item.constituents)
    acids = dict.fromkeys(acid for acid in map(acid_of, parts) if acid)
    for acid in acids:
        shares = tuple((ph, 100 * undissociated(ph, acid.pka)) for ph in phs)
        yield AcidShare(acid.name, shares, acid.evidence)


# -- between oil and water ---------------------------------------------------------------------------------------------


def _spreads(used: dict[Ingredient, float], water: float) -> Iterator[Spread]:
    oils = {item: share for item, share in used.items() if item.functions[0] in SOLVENTS}
    whole: dict[str, float] = {}
    for item, share in used.items():
        for part in item.constituents:
            whole[part.inci.casefold()] = whole.get(part.inci.casefold(), 0.0) + share * part.share.figure
    for name in dict.fromkeys(row["preservative"] for row in shipped("partition")):
        mean = _mean_k(name, oils)
        if whole.get(name.casefold()) and mean is not None:
            k, evidence = mean
            q = sum(oils.values()) / water
            content = whole[name.casefold()] / (water + sum(oils.values()))
            yield Spread(name, whole[name.casefold()], in_water(content, k, q), k, evidence)


def _mean_k(name: str, oils: dict[Ingredient, float]) -> tuple[float, Evidence] | None:
    """The mean K of a substance over these oils by mass; None where one of them has none that is near."""
    rows = {row["oil"]: row for row in reversed(shipped("partition")) if row["preservative"] == name}
    near = [(_near(item, rows), share) for item, share in oils.items()]
    known = [(row, share) for row, share in near if row]
    if not known or len(known) < len(near):
        return None
    total = sum(share for _, share in known)
    mean = sum(float(row["k"] or row["low"]) * share for row, share in known) / total
    return mean, Evidence.weakest(Evidence(row["evidence"]) for row, _ in known)


def _near(item: Ingredient, rows: dict[str, dict[str, str]]) -> dict[str, str] | None:
    if item.name in rows:
        return rows[item.name]
    plant = item.functions[0] in ("oil", "butter") and "plant" in item.origin
    names = PLANT if plant else MINERAL if item.name in ("mineral oil", "petrolatum", "paraffin wax") else ()
    return next((rows[name] for name in names if name in rows), None)


# -- questions ---------------------------------------------------------------------------------------------------------


def _questions(formula: Formula, setting: Setting) -> Iterator[Question]:
    activity = measure(find_property("water activity", setting.currency), Mix.of(formula), fractions(formula))
    figures = {"water activity": activity.value, "pH low": setting.ph, "pH high": setting.ph}
    for row in shipped("iso29621"):
        yield Question(row["question"], row["criterion"], figures.get(row["criterion"]))
