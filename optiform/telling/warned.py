"""The words of warnings: one function for each kind of fact."""

import datetime
from collections.abc import Sequence
from dataclasses import replace

from optiform.batch import facts as making
from optiform.ingredients.ingredient import Evidence
from optiform.ingredients.statements import COLUMN
from optiform.reading.units import PARTS
from optiform.review import facts
from optiform.review.answer import FormulaWarning, RuleCheck
from optiform.review.rounding import apart
from optiform.rules.markets import named
from optiform.telling.acidity import window_words
from optiform.telling.figures import capital, listed
from optiform.telling.measured import SURE, heat_limit
from optiform.telling.words import in_words

ADVICE = {"mind": "move it to the cool-down", "note": "keep the heating short, or add it to the cooling mass"}


# -- asked by the brief ------------------------------------------------------------------------------------------------

NAMED = 5  # doses that one sentence names
NAMED_LINES = 3  # without a lot


@in_words.register
def _missed(fact: facts.Missed) -> str:
    value = apart(fact.value, fact.low, fact.high)
    asked = "and the brief asks for none" if fact.none else f"outside the brief's {_limits(fact.low, fact.high)}"
    return f"{fact.name} is {f'{value} {fact.unit}'.rstrip(' -')}, {asked}."


def _limits(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return f"least of {low:g}" if low is not None else f"most of {high:g}"
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


@in_words.register
def _idle(fact: facts.Idle) -> str:
    return f"{fact.name} does not apply: nothing in the formula has it."


@in_words.register
def _not_chosen(fact: facts.NotChosen) -> str:
    return f"Your brief asks for this, and it is not met: {fact.choice}."


@in_words.register
def _too_many(fact: facts.TooMany) -> str:
    return f"It has {fact.count} ingredients, and the brief asks for at most {fact.most}."


# -- what is usual -----------------------------------------------------------------------------------------------------


@in_words.register
def _unusual(fact: facts.Unusual) -> str:
    usual = fact.usual
    unit = {"%": " %", "count": ""}.get(usual.unit, f" {PARTS}")
    value = apart(fact.value, usual.low, usual.high, digits=3)
    effect = usual.below if fact.side == "below" else usual.above
    return (
        f"Unusual in this kind ({fact.kind}): {usual.property} {value}{unit}, {fact.side} the usual "
        f"{usual.low:g} to {usual.high:g}{unit} ({SURE[usual.evidence]}): {effect}."
    )


@in_words.register
def _above_maximum(fact: facts.AboveMaximum) -> str:
    most, percent = fact.most, apart(fact.percent, fact.most.figure, digits=3)
    sure = SURE[most.evidence]
    return f"{fact.ingredient} at {percent} % is above its maximum use of {most.figure:g} % ({sure})."


@in_words.register
def _outside_use(fact: facts.OutsideUse) -> str:
    low, high = fact.usual.low, fact.usual.high
    percent = apart(fact.percent, low, high, digits=3)
    ends = f"{low or 0:g} to {high or 100:g} %"
    return f"{fact.ingredient} at {percent} % is outside its usual use of {ends} ({SURE[fact.usual.evidence]})."


# -- what goes together ------------------------------------------------------------------------------------------------


@in_words.register
def _eutectic(fact: facts.Eutectic) -> str:
    pair = f"{fact.first} with {fact.second}: {fact.effect}"
    return f"{pair}. The solid fat shown is an upper bound: try it warm and cold."


@in_words.register
def _clash(fact: facts.Clash) -> str:
    rule = fact.rule
    amounts = ", ".join(f"{what} {percent:.3g} % of the jar" for what, percent in fact.amounts)
    head = f"{_headed(fact)} ({amounts})".removesuffix(" ()")
    sure = SURE[rule.evidence]
    if SURE[fact.figures] != sure:
        sure = f"{sure}; its amounts {SURE[fact.figures]}"
    return f"{head}. {rule.text.rstrip('.')} ({sure})."


def in_short(warning: FormulaWarning) -> str:
    """A warning beside other things: of a rule of chemistry its title and the lines at fault, else all of its words.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> from optiform.review.chemistry import clashes
        >>> from optiform.review.measures import Setting
        >>> acid = mixed({"water": 95, "sodium bicarbonate": 3, "citric acid": 2})
        >>> gas = next(warning for warning in clashes(acid, Setting()) if warning.about == "gas")
        >>> in_short(gas)
        'Acid with bicarbonate in water: sodium bicarbonate; citric acid.'
    """
    if not isinstance(warning.fact, facts.Clash):
        return in_words(warning)
    return in_words(replace(warning, fact=f"{_headed(warning.fact)}."))


def _headed(fact: facts.Clash) -> str:
    """The rule and the lines at fault."""
    return f"{capital(fact.rule.title)}: {_listed(fact.lines)}"


def _listed(lines: Sequence[str]) -> str:
    return "; ".join(lines) or "of the whole"


@in_words.register
def _dry_enough(fact: facts.DryEnough) -> str:
    return (
        f"No preservative, and water activity {fact.activity:.2f}: below {fact.below:g}, one criterion of ISO 29621 "
        "for low risk. Does a wet hand reach the jar, or water drip in? Then it needs one (read second-hand)."
    )


@in_words.register
def _no_common_ph(fact: facts.NoCommonPh) -> str:
    aim = f"pH {fact.ph:g} does not suit all of it" if fact.ph is not None else "No one pH suits all of it"
    wants = "; ".join(dict.fromkeys(map(window_words, fact.windows)))
    outside = dict.fromkeys(f"{x.of} outside: {x.outside}." for x in fact.windows if x.outside)
    sure = SURE[Evidence.weakest(window.bounds for window in fact.windows)]
    other = "Take another pH, or replace what does not bear it." if fact.ph is not None else "Replace one of them."
    return " ".join([f"{aim}: {wants} ({sure}).", *outside, other])


@in_words.register
def _too_hot(fact: facts.TooHot) -> str:
    bears = heat_limit(fact.limit)
    return f"{fact.ingredient} is heated to {fact.hot:g} degC in the {fact.phase}; {bears}: {ADVICE[fact.level]}."


# -- what is not known, and what is missing ----------------------------------------------------------------------------


@in_words.register
def _water_unknown(fact: facts.WaterUnknown) -> str:
    names = ", ".join(fact.ingredients)
    return f"No preservative, and how much water {names} brings is not known: microbes can grow in it."


@in_words.register
def _no_certificate(fact: facts.NoCertificate) -> str:
    return (
        f"{fact.ingredient} has no certificate maximum for class {fact.certificate_class} in your file: ask its "
        f"supplier and enter it under 'certificate maximum {fact.certificate_class} (%)'."
    )


@in_words.register
def _unlisted_allergens(fact: facts.UnlistedAllergens) -> str:
    share = fact.percent / 100
    brings = ", ".join(f"{x.allergen} {x.low * share:.2g} to {x.high * share:.2g} %" for x in fact.due)
    return (
        f"{fact.ingredient} usually brings {brings} of the jar ({SURE[fact.due[0].evidence]}), which the label "
        f"would have to name: ask its supplier for the allergen list and enter it under 'allergen NAME (%)'."
    )


@in_words.register
def _outside_hlb(fact: facts.OutsideHlb) -> str:
    names = ", ".join(fact.ingredients)
    return f"The HLB leaves out {names}: what is ionic, or a ready-made emulsifying wax, has none."


@in_words.register
def _counted_as_emulsifier(fact: facts.CountedAsEmulsifier) -> str:
    name = f"{fact.ingredient[0].upper()}{fact.ingredient[1:]}"
    return f"{name} counts as an emulsifier. To count it in the oil phase, name it under count_as_oil."


@in_words.register
def _short(fact: facts.Short) -> str:
    there = f"only {fact.stock:g} kg is in stock" if fact.stock else "none is in stock"
    return f"{fact.ingredient}: the batch needs {fact.need:.3g} kg, and {there}."


# -- making it ---------------------------------------------------------------------------------------------------------


@in_words.register
def _vessel_full(fact: making.VesselFull) -> str:
    each = float(fact.weighed) / fact.goes
    return (
        f"{fact.weighed} g do not fit your vessel of {fact.vessel:g} g. Make it in {fact.goes} goes of about "
        f"{each:.0f} g. These grams are for all of them; a sheet of one go tells its small doses too."
    )


@in_words.register
def _scale_coarse(fact: making.ScaleCoarse) -> str:
    named = [f"{name}{f' ({part})' if part else ''} {off:+g} %" for name, part, off in fact.doses[:NAMED]]
    more = len(fact.doses) - NAMED
    doses = "; ".join([*named, f"and {more} more, under small doses"] if more > 0 else named)
    return f"On a scale that shows {fact.step} g these doses come out wrong: {doses}."


@in_words.register
def _melts_higher(fact: making.MeltsHigher) -> str:
    return (
        f"{fact.ingredient} melts at up to {fact.melts:g} degC, and the phases are heated to {fact.hot:g} degC only: "
        "heat them higher."
    )


@in_words.register
def _flashes(fact: making.Flashes) -> str:
    return (
        f"{fact.ingredient} has its flash point at {fact.flash.least:g} degC ({SURE[fact.flash.evidence]}) and goes "
        f"into a mass of {fact.mass:g} degC: its vapour can catch fire. Let the mass cool below that first. Where it "
        "no longer pours then, leave it out."
    )


@in_words.register
def _never_cools(fact: making.NeverCools) -> str:
    return f"In a room of {fact.room:g} degC the mass never cools to {fact.addition:g} degC by itself."


@in_words.register
def _observed_once(_: making.Cooling) -> str:
    return (
        "The minutes of cooling are worked out from one observation. Another pot, batch size, lid, stirring or room "
        "changes them: go by the thermometer, and observe again."
    )


@in_words.register
def _no_lot(fact: making.NoLot) -> str:
    if len(fact.missing) == 1:
        ((name, grams),) = fact.missing
        return f"{name}: {grams} g are missing. No lot that may be used has them."
    more = len(fact.missing) - NAMED_LINES
    names = [f"{name} {grams} g" for name, grams in fact.missing[:NAMED_LINES]]
    last = [f"and {more} more, beside their lines"] if more > 0 else []
    return f"No lot that may be used has these: {'; '.join([*names, *last])}."


@in_words.register
def _lot_aside(fact: making.LotAside) -> str:
    return f"Not used: lot {fact.lot}, {fact.left:g} kg of {fact.ingredient}: it {set_aside(fact.day, fact.expired)}."


def set_aside(day: datetime.date, expired: bool) -> str:
    """Why a lot is not taken: it expires before the making, or comes in after it."""
    return f"expires on {day}, before the making" if expired else f"comes in on {day}, after the making"


# -- law ---------------------------------------------------------------------------------------------------------------


@in_words.register
def _rule_check(check: RuleCheck) -> str:
    """A rule that is broken."""
    where, limit = f"{check.market}, {check.reference}{unread(check)}", check.limit or 0.0
    content = f"{check.group} at {apart(check.content, limit, digits=3)} %"
    over = f"{content} is over {limit:g} % ({where})"
    above = f", above {limit:g} %" if limit else ""
    return {
        "maximum": f"Over a legal limit: {over}.",
        "below": f"Not below a legal limit: {content} has to be below {limit:g} % ({where}).",
        "prohibited": f"Not allowed: {check.group} ({where}).",
        "positive list": f"Not allowed: {check.group} ({where}): {in_words(check.note)}.",
        "label": f"{_due(check)}: {stated_for(check)}{above} ({where}).",
        "certificate": f"Over the certificate: {certified(check)}.",
    }.get(check.kind, f"Above a panel's advice: {over}.")


def unread(check: RuleCheck) -> str:
    """How a rule is known that was not read at the act itself; empty where it was, or is a certificate of the maker."""
    return "" if check.evidence in (Evidence.PUBLISHED, Evidence.OWN) else f", {SURE[check.evidence]}"


def _due(check: RuleCheck) -> str:
    return f'Due on the label: "{check.words}"' if check.words else "May need a statement on the label"


def stated_for(check: RuleCheck) -> str:
    """What a statement is due for, and how much of it there is."""
    group = check.group.removesuffix(": statement").removesuffix(": warning")
    return f"{group}, {check.content:.3g} % of the jar"


def certified(check: RuleCheck) -> str:
    """How much of its certificate's allowance the fragrance takes. Not its share of the product."""
    used = f"{check.content:.3g}" if check.kept else apart(check.content, check.limit, digits=3)
    return f"the fragrance uses {used} % of what its certificate allows ({check.reference})"


@in_words.register
def _open_rule(fact: facts.OpenRule) -> str:
    about = f"{fact.group} ({named(fact.market)}, {fact.reference})"
    if not fact.only:
        return f"{about}: it is not known whether this is met: {fact.note}.{_to_enter(fact.statement)}"
    if fact.only == "added":
        trace = "a trace that cannot be avoided is allowed, what was added is not."
        return f"{about}: {fact.content:.3g} % is declared: {trace}"
    over = f"{fact.content:.3g} % is over {fact.limit:g} %"
    return f"{about}: {over}, the limit for a {fact.only}. If it is there for something else, that must be apparent."


def _to_enter(statement: str) -> str:
    """How a supplier's statement is put into the own table; empty where none settles it."""
    if not statement:
        return ""
    return f" Stated by your supplier, enter '{statement}: ' and day or file of it under '{COLUMN}' in your table."


@in_words.register
def _stated(fact: facts.Stated) -> str:
    paper = f"{fact.ingredient}, {fact.condition}: {fact.paper}"
    if not fact.rules:
        return f"Not needed here, no rule looked at asks for it: your supplier's statement of {paper}."
    asking = "; ".join(f"{named(x.market)}, {x.reference}: {x.note}" for x in fact.rules)
    return f"Your supplier's statement of {paper}. Keep it at hand; it has to say what the rule asks ({asking})."


@in_words.register
def _not_settled(fact: facts.NotSettled) -> str:
    x = fact.standing
    allowed = f"it is not known whether it is allowed as a {x.use} ({x.market}, {x.reference})"
    return f"{fact.ingredient}: {allowed}: {in_words(x.why)}."


@in_words.register
def _undeclared(fact: facts.Undeclared) -> str:
    enter = "Enter its declaration names in the column inci of your own table."
    return f"{fact.ingredient} declares nothing: no law was looked up for it. {enter}"


@in_words.register
def _not_in_tables(fact: facts.NotInTables) -> str:
    asked = f" If you mean {' or '.join(fact.near[:3])}, write that in your table." if fact.near else ""
    if fact.nano:
        asked = " The lists of the law keep the nano form of a substance apart from it."
    where = f"stands in no table of law for {listed(fact.markets)}"
    return f"{fact.inci}, in {fact.ingredient}, {where}: nothing was looked up for it.{asked}"
