"""Why an ingredient is not used, or a formula not the best, told: in one sentence what would have to change."""

from collections.abc import Iterator

from optiform.design.changes import MOVABLE, LimitMove, PriceMove, WhyNot
from optiform.reading.units import count_of
from optiform.telling.facts import in_words
from optiform.telling.figures import capital, listed
from optiform.telling.goal import unit_of_goal
from optiform.telling.measured import demanded, unit_of
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Table, Telling, number, sentences

FEW = 3  # changes that a sentence can hold


def why_not(answer: WhyNot) -> Telling:
    """The least that would have to change; prices that many would have to are told behind `--part`."""
    prices, limits = _prices(answer), _limits(answer)
    many = len(answer.prices) > FEW
    instead = f"{count_of(len(prices.rows), 'price')} that together would do it too" if many else ""
    sections = (
        Section("answer", "", (*_foreign(answer), *_misses(answer), *_verdict(answer), *_checked(answer))),
        Section("limits", "", (limits,), most=12),
        Section("prices", "", (prices,) if many else (), short=False, instead=instead),
        Section("notes", "", sentences(_unlooked(answer))),
    )
    title = f"Why not {_name(answer)}? {answer.brief.title}"
    return Telling(title, sections, _table(answer))


def _name(answer: WhyNot) -> str:
    """The ingredient, or the formula as its file is called."""
    return (answer.formula.origin or answer.subject) if answer.formula else answer.subject


def _foreign(answer: WhyNot) -> Iterator[Sentence]:
    """What was looked at as if it were a candidate."""
    for name, reason in answer.brings_in:
        yield Sentence(f"{capital(name)} is no candidate now ({in_words(reason)}); here it is taken as one.")


def _misses(answer: WhyNot) -> Iterator[Sentence]:
    if not answer.misses:
        return
    yield Sentence(f"{_subject(answer)} does not meet the brief:", Level.MIND)
    for demand, value in answer.misses:
        yield Sentence(f"{demanded(demand)}: it has {number(value)}.", bullet=True)
    if not _own(answer):
        yield Sentence("Not all of this is a limit of yours to ease, so no price would make it the answer.")
    elif answer.already:
        yield Sentence("With these limits eased to what it has, nothing would be better.")
    else:
        yield Sentence("With these limits eased to what it has:")


def _own(answer: WhyNot) -> bool:
    return all(demand.kind in MOVABLE for demand, _ in answer.misses)


def _verdict(answer: WhyNot) -> Iterator[Sentence]:
    """The sentence that answers."""
    if answer.already or not _own(answer):
        yield from _already(answer)
        return
    verb = "be used" if answer.formula is None else "be the best"
    ways = [way for way in (_price_words(answer), _limit_words(answer)) if way]
    if answer.value is not None and answer.best is not None:
        unit = unit_of_goal(answer.brief.goal)
        yield Sentence(f"It reaches {number(answer.value)} {unit}; the best is {number(answer.best)}.")
    if ways:
        yield Sentence(f"{_subject(answer)} would {verb} if {', or if '.join(ways)}.")
    elif not answer.together:
        yield Sentence(f"No price and no single limit was found that would have it {verb[3:]}.")
    if len(answer.together) > FEW:
        count = len(answer.together)
        yield Sentence(f"{_subject(answer)} would be the best if the brief had all of these {count} limits, no fewer.")


def _already(answer: WhyNot) -> Iterator[Sentence]:
    if answer.misses:
        return
    if answer.formula is not None:
        yield Sentence(f"{_subject(answer)} is as good as the best: nothing within your limits is better.")
    elif answer.brings_in:
        yield Sentence(f"It would be used as it is: {number(answer.percent or 0.0)} % of the jar.")
    else:
        yield Sentence(f"{_subject(answer)} is used: {number(answer.percent or 0.0)} % of the jar.")


def _price_words(answer: WhyNot) -> str:
    money, moves = f"{answer.brief.currency}/kg", answer.prices
    if answer.formula is None:
        return "".join(f"it cost {_money(move.to)} {money} or less ({_now(move)})" for move in moves)
    few = moves if len(moves) <= FEW else ()
    return listed([f"{move.ingredient} cost {_money(move.to)} {money} ({_now(move)})" for move in few])


def _now(move: PriceMove) -> str:
    return "it has no price now" if move.now is None else f"now {_money(move.now)}"


def _limit_words(answer: WhyNot) -> str:
    if answer.limits:
        return _limit(answer.limits[0])
    return listed(list(map(_limit, answer.together))) if len(answer.together) <= FEW else ""


def _limit(move: LimitMove) -> str:
    now = "" if move.now is None else f" (now {number(move.now)})"
    words = demanded(move.demand, number(move.to)).removeprefix(move.demand.name)
    return f"{move.demand.name} were{words}{now}"


def _money(price: float) -> str:
    return number(price, 2) if price >= 0.01 else number(price)


def _checked(answer: WhyNot) -> Iterator[Sentence]:
    if answer.prices or answer.limits or answer.together:
        what = "the ingredient is used" if answer.formula is None else "no formula is better"
        yield Sentence(f"Checked by designing again with each change: {what}.")


def _limits(answer: WhyNot) -> Table:
    """Each limit that alone would do, or those that do together."""
    one = answer.formula is None
    head = "any one of these limits" if answer.limits else "all of these limits"
    used = (Column("then used", "% of the jar", 2),) if one else ()
    rows = tuple((*_limit_row(move), *((move.percent,) if one else ())) for move in (*answer.limits, *answer.together))
    return Table((Column(head), Column("now", unknown="-"), Column("would be"), Column(""), *used), rows)


def _limit_row(move: LimitMove) -> tuple[str, float | None, float, str]:
    side = "at least" if move.demand.side == "low" else "at most"
    return f"{move.demand.name} {side}", move.now, move.to, unit_of(move.demand)


def _prices(answer: WhyNot) -> Table:
    money = f"{answer.brief.currency}/kg"
    columns = Column("price of"), Column("now", money, 2), Column("would be", money, 2)
    return Table(columns, tuple((move.ingredient, move.now, move.to) for move in answer.prices))


def _table(answer: WhyNot) -> Table:
    """Every change, prices first."""
    money = f"{answer.brief.currency}/kg"
    columns = Column("what"), Column("now"), Column("would be"), Column("unit"), Column("alone")
    alone = len(answer.prices) == 1
    rows: list[tuple[Cell, ...]] = [
        (f"price of {move.ingredient}", move.now, move.to, money, alone) for move in answer.prices
    ]
    rows += [(*_limit_row(move), True) for move in answer.limits]
    rows += [(*_limit_row(move), False) for move in answer.together]
    return Table(columns, tuple(rows))


def _unlooked(answer: WhyNot) -> Iterator[str]:
    if answer.unlooked:
        yield f"These limits could not be looked at: {'; '.join(answer.unlooked)}."


def _subject(answer: WhyNot) -> str:
    return _name(answer) if answer.formula else capital(answer.subject)
