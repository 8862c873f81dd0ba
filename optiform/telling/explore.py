"""What explore finds, told: what a limit costs over its range, and what else is nearly as good."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from optiform.brief.goal import NearestUsual
from optiform.design.alternatives import Alternatives
from optiform.design.answer import NoFormula
from optiform.design.explore import Stretch, TradeOff
from optiform.design.facts import NoneGuarded
from optiform.design.price_lists import ForAllPrices
from optiform.design.price_moves import PriceUncertainty
from optiform.design.protect import Protected
from optiform.design.stepped import Corner, Stepped
from optiform.design.unlike import Unlikes
from optiform.ingredients.formula import Formula
from optiform.reading.units import one_of
from optiform.telling.around import amount, enters, shares_table
from optiform.telling.charts import target_unit, trade_off_chart
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, significant
from optiform.telling.goal import steps_from_usual
from optiform.telling.impossible import impossible
from optiform.telling.parts import Column, Part, Section, Sentence, Step, Table, Telling, number, sentences
from optiform.telling.price_lists import for_all_prices
from optiform.telling.price_moves import price_moves
from optiform.telling.protect import limits_table, protected
from optiform.telling.standing import firmness_line
from optiform.telling.stepped import stepped, steps_table
from optiform.telling.steps import free
from optiform.telling.unlike import unlikes
from optiform.trials.firm import Fitted

Explored = TradeOff | Stepped | Alternatives | PriceUncertainty | Protected | Unlikes | ForAllPrices | NoFormula
ABOUT = {
    TradeOff: "what one limit costs",
    Stepped: "what one limit costs",
    Alternatives: "what else is nearly as good",
    PriceUncertainty: "if prices move",
    Protected: "if figures are wrong",
    Unlikes: "what else it can be made of",
    ForAllPrices: "one formula for several price lists",
}
USED = 5e-3  # % of the jar: less is none


def explore(title: str, answers: Sequence[Explored], fitted: Fitted | None = None) -> Telling:
    """Everything that was looked at, one after another, and how firm what it proposes is.

    `fitted`: the scale of firmness that the maker's own readings fit.
    """
    sections = [section for answer in answers for section in _with_firmness(answer, fitted)]
    counted = dict.fromkeys(sentence for answer in answers for sentence in steps_from_usual(answer.brief.goal))
    sections += [Section("steps", "", tuple(counted))] if counted else []
    tables = tables_of(answers)
    about = {ABOUT[type(answer)] for answer in answers if type(answer) in ABOUT}
    head = f"{title}: {about.pop()}" if len(about) == 1 else title
    return Telling(head, tuple(sections), tables[0])


def _with_firmness(answer: Explored, fitted: Fitted | None) -> Iterator[Section]:
    """An answer in sections, and below what it proposes how firm that is against today's."""
    first, *others = _sections(answer)
    yield replace(first, parts=(*first.parts, *firmness_line(answer.brief, dict(_proposed(answer)), fitted)))
    yield from others


def _proposed(answer: Explored) -> Iterator[tuple[str, Formula]]:
    """The formulas of an answer, by what they are called in it; of a curve its ends."""
    if isinstance(answer, TradeOff | Stepped):
        for corner in dict.fromkeys((*answer.corners[:1], *answer.corners[-1:])):
            yield f"with {answer.words} {amount(corner.target, target_unit(answer))}", corner.formula
    elif isinstance(answer, Alternatives | Unlikes):
        formulas = [option.formula for option in answer.ranked()]
        yield from ((f"option {k}", formula) for k, formula in enumerate(formulas, 1))
    elif isinstance(answer, ForAllPrices):
        yield "for all", answer.formula
    elif isinstance(answer, Protected):
        yield "protected", answer.report.formula


def tables_of(answers: Sequence[Explored]) -> list[Table]:
    """The table of each answer, for a spreadsheet."""
    return [_table(answer) for answer in answers]


def steps(answers: Sequence[Explored], line: str, anew: str) -> tuple[Step, ...]:
    """What can be done with the answers next.

    Args:
        answers: the answers.
        line: the command that gave them.
        anew: the same without what is explored.
    """
    kinds = {type(answer) for answer in answers}
    if NoFormula in kinds:
        guarded = any(isinstance(answer, NoFormula) and answer.reason == NoneGuarded(None) for answer in answers)
        return (Step("With one figure of a limit wrong", f"{anew} --protect 1"),) if guarded else ()
    more = []
    if kinds & {TradeOff, Stepped}:
        more.append(Step("The curve as a picture", f"{line} --chart {free('curve.svg')}"))
    if Alternatives in kinds:
        more.append(Step("Each candidate's least and most", f"{line} --part leeway"))
    if not kinds & {Protected, PriceUncertainty, Unlikes, ForAllPrices}:
        more.append(Step("With one figure of a limit wrong", f"{anew} --protect 1"))
    return (*more, Step("All of it, to print", f"{line} --html {free('explore.html')}"))


def _sections(answer: Explored) -> tuple[Section, ...]:
    if isinstance(answer, TradeOff):
        return _trade_off(answer)
    if isinstance(answer, Stepped):
        return stepped(answer)
    if isinstance(answer, Alternatives):
        return _alternatives(answer)
    if isinstance(answer, PriceUncertainty):
        return price_moves(answer)
    if isinstance(answer, Unlikes):
        return unlikes(answer)
    if isinstance(answer, ForAllPrices):
        return for_all_prices(answer)
    return protected(answer) if isinstance(answer, Protected) else impossible(answer).sections


def _table(answer: Explored) -> Table:
    if isinstance(answer, TradeOff):
        return _corners_table(answer)
    if isinstance(answer, Stepped):
        return steps_table(answer)
    if isinstance(answer, Alternatives):
        return _leeway(answer)
    if isinstance(answer, Protected):
        return limits_table(answer)
    if isinstance(answer, NoFormula):
        return impossible(answer).table
    return next(part for section in _sections(answer) for part in section.parts if isinstance(part, Table))


# -- one limit ---------------------------------------------------------------------------------------------------------


def _trade_off(answer: TradeOff) -> tuple[Section, ...]:
    start, end = (amount(target, target_unit(answer)) for target in answer.asked)
    if answer.fits is None:
        return (Section("curve", "", (Sentence(f"No formula has {answer.words} {start}, and none up to {end}."),)),)
    first, last = answer.corners[0], answer.corners[-1]
    goal, unit = answer.brief.goal.words, answer.value_unit
    head = f"{capital(goal)}: {amount(first.value, unit)} with {answer.words} {_target(answer, first)}"
    head += f"; {amount(last.value, unit)} with {_target(answer, last)}."
    answered = Sentence(" ".join([head, *_ends(answer)]))
    return (
        Section("curve", "", (answered, _turns(answer), trade_off_chart(answer))),
        Section("bends", "", sentences(f"{capital(in_words(note))}." for note in answer.notes)),
        Section("doses", "", tuple(_little(answer)), short=False),
        Section("proof", "Proof", (Sentence(f"Worst residual of all proofs: {answer.residual:.1e}."),), short=False),
    )


def _little(answer: TradeOff) -> Iterator[Sentence]:
    if answer.little:
        names = "; ".join(answer.little)
        yield Sentence(f"Here below its least dose somewhere, which design would ask for: {names}.")


def _ends(answer: TradeOff) -> Iterator[str]:
    if answer.fits is not None and answer.fits != answer.asked:
        low, high = answer.fits
        yield f"There is a formula only from {amount(low, '')} to {amount(high, target_unit(answer))}."
    if answer.today is not None:
        yield f"Your brief says {amount(answer.today, target_unit(answer))}."


def _target(answer: TradeOff, corner: Corner) -> str:
    return amount(corner.target, target_unit(answer))


def _turns(answer: TradeOff) -> Table:
    """Where the mix changes, how, and what each point more costs from there on."""
    columns = (
        Column(answer.words, target_unit(answer)),
        Column(answer.brief.goal.words, answer.value_unit.strip("-")),
        Column("what changes there"),
        Column(f"from there {_more(answer.unit)} adds", answer.value_unit),
    )
    prices = {stretch.start: _price(stretch) for stretch in answer.stretches}
    rows = []
    before: Mapping[str, float] = {}
    for corner in answer.corners:
        now = {line.ingredient.name: line.fraction for line in corner.formula.lines}
        rows.append((corner.target, corner.value, enters(before, now), prices.get(corner.target, "")))
        before = now
    return Table(columns, tuple(rows))


def _more(unit: str) -> str:
    return "each % point more" if unit == "%" else f"each {one_of(unit)} more"


def _price(stretch: Stretch) -> str:
    return " to ".join(dict.fromkeys(number(significant(price, 3)) for price in stretch.prices))


def _corners_table(answer: TradeOff) -> Table:
    columns = (
        Column(answer.words, target_unit(answer)), Column(answer.brief.goal.words, answer.value_unit.strip("-")),
        Column("ingredient"), Column("share", "% of the jar"),
    )  # fmt: skip
    rows = [
        (corner.target, corner.value, line.ingredient.name, 100 * line.fraction)
        for corner in answer.corners
        for line in corner.formula.lines
    ]
    return Table(columns, tuple(rows))


# -- nearly as good ----------------------------------------------------------------------------------------------------


def _alternatives(answer: Alternatives) -> tuple[Section, ...]:
    never = [row.ingredient for row in answer.leeway if row.high <= USED]
    unused = (Sentence(f"Used in none of them: {'; '.join(never)}."),) if never else ()
    return (
        Section(
            "options", "", (*_answered(answer), _options(answer), _shares(answer, differing=True), *_alike(answer))
        ),
        Section("near", "", sentences(f"{capital(in_words(note))}." for note in answer.notes)),
        Section("leeway", "The least and the most of each candidate", (_leeway(answer), *unused), short=False),
        Section("shares", "The options in full", (_shares(answer, differing=False),), short=False),
        Section("proof", "Proof", tuple(_alternatives_proof(answer)), short=False),
    )


def _alternatives_proof(answer: Alternatives) -> Iterator[Sentence]:
    """How well the proofs close; what is told in percent of how far from usual the best is, in steps."""
    if isinstance(answer.brief.goal, NearestUsual):
        yield Sentence(f"{answer.percent:g} % is {amount(significant(answer.slack, 3), answer.unit)} here.")
    yield Sentence(f"Worst residual of all proofs: {answer.residual:.1e}.")


def _answered(answer: Alternatives) -> Iterator[Part]:
    goal, worse = answer.brief.goal.words, amount(significant(answer.slack, 3), answer.unit)
    count = len(answer.options)
    how = f"{answer.percent:g} % ({worse})" if answer.brief.goal.formula is None else worse
    usual = isinstance(answer.brief.goal, NearestUsual)
    if usual:
        how = f"{answer.percent:g} %"  # what that is in steps stands with the proof
    if count == 1:
        yield Sentence(f"Within {how} of the best ({goal}) there is no other formula.")
        return
    first = f"Option 1 is the best ({goal}): {amount(answer.value, answer.unit)}. Options 2 to {count} are"
    if usual:
        yield Sentence(f"{first} at most {how} farther from usual, and differ as much as they can.")
        return
    yield Sentence(f"{first} within {how} of it and as unlike each other as possible.")


def _options(answer: Alternatives) -> Table:
    columns = (
        Column("option", "", 0), Column(answer.brief.goal.words, answer.unit.strip("-"), 3),
        Column("% points from option 1", "", 1),
    )  # fmt: skip
    return Table(columns, tuple((k, o.value, o.from_best) for k, o in enumerate(answer.options, 1)))


def _shares(answer: Alternatives, differing: bool) -> Table:
    names = [f"option {k}" for k in range(1, len(answer.options) + 1)]
    return shares_table([option.formula for option in answer.options], names, differing)


def _alike(answer: Alternatives) -> Iterator[Part]:
    """What stands in no row of the table, as the options have the same of it."""
    formulas = [option.formula for option in answer.options]
    differ = {row[0] for row in _shares(answer, differing=True).rows}
    alike = [line for line in formulas[0].lines if line.ingredient.name not in differ]
    if alike:
        names = "; ".join(f"{line.ingredient.name} {100 * line.fraction:.2f}" for line in alike)
        yield Sentence(f"The same in all of them, % of the jar: {names}.")


def _leeway(answer: Alternatives) -> Table:
    columns = (Column("% of the jar"), Column("least", "", 2), Column("best", "", 2), Column("most", "", 2))
    return Table(columns, tuple((row.ingredient, row.low, row.best, row.high) for row in answer.leeway))
