"""How a product with water is kept, told: what reaches what, how much of it works, and what is left to ask."""

from collections.abc import Iterator

from optiform.ingredients.formula import Formula
from optiform.review.measures import Setting
from optiform.review.preservation import ORGANISMS, AcidShare, Keeping, Question, Spread, keeping
from optiform.telling.figures import listed
from optiform.telling.measured import SURE
from optiform.telling.parts import Cell, Column, Part, Section, Sentence, Table

NO_PROOF = "None of this shows that the product is protected: a challenge test of the finished product does."
ASKED = "A yes to one of these means a low risk of microbes (ISO 29621, read second-hand)."


def preservation(formula: Formula, setting: Setting) -> Section:
    """What is known of how a formula is kept; no parts for one without water."""
    kept = keeping(formula, setting)
    parts = tuple(_parts(kept)) if kept else ()
    return Section("preservation", "Preservation", parts, short=False)


def _parts(kept: Keeping) -> Iterator[Part]:
    if kept.reaches:
        columns = Column("preservative"), *map(Column, ORGANISMS), Column("dry jar, wet fingers"), Column("how sure")
        rows = tuple((x.ingredient, *x.ratings, x.dry, SURE[x.evidence]) for x in kept.reaches)
        yield Table(columns, rows, "how strongly it acts, where it works at all")
    if kept.weak_on:
        yield Sentence(f"Weak on {listed(kept.weak_on)}, as far as the ratings go.")
    if kept.acids:
        yield _acids(kept.acids)
    if kept.spreads:
        yield _spreads(kept.spreads)
    yield Table((Column("ISO 29621 asks"), Column("this formula")), tuple((x.asked, _known(x)) for x in kept.questions))
    yield Sentence(ASKED)
    yield Sentence(NO_PROOF)


def _known(question: Question) -> str:
    """What the formula, or the brief, says of a criterion."""
    figure = question.figure
    match question.criterion:
        case "water activity":
            return "not known" if figure is None else f"worked out as {figure:.2f}: measure it"
        case "pH low" | "pH high":
            return "measure it" if figure is None else f"the brief sets {figure:g}: measure it"
    return "no, it holds water" if question.criterion == "anhydrous" else "yours to say"


def _acids(acids: tuple[AcidShare, ...]) -> Table:
    phs = [ph for ph, _ in acids[0].shares]
    columns = Column("acid"), *(Column(f"pH {ph:g}", "", 1) for ph in phs), Column("how sure")
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (x.acid, *(share for _, share in x.shares), SURE[x.evidence]) for x in acids
    )
    return Table(columns, rows, "undissociated, the part that works, in % of the acid")


def _spreads(spreads: tuple[Spread, ...]) -> Table:
    columns = (
        Column("substance"), Column("% of the jar", "", 3), Column("% of its water", "", 3),
        Column("oil to water"), Column("how sure"),
    )  # fmt: skip
    rows = tuple((x.substance, x.whole, x.water, x.k, SURE[x.evidence]) for x in spreads)
    return Table(columns, rows, "what oil leaves in the water; what surfactants bind comes off that")
