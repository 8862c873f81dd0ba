"""Why a candidate cannot be used, in words: one function for each kind of reason."""

from optiform.brief.leftout import NoFigure, Out, Unconfirmed
from optiform.ingredients.ingredient import Evidence
from optiform.reading.units import with_article
from optiform.rules.claims import CLAIMS, Against
from optiform.rules.forms import Rule
from optiform.rules.kinds import Exclusion
from optiform.rules.positive import ByLaw, Listed, Listing, Standing
from optiform.telling.figures import listed
from optiform.telling.words import in_words

AT = " degC"  # ends a property at a temperature
OUT = {Out.EXCLUDED: "excluded by the brief", Out.OUT_OF_STOCK: "out of stock"}
#: How names stand with a list; {0}: the names, {1}: the day, use, area or purposes that it is about.
LISTED = {
    Listed.LATER: "{0}: listed from {1} on",
    Listed.STRUCK: "{0}: listed until {1}",
    Listed.OTHER_USE: "{0}: listed for {1} products only",
    Listed.OTHER_AREA: "{0}: not listed for {1}",
    Listed.NOT: "none of {0} stands there",
    Listed.UNKNOWN_NAME: "{0} is not known here, so it may stand there under another name",
    Listed.OTHER_PURPOSE: "none of {0} stands there, but it may have another lawful purpose: {1}",
    Listed.BOUGHT_AS: "none of {0} stands there, but it is bought first as a {1}",
    Listed.ORDINARY: "none of {0} stands there, but all of it is used for other purposes too",
    Listed.ONLY_PURPOSE: "{0}: no purpose but that is known",
    Listed.DRUG: "a UV filter makes a drug of the product, unless it protects the product only and that is said",
    Listed.OTHER_COLOUR_AREA: "{0}: not listed as a colour additive for this area",
    Listed.SOME_PRODUCTS: "{0}: listed as a colour additive for some products of this area only ({1})",
    Listed.CERTIFIED: "{0}: listed as {1}, from batches that the FDA has certified, which then bear that name",
}


@in_words.register
def _out(why: Out) -> str:
    return OUT[why]


@in_words.register
def _no_figure(why: NoFigure) -> str:
    """One property at several temperatures is said once, with all of them."""
    temperatures: dict[str, list[str]] = {}
    for name in why.wanted:
        of, _, at = name.removesuffix(AT).rpartition(" at ") if name.endswith(AT) else (name, "", "")
        temperatures.setdefault(of, []).append(at)
    said = (f"{of} at {listed(at)}{AT}" if all(at) else of for of, at in temperatures.items())
    return f"no figure for {', '.join(said)}"


@in_words.register
def _unconfirmed(why: Unconfirmed) -> str:
    return f"the law has a condition on it, and no supplier statement is known of its {listed(why.papers)}"


@in_words.register
def _against(why: Against) -> str:
    if not why.known:
        return f"not known to be {why.claim}: no {'origin' if CLAIMS[why.claim].by_origin else 'declaration'} given"
    return f"has ethoxylates ({', '.join(why.names)})" if why.names else f"not {why.claim}"


@in_words.register
def _exclusion(why: Exclusion) -> str:
    """The reason as a person would say it, with how well it is known."""
    how = "common practice, no source" if why.evidence is Evidence.PRACTICE else str(why.evidence)
    return f"{with_article(why.kind)} is {why.reason} ({how})"


@in_words.register
def _rule(why: Rule) -> str:
    """As a limit is named, with what a brief overrules it by."""
    return f"{why.title} ({why.id})"


@in_words.register
def _by_law(why: ByLaw) -> str:
    return "; ".join(map(_stands, why.standings))


def _stands(point: Standing) -> str:
    allowed = "not allowed" if point.allowed is False else "not known whether it is allowed"
    return f"{allowed} as a {point.use} ({point.market}, {point.reference}): {in_words(point.why)}"


@in_words.register
def _listing(why: Listing) -> str:
    covered = why.how in (Listed.LATER, Listed.STRUCK, Listed.OTHER_USE, Listed.OTHER_AREA)
    return LISTED[why.how].format((" and " if covered else ", ").join(why.names), why.detail)
