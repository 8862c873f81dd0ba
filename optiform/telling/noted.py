"""The words of what answers say beside their figures: one function for each kind of fact."""

from optiform.design import facts
from optiform.design.facts import Fact
from optiform.design.price_moves import PriceUncertainty
from optiform.ingredients.ingredient import Evidence, Value
from optiform.program.chance import Chance
from optiform.program.robust import wrong
from optiform.program.usual import Eased
from optiform.telling.measured import SURE, demanded
from optiform.telling.words import in_words

STILL = "the lines that stay here: preservatives, scents, humectants and, without --free-emulsifier, emulsifiers"
WORDS = {
    Fact.HELD_AS_BEST: "limits that bend were held as they are at the best formula, so this holds near it",
    Fact.ONE_WAY: "a limit or a rule can be kept in more than one way; this is for the one that the best formula keeps",
    Fact.NOT_PROVEN: "limits that bend were tried from several starts, which is no proof that nothing fits",
    Fact.NO_CANDIDATE: "no candidate of the brief",
    Fact.NO_FORMULA: "no formula meets these limits",
    Fact.NOTHING_CHEAPER: "nothing on the shelf makes it cheaper in these limits",
    Fact.NO_MORE_TO_SAVE: "no further line saves anything",
    Fact.NEAR_GRAMS: "Limits that bend are met; that nothing is better is proven only near this formula.",
    Fact.WAY_EMPTY: "one way to keep the limits has no formula at all",
    Fact.WAY_NO_WORSE: "another way to keep the limits is no worse",
    Fact.NO_STEPS: "no formula in whole steps meets law, advice and the number of ingredients that is asked for",
    Fact.NO_GRAMS: "no formula meets every limit in whole steps with the ingredients that may be used",
    Fact.ONE_UP_ONE_DOWN: "one line up, another down by the same amount",
    Fact.NEAREST: "no two lines alone reach it; the nearest formula that does",
    Fact.NEAREST_EVEN: "the nearest formula that keeps cold and hot",
    Fact.TWO_SEASONS: "no one formula serves cold and hot: a winter and a summer version",
    Fact.LINES_STAY: STILL,
    Fact.NOT_AMONG_CANDIDATES: "not among the candidates",
    Fact.OTHER_GRAIN: "another grain",
    Fact.HARSHER: "harsher surfactant",
    Fact.OTHER_FUNCTION: "another function",
    Fact.HOLDS_NO_GRAINS: "does not hold grains up",
    Fact.NOT_IN_OPTION: "not in this option",
}


@in_words.register
def _fact(fact: Fact) -> str:
    return WORDS[fact]


# -- why there is no formula, or none better ---------------------------------------------------------------------------


@in_words.register
def _too_few(fact: facts.TooFew) -> str:
    asked = f"at most {fact.most} ingredients are asked for"
    return f"{asked}, and the rest of the brief needs at least {fact.least}"


@in_words.register
def _not_among_best(fact: facts.NotAmongBest) -> str:
    return f"not among the best {fact.most}"


@in_words.register
def _other_kin(fact: facts.OtherKin) -> str:
    return f"{fact.kin or 'of another kind'}; {fact.gone} is {fact.gone_kin}"


@in_words.register
def _no_value(fact: facts.NoValue) -> str:
    return f"{fact.goal} has no value for the formula that was found; ask for some of what it is a mean of"


@in_words.register
def _nothing_fits(fact: facts.NothingFits) -> str:
    return f"nothing fits, whatever is asked of {fact.limit}"


@in_words.register
def _nothing_between(fact: facts.NothingBetween) -> str:
    way = {"low": "at least", "high": "at most", "exactly": "exactly"}[fact.way]
    return f"nothing fits with {fact.limit} {way} {fact.start:g} to {fact.end:g} {fact.unit}".rstrip()


@in_words.register
def _none_guarded(fact: facts.NoneGuarded) -> str:
    return f"typical figures allow one, but with {against(fact.budget)} nothing fits"


def against(budget: int | Chance | None) -> str:
    """What a formula is protected against."""
    return f"lots as they vary: {budget}" if isinstance(budget, Chance) else wrong(budget)


@in_words.register
def _undecided(fact: facts.Undecided) -> str:
    lines = ", ".join(map(str, fact.lines))
    more = "not decided whether there is more to save with this many lines changed"
    return f"{more}: {lines} ({'; '.join(fact.why)})"


@in_words.register
def _little_to_save(fact: facts.LittleToSave) -> str:
    lines = "more changed lines" if fact.more else "changed lines"
    each = f"{lines} save less than {fact.saving:.3g} {fact.currency}/kg each"
    left = "of today's cost, and are left out: --saving sets another least"
    return each if fact.share is None else f"{each}, {100 * fact.share:g} % {left}"


@in_words.register
def _moves_too_small(fact: facts.MovesTooSmall) -> str:
    how = f"by a step of the scale or more, and by {fact.percent:g} % at most"
    return f"no formula meets these limits if each line that changes moves {how}"


@in_words.register
def _not_decided(fact: facts.NotDecided) -> str:
    return f"not decided whether a formula reaches it: {fact.why}"


@in_words.register
def _out_of_reach(fact: facts.OutOfReach) -> str:
    clash = "; ".join(in_words(x) if isinstance(x, Fact) else demanded(x) for x in fact.in_the_way)
    way = f"; in the way: {clash}" if clash else ""
    extreme = "softest" if fact.softest else "firmest"
    reach = f". The {extreme} found within them is {fact.reach:.0f}" if fact.reach is not None else ""
    return f"no formula was found that reaches it{way}{reach}"


# -- what was taken as simpler than it is ------------------------------------------------------------------------------


@in_words.register
def _taken_near(fact: facts.TakenNear) -> str:
    limits = ", ".join(fact.limits)
    return f"{limits} counted as near the answer at typical prices: formulas far from it may miss it a little"


@in_words.register
def _typical_only(fact: facts.TypicalOnly) -> str:
    return f"{', '.join(fact.limits)} met with typical figures only: the model gives no range"


def price_model(answer: PriceUncertainty) -> str:
    """How the prices were drawn."""
    low, high = (100 * spread for spread in answer.spreads)
    spread = f"{low:g} %" if low == high else f"{low:g} to {high:g} %"
    together = f"; all prices together by {100 * answer.shared:g} %" if answer.shared else ""
    return (
        f"each price varies by itself around its typical one, lognormal with a spread of {spread} (standard "
        f"deviation of its logarithm){together}; seed {answer.seed}"
    )


# -- grams -------------------------------------------------------------------------------------------------------------


@in_words.register
def _not_whole(fact: facts.NotWhole) -> str:
    steps = f"no whole number of steps of {fact.step} g"
    return f"The batch of {fact.batch:g} g is {steps}: {fact.weighed} g are weighed."


@in_words.register
def _least_dose(fact: facts.LeastDose) -> str:
    own = ", unless the brief sets its own least amount" if fact.own else ""
    least = f"{fact.percent:.4g} % of the batch ({fact.grams:.4g} g)"
    return f"Every line in use is at least {least}{own}. With smaller doses another formula may be better."


@in_words.register
def _usual_gave(fact: facts.UsualGave) -> str:
    return f"Unusual with these grams: {'; '.join(map(_end, fact.ends))}."


def _end(end: Eased) -> str:
    """What became of a usual range: `share of butter 9.03 instead of at most 8 % (usual in a cream scrub)`."""
    name = end.demand.name
    return f"{name} {end.reached:.3g} instead of {end.demand.words.removeprefix(name).strip()}"


# -- what is different of what comes in --------------------------------------------------------------------------------

_HOW_SURE = SURE | {Evidence.PRACTICE: "common practice, no source"}


@in_words.register
def _other_window(fact: facts.OtherWindow) -> str:
    return f"pH window: {fact.new} {_window(fact.window)}; {fact.old} {_window(fact.before)}"


def _window(window: Value | None) -> str:
    if window is None:
        return "not known"
    if window.low is None:
        return f"up to {window.high:g}"
    return f"from {window.low:g}" if window.high is None else f"{window.low:g} to {window.high:g}"


@in_words.register
def _other_use(fact: facts.OtherUse) -> str:
    return f"{fact.ingredient}: {fact.changes} ({_HOW_SURE[fact.evidence]})"


@in_words.register
def _oxidising(fact: facts.Oxidising) -> str:
    how = {"faster": "faster", "slower": "more slowly", "alike": "about as fast as today's"}[fact.speed]
    ends = " to ".join(f"{end * fact.oils / 100:.2g}" for end in (fact.low, fact.high))
    has = "it has none" if fact.has is None else f"it has {fact.has:.2g}"
    return (
        f"its oils oxidise {how}: linoleic and twice linolenic acid are {fact.after:.3g} % of the oils, "
        f"today {fact.before:.3g}. Usual against it is {fact.antioxidant}, {fact.low:g} to {fact.high:g} % of the oils "
        f"({_HOW_SURE[fact.evidence]}): here {ends} % of the jar, and {has}"
    )


@in_words.register
def _other_thickness(fact: facts.OtherThickness) -> str:
    of = fact.thickness
    at, ends = f"at {of.at:g} °C", f"could be {of.low:.2g} to {of.high:.2g}"
    how = "worked out from their fatty acids" if of.how is Evidence.DERIVED else _HOW_SURE[of.how]
    if of.low <= 1 <= of.high:
        return f"about as thick as today's oil: {of.times:.2g} times {at}, {ends} ({how}), so it should spread as far"
    thicker, further = ("thicker", "less far") if of.times > 1 else ("thinner", "further")
    said = f"and a {thicker} oil is said to spread {further}"
    return f"{thicker} than today's oil: {of.times:.2g} times {at}, {ends} ({how}), {said}"


@in_words.register
def _unknown_thickness(fact: facts.UnknownThickness) -> str:
    return f"how thick {', '.join(fact.ingredients)} is could not be read, so not known"


@in_words.register
def _more_allergens(fact: facts.MoreAllergens) -> str:
    return f"allergens to declare ({fact.market}): {', '.join(fact.names)}"


@in_words.register
def _unknown_allergens(fact: facts.UnknownAllergens) -> str:
    return f"allergens of {', '.join(fact.ingredients)} not known: ask the supplier"
