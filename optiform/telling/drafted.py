"""The words of what a label, or a draft of one, leaves open: one function for each kind of fact."""

from optiform.label import facts
from optiform.label.net_content import NetContent
from optiform.label.order import Entry
from optiform.review.answer import RuleCheck
from optiform.telling.measured import SURE
from optiform.telling.warned import stated_for
from optiform.telling.words import in_words

# -- to settle before anything is printed ------------------------------------------------------------------------------


@in_words.register
def _allergens_unknown(fact: facts.AllergensUnknown) -> str:
    due = " Until then this list may lack names that have to stand in it." if fact.may_lack else ""
    return (
        f"The allergens of {fact.ingredient} are not known: get its supplier's list and enter it in your own table, "
        f"one column for each, for instance 'allergen limonene (%)'.{due}"
    )


@in_words.register
def _prohibited_elsewhere(fact: facts.ProhibitedElsewhere) -> str:
    where = f"is prohibited in the EU ({fact.reference}); no US rule is known here."
    return f"{fact.name}, in {', '.join(fact.carriers)}, {where}"


@in_words.register
def _colour_unknown(fact: facts.ColourUnknown) -> str:
    return f"{fact.ingredient} is bought as a colourant, but the tables know no listing of {fact.inci}."


@in_words.register
def _colour_not_listed(fact: facts.ColourNotListed) -> str:
    where = f"{fact.reference or 'no section known'}, {SURE[fact.evidence]}"
    return f"{fact.name}: not listed as a colour additive for this area in the US ({where})."


@in_words.register
def _colour_to_certify(fact: facts.ColourToCertify) -> str:
    return f"{fact.name}: must come from a batch that the FDA has certified ({SURE[fact.evidence]})."


@in_words.register
def _colour_unclear(fact: facts.ColourUnclear) -> str:
    return f"The CI number of {fact.inci} is not clear: {fact.note}."


# -- for a person to decide --------------------------------------------------------------------------------------------


@in_words.register
def _open_order(fact: facts.OpenOrder) -> str:
    overlap = "the ranges of their shares overlap, so the order needs the figures of your lots."
    return f"{_span(fact.before)} stands before {_span(fact.after)}: {overlap}"


@in_words.register
def _open_side(fact: facts.OpenSide) -> str:
    return f"{_span(fact.entry)} may lie on either side of the 1 % line."


def _span(entry: Entry) -> str:
    ends = f", {entry.least:.3g} to {entry.most:.3g}" if entry.ranged else ""
    return f"{entry.name} ({entry.percent:.3g} %{ends})"


@in_words.register
def _taken_as_complete(fact: facts.TakenAsComplete) -> str:
    return (
        f"The list entered for {', '.join(fact.ingredients)} counts as complete: what it does not name counts as "
        "absent. Compare it with the supplier's for this lot."
    )


@in_words.register
def _renamed(fact: facts.Renamed) -> str:
    names = "; ".join(f"{name} stands as {entry}, the name of its entry" for name, entry in fact.names)
    return f"{names}: whether its own name has to stand there too is for the assessor to say."


@in_words.register
def _minor(fact: facts.Minor) -> str:
    return (
        f"Brought in beside the main constituent only, below {fact.below:g} %: {', '.join(fact.names)}. "
        "An impurity or a residue without effect need not stand in the list."
    )


@in_words.register
def _upper_end_only(fact: facts.UpperEndOnly) -> str:
    why = "the upper end of its range is above the threshold; the lower end is not"
    return f"{fact.name} is named because {why}."


@in_words.register
def _in_long_list(fact: facts.InLongList) -> str:
    return f"In the EU's long list, not in the list taken here: {', '.join(fact.names)}."


# -- what the ranges of a label go by ----------------------------------------------------------------------------------


@in_words.register
def _usual_left_aside(_: facts.UsualLeftAside) -> str:
    return "With the usual maxima of the catalogue no composition fits: they were left aside."


@in_words.register
def _centre_of(fact: facts.CentreOf) -> str:
    if not fact.kind:
        return "The centre goes by no kind of product, as no name tells one. Name the kind with --kind."
    usual = f"The centre goes by what is usual in the kind that fits the list best, {fact.kind}."
    return f"{usual} If it is another, name it with --kind."


@in_words.register
def _marker(fact: facts.Marker) -> str:
    return f"From {fact.name} on, each name has at most 1 % of the jar, because of this: {fact.cap}."


@in_words.register
def _open_line(fact: facts.OpenLine) -> str:
    first, last = (f"after {name}" if name else "before the first name" for name in (fact.earliest, fact.latest))
    where = first if first == last else f"{first} at the earliest, {last} at the latest"
    return f"Where the 1 % line stands is not known: {where}. The ranges cover every place."


@in_words.register
def _looks_like(fact: facts.LooksLike) -> str:
    return f"{fact.name} is not known here; if {fact.near} is meant, its legal limit was not counted."


@in_words.register
def _colours_last(fact: facts.ColoursLast) -> str:
    names = ", ".join(fact.names)
    return f"{names}: a colourant at the end may have any amount. A cap for it (--cap) narrows all ranges."


@in_words.register
def _declared_forbidden(fact: facts.DeclaredForbidden) -> str:
    return f"{fact.name} is declared, but not allowed ({fact.market}, {fact.reference}). It is not counted as a cap."


# -- rules of the market -----------------------------------------------------------------------------------------------


def due(rule: RuleCheck) -> str:
    """The words that a rule asks for on the label at this content."""
    words = f'"{rule.words}"' if rule.words else "a statement, whose words were not read"
    where = f"{rule.market}, {rule.reference}, {SURE[rule.evidence]}"
    return f"{words}: {stated_for(rule)} ({where})"


def statement(rule: RuleCheck) -> str:
    """What a rule says beside its figure."""
    return f"{rule.group} ({rule.market}, {rule.reference}, {SURE[rule.evidence]}): {rule.note}"


def content_note(net: NetContent) -> str:
    """What the market asks of the content of packs."""
    if net.ounces is not None:
        return (
            "The mean of a lot must not be below the label; the variation of single packs is that of NIST Handbook "
            "133, which the tables hold from memory only and do not apply."
        )
    if net.tolerance is None:
        return "Below 5 g or 5 mL no content is needed, and the table of tolerable errors does not reach there."
    return (
        "On average the packs of a lot must hold what the label says. About 2.5 % of them may hold less than T1, none "
        "less than T2."
    )
