"""A base that several products share, told: what it costs against free formulas, what it saves, and what is in it."""

from collections.abc import Iterator, Sequence

from optiform.costs.file import OneOff
from optiform.costs.money import shown
from optiform.design.planned import RangeAnswer
from optiform.design.shared import CommonBase
from optiform.reading.units import count_of
from optiform.telling.figures import listed
from optiform.telling.parts import Column, Part, Section, Sentence, Table

ONCE = "An assessor decides whether one assessment covers the base and what each product has beside it."

ALONE = "A common base takes two products or more. Plan another beside this one."
NONE = (
    "No two of the products can share a base within their limits: all formulas here are free. Each also keeps what "
    "customers notice. What differs between them, such as an oil or the grains, can be called a product's own in the "
    "plan, beside the base (own: optiform guide buying)."
)


def on_one_base(of: CommonBase, answer: RangeAnswer) -> Iterator[Sentence]:
    """Who shares it, and the money beside that of free formulas."""
    money = answer.plan.currency
    if not of.products:
        yield Sentence(NONE if len(answer.products) > 1 else ALONE)
        return
    yield Sentence(f"{listed(of.products)} share one base; beside it each has its own lines.")
    if of.tried:
        yield Sentence(f"No more of them can share one: {count_of(of.tried, 'larger or equal group')} cannot.")
    if of.free is not None:
        more = answer.money - of.free
        words = f"{shown(more)} {money} more" if more >= 0.005 else _less(-more, money)
        goes_in = "" if of.free_used is None else f", and {of.free_used:.3f} kg would go in"
        yield Sentence(
            f"With free formulas it would be {shown(of.free)} {money}{goes_in}: the common base costs {words}."
        )


def _less(saved: float, money: str) -> str:
    """How a base can cost less than formulas that are free: no brief but the first fixes its lines."""
    if saved < 0.005:
        return "no more"
    return f"{shown(saved)} {money} less, as what a brief fixes of its lines holds in the first product alone"


def base(of: CommonBase, answer: RangeAnswer, once: Sequence[OneOff]) -> Section:
    """The base line by line, each product's own lines, and what is paid once instead of once for each."""
    if not of.products:
        return Section("base", "", ())
    rows = [(line.ingredient.name, line.phase, 100 * line.fraction) for line in of.base.lines]
    parts: list[Part] = [Table((Column("ingredient"), Column("phase"), Column("% of the base", "", 2)), tuple(rows))]
    for name, share, lines in zip(of.products, of.shares, of.own, strict=True):
        own = ", ".join(f"{line.ingredient.name} {100 * line.fraction:.2f}" for line in lines) or "nothing"
        parts.append(Sentence(f"{name}, % of the jar: base {100 * share:.2f}, beside it {own}."))
    parts += _paid_once(of, once, answer.plan.currency)
    return Section("base", "The common base", tuple(parts))


def _paid_once(of: CommonBase, once: Sequence[OneOff], money: str) -> Iterator[Sentence]:
    """What need not be paid for each of the products."""
    fewer = len(of.products) - 1
    if once:
        names = listed([one.name for one in once])
        saved = fewer * sum(one.cost for one in once)
        words = f"Paid once for the base and not {len(of.products)} times, {names}: {shown(saved)} {money} less."
        yield Sentence(f"{words} {ONCE}")
