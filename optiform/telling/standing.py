"""A formula as it stands on the bench: what is told of each line, and how firm it is with the reading to take of it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from optiform.batch.grams import in_grams
from optiform.brief.brief import Brief
from optiform.design.levers import Lever
from optiform.design.todays_firmness import what_lacks
from optiform.ingredients.formula import Formula
from optiform.properties.cost import cost
from optiform.properties.firmness import without_network
from optiform.reading.frozen import frozen
from optiform.telling.figures import capital
from optiform.telling.formula import grams_of, price_of, share_of
from optiform.telling.parts import Column, Part, Section, Sentence, Table, number
from optiform.trials.firm import LOOKED_AT, Firm, Fitted, OnGauge, beside_today

SEEN = 0.005  # % of the jar: less is not shown of a line
READ = "you should read"
MOST_MOVES = 5  # lines named of a step


@frozen
class BenchLine:
    """One line of the formula on the bench. Percent and grams are as they are shown; money is the brief's.

    `more` and `firmness` as in `Lever`; None where they are not known.
    """

    ingredient: str
    percent: float
    grams: float
    price: float | None
    cost: float | None
    more: float | None
    firmness: float | None


def bench_lines(brief: Brief, formula: Formula, levers: Sequence[Lever]) -> tuple[BenchLine, ...]:
    """Every line of a formula, phase by phase.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> brief = read_brief(DEMO / "brief.toml")
        >>> first = bench_lines(brief, brief.reference, ())[0]
        >>> first.ingredient, first.percent, first.grams, first.price
        ('water', 24.2, 968.0, 0.4)
    """
    grams = in_grams(formula, brief)
    weights = {line.ingredient.name: float(weight) for line, weight in grams.lines} if grams else {}
    known = {lever.ingredient: lever for lever in levers}
    rows = []
    for line in formula.lines:
        name, price = line.ingredient.name, price_of(line.ingredient, brief.currency)
        lever = known.get(name)
        rows.append(
            BenchLine(
                ingredient=name,
                percent=round(share_of(line), 2),
                grams=weights.get(name, grams_of(line, brief.batch)),
                price=price,
                cost=None if price is None else line.fraction * price,
                more=lever.cost if lever else None,
                firmness=lever.firmness if lever else None,
            )
        )
    return tuple(rows)


def firmness(firms: Sequence[Firm], today: bool, without: str = "") -> Section:
    """How firm a formula is, cold to hot, and what the maker reads of it herself.

    Args:
        firms: at each temperature.
        today: whether the scale's 100 is today's formula; else it is this one.
        without: why there is none, in a sentence.
    """
    if not firms:
        return Section("firmness", "Firmness", (Sentence(without),))
    gauge = _gauge(firms)
    columns = (Column("°C"), Column("firmness"), Column("could be"), *([Column(READ)] if gauge else []))
    rows = tuple((f"{firm.temperature:g}", *_cells(firm, bool(gauge))) for firm in firms)
    hundred = "Today's formula at 20 °C is 100." if today else "This formula at 20 °C is 100."
    way = (
        to_read(gauge)
        if gauge
        else "Log a push on a scale of one of your jars (Trials), and this also says what yours should read, in grams."
    )
    return Section("firmness", "Firmness", (Table(columns, rows), Sentence(f"{hundred} {way}")))


def firmness_unknown(formula: Formula, today: Formula | None = None) -> str:
    """Why no firmness is known of a formula, in a sentence that says what to do where a figure lacks.

    Args:
        formula: of which none is known.
        today: the formula that is 100, where there is one: it may be the one that lacks something.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"shea butter, refined": 59, "sea salt, fine": 40, "rosemary extract": 1})
        >>> print(firmness_unknown(scrub))
        Not known: no figure for the density of rosemary extract. Enter it under Ingredients.
        >>> print(firmness_unknown(mixed({"olive oil": 100})))
        Not known: nothing in it is solid at 20 °C, or its grains leave no room.
    """
    formulas = [formula, *([today] if today else [])]
    if lacking := next(filter(None, (what_lacks(each, LOOKED_AT) for each in formulas)), ""):
        return f"Not known: {lacking}. Enter it under Ingredients."
    carried = next(filter(None, map(without_network, formulas)), "")
    return f"Not known: {carried or 'nothing in it is solid at 20 °C, or its grains leave no room'}."


def firmness_beside(firms: Mapping[str, Firm], hundred: str) -> Iterator[Part]:
    """How firm formulas are in a room, side by side, and what the maker reads of each herself.

    Args:
        firms: at 20 °C, by the formula's name.
        hundred: the name of the formula that is 100.

    Example:
        >>> from optiform.properties.firmness import Band
        >>> (told,) = firmness_beside({"today": Firm(20.0, Band(100, 100, 100)), "new": Firm(20.0, Band(49, 116, 342))},
        ...                           "today")
        >>> print(told.text)
        Predicted at 20 °C, where today is 100: 116 for new (could be 49 to 342). Your own readings narrow it.
    """
    if gauge := _gauge(firms.values()):
        columns = (Column("at 20 °C"), Column("firmness"), Column("could be"), Column(READ))
        yield Table(columns, tuple((name, *_cells(firm, True)) for name, firm in firms.items()))
        yield Sentence(f"{capital(hundred)} at 20 °C is 100. {to_read(gauge)}")
        return
    others = [(name, _cells(firm, False)) for name, firm in firms.items() if name != hundred]
    if others:
        each = "; ".join(f"{typical} for {name}{_could_be(typical, ends)}" for name, (typical, ends) in others)
        narrow = " Your own readings narrow it." if any(typical != ends for _, (typical, ends) in others) else ""
        yield Sentence(f"Predicted at 20 °C, where {hundred} is 100: {each}.{narrow}")


def _could_be(typical: str, ends: str) -> str:
    """In brackets what a firmness could be; nothing where it can be nothing else."""
    return "" if typical == ends else f" (could be {ends})"


def firmness_line(brief: Brief, formulas: Mapping[str, Formula], fitted: Fitted | None = None) -> Iterator[Sentence]:
    """In one sentence how firm formulas are in a room against today's; nothing where fat and wax do not carry them.

    Args:
        brief: whose formula of today is 100.
        formulas: by what they are called in the answer.
        fitted: the scale fitted to the maker's own readings; then the sentence says what to read, too.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> brief = read_brief(DEMO / "brief.toml")
        >>> (told,) = firmness_line(brief, {"option 1": brief.reference})
        >>> print(told.text)
        Firmness at 20 °C, today 100: 100 in option 1. Your own readings narrow it.
    """
    firms = beside_today(brief, formulas, fitted)
    if firms:
        each = "; ".join(_beside_today(name, how) for name, how in firms.items())
        gauge = _gauge(filter(None, firms.values()))
        by = f"Read: {gauge}, mean of three jars." if gauge else "Your own readings narrow it."
        yield Sentence(f"Firmness at 20 °C, today 100: {each}. {by}")


def _beside_today(name: str, how: Firm | None) -> str:
    """How firm one formula is, for a sentence."""
    where = f"in {name}" if name.startswith("option") else name
    if how is None:
        return f"not known {where}"
    typical, ends = _cells(how, False)
    more = [f"could be {ends}"] * (typical != ends)
    more += [f"{READ} {gauge_reads(how.reading)}"] if how.reading else []
    beside = f" ({'; '.join(more)})" if more else ""
    return f"{typical} {where}{beside}"


def to_read(gauge: str) -> str:
    """What `you should read` says, of which gauge."""
    return f"You should read: {gauge}, mean of three jars."


def _gauge(firms: Iterable[Firm]) -> str:
    """The gauge on which the maker reads; empty where nothing was read."""
    return next((firm.reading.gauge for firm in firms if firm.reading), "")


def _cells(firm: Firm, gauged: bool) -> tuple[str, ...]:
    """A firmness, what it could be, and where readings count what a gauge reads of it."""
    low, high = f"{firm.band.low:.0f}", f"{firm.band.high:.0f}"
    cells = (number(firm.band.typical, 0), low if low == high else f"{low} to {high}")
    return (*cells, gauge_reads(firm.reading)) if gauged else cells


def gauge_reads(reading: OnGauge | None) -> str:
    """What a gauge reads.

    Example:
        >>> from optiform.properties.firmness import Band
        >>> gauge_reads(OnGauge("push on a scale", "g", Band(210.2, 290.4, 410.0)))
        '290 g (210 to 410)'
    """
    if reading is None:
        return ""
    low, middle, high = (
        f"{float(f'{end:.2g}'):g}" for end in (reading.band.low, reading.band.typical, reading.band.high)
    )
    return f"{middle} {reading.unit} ({low} to {high})".replace("  ", " ")


def last_step(before: Formula, now: Formula, currency: str, words: str) -> Section:
    """What a step changed: the cost of 1 kg, and the lines that moved, the largest first.

    Args:
        before: the formula before it.
        now: the formula after it.
        currency: of the prices.
        words: what was done.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> one, two = mixed({"olive oil": 80, "beeswax": 20}), mixed({"olive oil": 75, "beeswax": 25})
        >>> print(last_step(one, two, "EUR", "beeswax fixed at 25 %").parts[0].text)
        beeswax fixed at 25 %: olive oil -5.00, beeswax +5.00 % points.
    """
    names = dict.fromkeys(line.ingredient.name for formula in (before, now) for line in formula.lines)
    moves = [(name, 100 * (now.fraction(name) - before.fraction(name))) for name in names]
    moved = sorted(((name, by) for name, by in moves if abs(by) >= SEEN), key=lambda move: -abs(move[1]))
    was, cost_now = cost(currency).of(before), cost(currency).of(now)
    told = [f"{name} {by:+.2f}" for name, by in moved[:MOST_MOVES]]
    more = f" and {len(moved) - MOST_MOVES} more" if len(moved) > MOST_MOVES else ""
    lines = f"{', '.join(told)}{more} % points" if told else "no line moves"
    money = "" if was is None or cost_now is None else f"; {cost_now - was:+.3f} {currency}/kg"
    return Section("last", "The last step", (Sentence(f"{words}: {lines}{money}."),))
