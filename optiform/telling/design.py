"""The answer to a brief, told: the formula, what it costs and saves, and why it is that one."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from math import isfinite

from optiform.brief.brief import Brief
from optiform.brief.goal import Goal, Highest, NearestUsual
from optiform.design.answer import Binding, Designed
from optiform.design.design import Best
from optiform.design.wishes import Wish, wishes
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand
from optiform.program.certificate import TOLERANCE, Certificate
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings
from optiform.review.report import report as looked_at
from optiform.rules.certificates import certificate_class, uncertified
from optiform.telling import measured, report, usual
from optiform.telling.acidity import acidity, ph_line
from optiform.telling.claims import claims
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, listed
from optiform.telling.first_trial import first_trial
from optiform.telling.formula import lines_table, money_sentence, percent_of, spending, weighed_out
from optiform.telling.goal import better, gap_of_usual, unit_of_goal
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.preservation import preservation
from optiform.telling.unsure import could_be_missed, price_of_sureness
from optiform.telling.unused import left_out, unused

FAR = 5.0  # % of the jar: more is no small change of a formula that was to be kept
SAME_POINTS = 1e-4  # % of the jar: 1 mg in 1 kg, far below any scale
NOTHING = 1e-6  # of a goal's unit: less is nothing to a maker, and floating point may leave some
DEAREST = 5  # wishes in the short telling
NAMED = 1  # limits that could be missed in the short telling


def designed(answer: Designed) -> Telling:
    """The whole answer to a brief; the next steps are the command's."""
    brief, formula, looked = answer.brief, answer.report.formula, answer.report
    grams, weigh = weighed_out(brief, formula)
    summary = [
        report.limits_line(looked, grams.compliance if grams else None),
        *_chosen(brief),
        *claims(brief, formula),
        report.law_line(looked, brief.scope),
        *(ph_line(formula, setting_of(brief)) if isinstance(brief.goal, NearestUsual) else ()),  # a first trial
        *usual.against_kind(looked, brief),
        *usual.gave(answer.gave),
        *_could_be_missed(answer),
        *(_dearest(answer) if answer.look != "prices" else ()),
        report.cautions_line(looked),
    ]
    sections = [
        head(brief, formula, answer.objective, _proven(answer)),
        weigh,
        Section("summary", "", tuple(summary)),
        report.warnings(looked.warnings),
        report.limits(looked, *(_sureness(answer) if answer.look != "savings" else ())),
        report.properties(looked),
        *((_prices(answer), unused(answer)) if answer.look == "whole" else ()),
        left_out(brief, formula),
        spending(brief.currency, formula, brief.batch),
        report.law(looked),
        acidity(formula, setting_of(brief)),
        preservation(formula, setting_of(brief)),
        report.cautions(looked),
        _proof(answer),
        first_trial(brief),
        report.notice(),
    ]
    table = lines_table(formula, brief.currency, brief.batch, brief.reference)
    return Telling(brief.title, tuple(sections), table)


def at_once(best: Best) -> tuple[Section, ...]:
    """What is known of the best formula before anything else is worked out: what it is, and what to weigh."""
    brief, search = best.brief, best.solution
    proof = proof_sentence(brief.goal, search.local, search.gap, best.tie, best.value)
    return head(brief, best.formula, best.value, proof), weighed_out(brief, best.formula)[1]


def head(brief: Brief, formula: Formula, value: float, proof: Sentence) -> Section:
    """What it is, what it costs and saves, and what is proven."""
    what = (
        Sentence(facts(brief)),
        *usual.went_by(brief, formula),
        money_sentence(brief, formula),
        *_not_used(brief, formula),
        *_goal(brief, formula, value),
        proof,
    )
    return Section("answer", "", what)


def facts(brief: Brief) -> str:
    """What a brief is about, in a sentence."""
    scope = brief.scope
    kind = brief.kind or "no kind of product given"
    law = f"{listed(scope.markets)} law in force on {scope.date}" if scope.markets else "no market given"
    return f"{capital(kind)}, {scope.use}, {scope.area}; {law}. Goal: {brief.goal.words}."


def _not_used(brief: Brief, formula: Formula) -> Iterator[Sentence]:
    """Lines of today's formula that are not used for another reason than the goal's figure, each with its reason."""
    reasons = {name: in_words(why) for name, why in brief.left_out}
    if isinstance(brief.goal, NearestUsual):  # which does not aim at these
        bare = f"no certificate maximum for class {certificate_class(brief.scope)} in your table"
        reasons |= dict.fromkeys(uncertified(brief.mix, brief.scope), bare)
    today = brief.reference.lines if brief.reference else ()
    names = dict.fromkeys(line.ingredient.name for line in today if not formula.fraction(line.ingredient.name))
    gone = "; ".join(f"{name} ({reasons[name]})" for name in names if name in reasons)
    if gone:
        yield Sentence(f"Not used: {gone}.", runs_on=True)


def _chosen(brief: Brief) -> tuple[Sentence, ...]:
    """What the brief asks of the choice of ingredients."""
    asked = [either.rule.title for either in brief.choices]
    kept = "Your choice is kept" if len(asked) == 1 else "Your choices are kept"
    return (Sentence(f"{kept}: {'; '.join(asked)}."),) if asked else ()


def _goal(brief: Brief, formula: Formula, value: float) -> tuple[Sentence, ...]:
    """What is reached of a goal that is no cost."""
    goal = brief.goal
    if goal.formula is not None:
        if value < SAME_POINTS:
            return (Sentence(f"Nothing changes against {goal.formula.name}."),)
        changes = Sentence(f"It changes {number(value)} % of the jar against {goal.formula.name}.")
        helps = (Sentence("Put what helps among the candidates, and less has to change."),) if value > FAR else ()
        why = tuple(_cannot_stay(brief, goal.formula, formula))
        return changes, *why, *(helps if why else ())
    if goal.wanted is None or goal.wanted.name == "cost":
        return ()
    unit = measured.of_what(goal.wanted.unit, goal.wanted.basis)
    words = [f"Goal: {goal.words} = {number(value)} {unit}".rstrip() + "."]
    if isinstance(goal, Highest) and not goal.wanted.brought(brief.mix):
        words.append(f"No candidate brings any {goal.wanted.name}: every formula is as good for this goal.")
    return sentences(words, bullet=False)


def _cannot_stay(brief: Brief, aim: Formula, formula: Formula) -> Iterator[Sentence]:
    """What a formula that is kept as far as it can is warned of, and the answer is not: why it is not kept as it is."""
    setting = setting_of(brief)
    for warning in new_warnings(looked_at(aim, setting), looked_at(formula, setting)):
        if warning.level != "note":
            yield Sentence(f"As it is, {aim.name} would be warned of: {in_words(warning)}", Level.MIND)


# -- what is proven ----------------------------------------------------------------------------------------------------


def proof_sentence(
    goal: Goal, local: bool, gap: float | None, tie: Formula | None, value: float | None = None
) -> Sentence:
    """What the check proves, plainly: best of all, best within an amount, or best near itself only.

    Args:
        goal: of the brief.
        local: whether the proof is of being the best near the formula only.
        gap: by how much another formula could be better at most, in the goal's unit, where something bends or the
            figures are round.
        tie: another formula as good.
        value: of the goal at the formula, where what could be nearer to usual is told in percent of it.
    """
    good = better(goal)
    bounded = gap is not None and isfinite(gap)
    if local and not bounded:
        words = (
            f"Not proven for all formulas: a limit or the goal bends. This is the best formula found from several "
            f"starts; it is proven best near itself only, and another could be {good}."
        )
        return Sentence(words, Level.MIND)
    checked = f"no formula within your limits is {good}"
    if gap is not None and bounded and gap > NOTHING:
        unit = "steps (a step is half of a usual range)" if isinstance(goal, NearestUsual) else unit_of_goal(goal)
        share = "" if value is None else gap_of_usual(goal, gap, value)
        more = share or f"{Decimal(f'{gap:.2g}'):f} {unit}".rstrip()
        checked += f" by more than {more}"
    if local:
        return Sentence(f"Checked near this formula only, as a limit bends: {checked}.", Level.MIND)
    as_good = "; another is exactly as good (--part proof)" if tie is not None else ""
    return Sentence(f"Checked: {checked}{as_good}.")


def _proven(answer: Designed) -> Sentence:
    """What the check proves, as a maker can use it; with what exactly stands in the proof."""
    return proof_sentence(answer.brief.goal, answer.local, answer.gap, answer.tie, answer.objective)


def _proof(answer: Designed) -> Section:
    words = [proof_sentence(answer.brief.goal, answer.local, answer.gap, None).text]
    if answer.tie is not None:
        lines = ", ".join(f"{line.ingredient.name} {percent_of(line)} %" for line in answer.tie.lines)
        words.append(f"Another formula is exactly as good: {lines}.")
    elif not answer.local and (answer.gap or 0.0) <= NOTHING:
        words.append("No other formula is as good: this is the only one.")
    words.append(closeness(answer.certificate))
    return Section("proof", "Proof", sentences(words, bullet=False), short=False)


def closeness(certificate: Certificate) -> str:
    """How well the proof of an optimum closes, in a solver's figures."""
    return (
        f"The proof in figures: gap {certificate.gap:.1e}, breach {certificate.primal:.1e}, duals "
        f"{certificate.dual:.1e}, slackness {certificate.complementarity:.1e} (each below {TOLERANCE:.0e})."
    )


# -- ranges ------------------------------------------------------------------------------------------------------------


def _could_be_missed(answer: Designed) -> tuple[Sentence, ...]:
    return (Sentence(could_be_missed(answer.unsure, NAMED)),) if answer.unsure else ()


def _sureness(answer: Designed) -> tuple[Part, ...]:
    """The limits that could be missed, and what being sure of them costs."""
    unsure = answer.unsure
    if unsure is None:
        return ()
    columns = Column("could be missed, as figures are ranges"), Column("value now"), Column("could be")
    now = {measure.name: measure.value for measure in answer.report.measures}
    rows = tuple(
        (measured.demanded(demand), _figure(now.get(demand.name), demand), _figure(worst, demand))
        for demand, worst in (*unsure.limits, *unsure.unguarded)
    )
    price = price_of_sureness(unsure, answer.brief.goal)
    return Table(columns, rows), *([Sentence(price)] if price else [])


# -- what the limits cost ----------------------------------------------------------------------------------------------


def _dearest(answer: Designed) -> tuple[Sentence, ...]:
    """The wishes that cost most, each with what the goal gains without it."""
    dearest = wishes(answer.binding)[:DEAREST]
    if not dearest:
        return ()
    named = "; ".join(f"{wish.bound.demand.name} {_saving(wish)}" for wish in dearest)
    return (Sentence(f"Your wishes that cost most, in {unit_of_goal(answer.brief.goal)}: {named}."),)


def _saving(wish: Wish) -> str:
    places = 2 if wish.saving >= 0.01 else None
    return f"{number(wish.saving, places)}{' or more' if wish.least else ''}"


def _prices(answer: Designed) -> Section:
    """What holds the formula, dearest first: the gain from easing it, and the span of targets that price holds on."""
    if isinstance(answer.brief.goal, NearestUsual):
        return Section("prices", "", (), short=False)
    unit = unit_of_goal(answer.brief.goal)
    in_all = {wish.bound.demand: wish for wish in wishes(answer.binding)}
    bounds = sorted(answer.binding, key=lambda bound: -_worth(bound, in_all))
    if not bounds:
        words = _unpriced(answer) or ["None of your limits costs anything here."]
        return Section("prices", "What your limits cost", sentences(words, bullet=False), short=False)
    words = [
        f"In {unit}. Each point saves that much while the limit stands between “from” and “to”. In all: what you save "
        "without this limit, the others as they are; with “or more”, only as far as the price holds."
    ]
    columns = [
        Column("only just met"), Column("each point of easing saves"), Column("in all"),
        Column("from"), Column("to", unknown="..."),
    ]  # fmt: skip
    rows = [_price_row(bound, in_all.get(bound.demand)) for bound in bounds]
    if any(_dearer(bound) is not None for bound in bounds):
        words.append("Tighter: what each point of tightening costs, where that is a different figure.")
        columns.append(Column("tighter"))
        rows = [(*row, _dearer(bound)) for row, bound in zip(rows, bounds, strict=True)]
    if any(not bound.whole for bound in answer.binding):
        words.append("Some of these prices are known near this formula only.")
    words += _unpriced(answer)
    table = Table(tuple(columns), tuple(rows))
    return Section("prices", "What your limits cost", (table, *sentences(words, bullet=False)), short=False)


def _worth(bound: Binding, in_all: Mapping[Demand, Wish]) -> float:
    wish = in_all.get(bound.demand)
    return wish.saving if wish else 0.0


def _price_row(bound: Binding, wish: Wish | None) -> tuple[Cell, ...]:
    saving = f"{number(float(f'{wish.saving:.3g}'))}{' or more' if wish.least else ''}" if wish else ""
    return (
        measured.demanded(bound.demand), _three(bound.price), saving, _three(bound.valid_from), _three(bound.valid_to),
    )  # fmt: skip


def _unpriced(answer: Designed) -> list[str]:
    """The limits that hold the formula too, but whose price is not proven."""
    words = "; ".join(measured.demanded(demand) for demand in answer.unpriced)
    return [f"Only just met too, but rounding hides what easing it would save: {words}."] if words else []


def _dearer(bound: Binding) -> float | str | None:
    """The price on the tighter side, where it is another one, or why there is none."""
    if bound.tighter is None:
        return "cannot be" if bound.tighter_proven else "not proven"
    same = abs(bound.tighter - bound.price) <= 1e-6 * (1 + bound.price)
    return None if same else _three(bound.tighter)


def _figure(value: float | None, demand: Demand) -> float | None:
    return None if value is None else measured.rounded(value, demand.basis)


def _three(value: float | None) -> float | None:
    """A figure to three digits."""
    return None if value is None else float(f"{value:.3g}")
