"""One formula looked at, told: law, limits, warnings and cautions, each in a line and in full."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from optiform.ingredients.ingredient import Evidence
from optiform.reading.units import count_of
from optiform.review.answer import NOT_CHOSEN, FormulaWarning, Measured, Report, RuleCheck, heaviest_first
from optiform.review.report import Compliance
from optiform.rules.law import HARD as BY_LAW
from optiform.rules.law import Scope
from optiform.rules.markets import STATES, named
from optiform.telling import measured
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, listed
from optiform.telling.parts import Column, Level, Part, Section, Sentence, Table, number, sentences
from optiform.telling.warned import certified, unread

NOT_A_RELEASE = (
    "Optiform calculates. It does not know whether a product is fit to sell: the law where you sell, a qualified "
    "assessor and your own trials decide that."
)
PROCESS = (
    "How you make it changes the texture as much as what is in it: grains added hot or cool, days since making, batch "
    "size. The same fat, cooled differently or from another lot, was measured four times as firm. Look at a trial cold "
    "and warm, after one day and after a week."
)
NOT_LOOKED_AT = "Not looked at: impurities, the size of particles (nano), and what no table names."
MOST_WARNINGS = 5  # beside every stop
FEW = 3  # names of rules in a sentence, and warnings of what holds up the batch
MAKING = "making"  #: of the cautions: where they stand that are told beside the steps
JUST = 1e-5  # relative: a limit nearer than that is only just met


# -- in a line ---------------------------------------------------------------------------------------------------------


def law_line(report: Report, scope: Scope | None) -> Sentence:
    """Whether the law is met, in a sentence."""
    where = f"{f'in force on {scope.date},' if scope else 'of'} {listed(report.markets)}" if report.markets else ""
    if report.keeps_law is False:
        over = ", ".join(_over(rule) for rule in report.rules if rule.hard and not rule.kept)
        return Sentence(f"Law {where}: broken by {over}.".replace(" :", ":"), Level.STOP)
    if not report.markets:
        return Sentence("Law: not looked at, as no market is given.")
    if report.keeps_law is None:
        return Sentence(f"Law {where}: not known, because of {_unjudged(report)}.", Level.MIND)
    return Sentence(f"Law {where}: met, as far as our tables go{_rests_on(report)}.{_unread(report)}")


def _rests_on(report: Report) -> str:
    """The suppliers' statements without which the law would not be known to be met."""
    papers = [f"{x.ingredient} ({x.condition}: {x.paper})" for x in report.statements if x.rules]
    return f"; rests on your supplier's statement of {'; '.join(papers)}" if papers else ""


def _unread(report: Report) -> str:
    """The limits that were not read at the act itself and the warnings from memory, with how they are known."""
    limits = [x for x in report.rules if x.kind in BY_LAW and x.limit is not None and unread(x)]
    lists = [x for x in report.rules if x.kind == "no entry" and x.note and x.evidence is Evidence.RECALLED]
    rules = [*limits, *lists]
    names = [*dict.fromkeys(f"{_group(x)} ({x.market}, {measured.SURE[x.evidence]})" for x in rules)]
    more = f" and {len(names) - FEW} more" if len(names) > FEW else ""
    return f" Not read at the act itself: {', '.join(names[:FEW])}{more}." if names else ""


def _unjudged(report: Report) -> str:
    """What keeps its law from being known; what has no fact is a fragrance without a certificate."""
    return "; ".join(x.what if x.fact else f"{x.what}, without a certificate" for x in report.unjudged)


def _over(rule: RuleCheck) -> str:
    if rule.limit is None:
        return f"{rule.group}{f' ({unread(rule)[2:]})' if unread(rule) else ''}"
    return f"{_group(rule)} ({number(rule.content)} %, at most {rule.limit:g} %{unread(rule)})"


def limits_line(report: Report, grams: Compliance | None = None) -> Sentence:
    """How many limits are met, and how many only just.

    Args:
        report: on the formula.
        grams: on the same in whole steps of the scale, where it was looked at.
    """
    limited = [found for found in report.measures if found.limited]
    missed, off = [found for found in limited if found.missed], report.lines
    if not missed and not off and any(warning.rule == NOT_CHOSEN for warning in report.warnings):
        return Sentence("Limits: a choice that the brief asks for is not kept; see the warnings.", Level.MIND)
    unknown = [f"{found.name} {measured.state_of(found)}" for found in limited if found.value is None]
    if missed or off:
        told = [f"{len(missed)} of {len(limited)} missed: {'; '.join(map(_missed, missed))}"] if missed else []
        told += [f"not as your brief fixes it: {'; '.join(map(_missed, off))}"] if off else []
        return Sentence(f"Limits: {'; and '.join(told)}.", Level.MIND)
    if not limited:
        return Sentence("Limits: the brief sets none on properties.")
    if unknown:
        known = len(limited) - len(unknown)
        met = f"{known} of {len(limited)} met; " if known else ""
        return Sentence(f"Limits: {met}{'; '.join(unknown)}.", Level.MIND)
    all_met = f"all {len(limited)} are met" if len(limited) > 1 else "the only one is met"
    just = sum(map(_just, limited))
    only = f", {just} only just" if just and len(limited) > 1 else ", only just" if just else ""
    if grams is None:
        return Sentence(f"Limits: {all_met}{only}.")
    if too_coarse(grams):
        broken = "; ".join(map(_missed, _coarse(grams))) or "a legal limit is broken"
        return Sentence(f"Limits: {all_met}{only}, but not in whole steps of your scale: {broken}.", Level.MIND)
    if any(map(_rounded, grams.measures)):
        return Sentence(f"Limits: {all_met}{only}; rounded to your scale, within one step of it.")
    return Sentence(f"Limits: with these grams {all_met}{only}.")


def too_coarse(grams: Compliance) -> bool:
    """Whether whole steps of the scale miss a limit that the formula meets."""
    return bool(_coarse(grams)) or grams.breaks_law


def _coarse(grams: Compliance) -> list[Measured]:
    return [*(found for found in grams.measures if found.missed), *grams.lines]


def _missed(found: Measured) -> str:
    unit = measured.of_what(found.unit, found.basis)
    if found.none:
        return f"{found.name} {number(found.value or 0.0)} {unit}, and it asks for none"
    return f"{found.name} {number(found.value or 0.0)}, not {measured.wanted(found.low, found.high)} {unit}".rstrip()


def _rounded(found: Measured) -> bool:
    """Whether a value lies outside its limit, by no more than rounding to the scale."""
    if found.value is None or found.missed:
        return False
    below = found.low is not None and found.low - found.value > JUST * (1 + abs(found.low))
    return below or (found.high is not None and found.value - found.high > JUST * (1 + abs(found.high)))


def _just(found: Measured) -> bool:
    ends = [end for end in (found.low, found.high) if end is not None]
    return found.value is not None and any(abs(found.value - end) <= JUST * (1 + abs(end)) for end in ends)


def cautions_line(report: Report) -> Sentence:
    """How many cautions there are on what, and where they stand."""
    making = sum(caution.where == MAKING for caution in report.cautions)
    others = len(report.cautions) - making
    words = [f"{making} on making it, on the batch sheet"] * bool(making)
    words += [f"{others} on using and selling it, on the declaration"] * bool(others)
    return Sentence(f"Cautions: {'; '.join(words) or 'none of the usual ones applies'}.")


def warnings(formula_warnings: Iterable[FormulaWarning]) -> Section:
    """Every warning; the short telling is silent where there are notes alone."""
    parts = tuple(warning_sentences(formula_warnings))
    return Section("warnings", "Warnings", parts, short=any(part.short for part in parts), most=MOST_WARNINGS)


def watch_out(formula_warnings: Iterable[FormulaWarning]) -> Section:
    """Every warning on the way to a jar; where there are notes alone, the short telling has their number."""
    section = warnings(formula_warnings)
    return replace(section, title="Watch out for", instead=count_of(len(section.parts), "note"))


def warning_sentences(formula_warnings: Iterable[FormulaWarning]) -> Iterator[Sentence]:
    """The words of each warning with its weight, heaviest first.

    The short telling has every stop, what the brief overrules, and the first few to be minded; of these it never
    leaves out the few that hold up the work.
    """
    ordered = heaviest_first(formula_warnings)
    held = [warning for warning in ordered if warning.comes_first and not warning.overruled][:FEW]
    minded = [warning for warning in ordered if warning.level == "mind"][:MOST_WARNINGS]
    for warning in ordered:
        firm = warning.overruled or warning in held
        short = firm or warning.level == "stop" or warning in minded
        yield Sentence(in_words(warning), Level(warning.level), bullet=True, short=short, firm=firm)


# -- in full -----------------------------------------------------------------------------------------------------------


def limits(report: Report, *more: Part) -> Section:
    """Every limit with its value, what it could be and how sure it is."""
    return Section("limits", "Limits", (*measured.told([x for x in report.measures if x.limited]), *more), short=False)


def properties(report: Report) -> Section:
    """The other properties that apply."""
    rest = [found for found in report.measures if not found.limited and found.name != "cost"]
    return Section("properties", "Other properties", measured.told(rest), short=False)


def law(report: Report) -> Section:
    """The legal limits and certificates that apply, with what the formula contains."""
    hard = [rule for rule in report.rules if rule.kind in BY_LAW and rule.limit is not None]
    none = [market for market in report.markets if all(rule.market != market for rule in hard)]
    words = [f"{market}: no numeric limit in the tables applies." for market in none]
    words += [f"{capital(certified(rule))}." for rule in report.rules if rule.kind == "certificate"]
    words += [f"Look at: {_noted(rule)}." for rule in report.rules if rule.kind == "no entry" and rule.note]
    words += [f"Not allowed: {_noted(rule)}." for rule in report.rules if rule.kind == "positive list"]
    words += map(in_words, report.statements)
    if report.unjudged:
        words.append(f"Whether the law is met is not known, because of: {_unjudged(report)}.")
    if states := [named(market) for market in report.markets if market in STATES]:
        words.append(f"Of the rules of {listed(states)} only those that were read are here, and lists in part.")
    words.append(NOT_LOOKED_AT if report.markets else "No market is given, so no law was looked at.")
    return Section("law", "Law", (*_rules(hard), *sentences(words, bullet=False)), short=False)


def _noted(rule: RuleCheck) -> str:
    return f"{rule.group} ({rule.market}, {rule.reference}, {measured.SURE[rule.evidence]}): {rule.note}"


def _rules(checks: Sequence[RuleCheck]) -> Iterable[Table]:
    heads = ("limit in law", "contains", "at most", "", "where", "how sure", "last read")
    rows = tuple(
        (
            _group(rule),
            float(f"{rule.content:.3g}"),
            rule.limit,
            "met" if rule.kept else "BROKEN",
            f"{rule.market}, {rule.reference}" if rule.market != "own" else rule.reference,
            measured.SURE[rule.evidence],
            str(rule.read or "never"),
        )
        for rule in checks
    )
    return (Table(tuple(map(Column, heads)), rows, "in % of the jar"),) if rows else ()


def _group(rule: RuleCheck) -> str:
    """The words of a rule, and what its mass is expressed as where the words do not say it."""
    plain = rule.expressed_as in ("", "the substance") or rule.expressed_as in rule.group
    return rule.group if plain else f"{rule.group}, as {rule.expressed_as}"


def cautions(report: Report) -> Section:
    """The usual cautions, by when they count."""
    parts: list[Part] = []
    for where in ("making", "using", "selling"):
        texts = [caution.text for caution in report.cautions if caution.where == where]
        parts += [Sentence(f"When {where}:"), *sentences(texts)] if texts else []
    parts = parts or [Sentence("None of the usual cautions applies.")]
    return Section("cautions", "Cautions", tuple(parts), short=False)


def notice() -> Section:
    """What no calculation settles."""
    return Section("notice", "", (Sentence(PROCESS, Level.NOTE), Sentence(NOT_A_RELEASE, Level.NOTE)), short=False)
