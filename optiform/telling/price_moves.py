"""Prices that move, told: how often the answer stays the cheapest, and what keeping to it costs."""

from collections.abc import Iterator

from optiform.design.price_moves import PriceUncertainty, UnderPrices
from optiform.ingredients.formula import Formula
from optiform.telling.around import moved, moves_between
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.noted import price_model
from optiform.telling.parts import Column, Level, Part, Section, Sentence, Table, sentences

SAME = 1e-5  # mass fraction: less is no difference that a scale shows


def price_moves(answer: PriceUncertainty) -> tuple[Section, ...]:
    """The answer among the formulas that are the cheapest at other prices."""
    options = named(answer)
    runs = f"The solver ran for {answer.solved} of them." if answer.solved else "None needed a new run of the solver."
    proof = (
        f"Worst proven gap of any price list: {answer.gap:.1e}. {runs}",
        f"{capital(price_model(answer))}.",
    )
    return (
        Section("moves", "", (*_answered(answer), _table(answer, options), *_differ(answer, options))),
        Section("kept", "", sentences(f"{capital(in_words(note))}." for note in answer.notes)),
        Section("proof", "Proof", sentences(proof), short=False),
    )


def named(answer: PriceUncertainty) -> dict[str, UnderPrices]:
    """The options: the answer first, then the others that are most often the cheapest, and what keeps best."""
    others = [option for option in answer.rivals if not _same(option.formula, answer.chosen.formula)]
    options = {f"option {k}": option for k, option in enumerate([answer.chosen, *others], 1)}
    if not any(_same(answer.least_regret.formula, option.formula) for option in options.values()):
        options[f"option {len(options) + 1}"] = answer.least_regret
    return options


def _same(first: Formula, second: Formula) -> bool:
    names = {line.ingredient.name for line in (*first.lines, *second.lines)}
    return all(abs(first.fraction(name) - second.fraction(name)) < SAME for name in names)


def _answered(answer: PriceUncertainty) -> Iterator[Part]:
    money, chosen = f"{answer.brief.currency}/kg", answer.chosen
    low, high = (100 * end for end in answer.spreads)
    spread = f"{low:g} %" if low == high else f"{low:g} to {high:g} %"
    yield Sentence(
        f"Option 1, the cheapest at today's prices, stays the cheapest in {100 * chosen.share:.1f} % of "
        f"{answer.scenarios} price lists."
    )
    yield Sentence(
        f"Keeping to it costs {chosen.regret:.3f} {money} more, on average, than the cheapest formula of each list; in "
        f"95 lists of 100 less than {chosen.regret_95:.3f}."
    )
    yield Sentence(
        f"In a list each price moves by itself: two times in three by less than about {spread}. The "
        f"lists are drawn by chance (seed {answer.seed}: the same ones each time).",
        Level.NOTE,
    )
    best = " to ".join(f"{end:.3f}" for end in answer.best_band)
    yield Sentence(
        f"{answer.distinct} formulas are the cheapest in some list. Chosen anew for each, nine costs in ten lie from "
        f"{best} {money}.",
        Level.NOTE,
    )


def _table(answer: PriceUncertainty, options: dict[str, UnderPrices]) -> Table:
    money = f"{answer.brief.currency}/kg"
    columns = (
        Column("formula"), Column("cheapest in", "% of lists", 1), Column("cost today", money, 3),
        Column("nine in ten from", "", 3), Column("to", "", 3), Column("keeping it costs more", "", 3),
        Column("95 in 100 below", "", 3),
    )  # fmt: skip
    rows = tuple((name, 100 * o.share, o.typical, *o.cost_band, o.regret, o.regret_95) for name, o in options.items())
    return Table(columns, rows)


def _differ(answer: PriceUncertainty, options: dict[str, UnderPrices]) -> Iterator[Part]:
    for name, option in list(options.items())[1:]:
        words = moved(moves_between(answer.chosen.formula, option.formula))
        best = " It costs least to keep." if option.regret <= answer.least_regret.regret else ""
        yield Sentence(f"{capital(name)}: {words} of the jar.{best}", bullet=True)
