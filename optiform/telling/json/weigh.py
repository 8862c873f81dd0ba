"""A formula in whole steps of the scale, as plain data."""

from optiform.design.answer import NoFormula
from optiform.design.steps import Unweighable, Weighed
from optiform.telling.json.basic import KEEPS, demand_keys, formula, product_proof, warnings
from optiform.telling.json.design import IMPOSSIBLE
from optiform.telling.json.form import (
    Data,
    Either,
    Shared,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    whole,
)  # fmt: skip

_LINE = Shared(
    "weigh_line",
    record(
        text("ingredient"), text("phase"), number("grams"), whole("steps"), number("step", words="g"),
        number("rounded_by", "drift", "g"), number("rounded_by_points", "points", "% points"),
    ),
)  # fmt: skip
_MISS = record(*demand_keys("demand"), number("value"), number("by"))


def form(money: str, unit: str) -> Either:
    """What to put on the scale, with the proof of how good it is; or why the scale cannot, and what comes nearest."""
    found = answer(
        ["weighed"],
        text("title", "brief.title"), many("lines", _LINE), quantity("batch", "g"), formula(get="report.formula"),
        formula("before_rounding", "rounded"), key("keeps", KEEPS, "report"), quantity("cost", money),
        quantity("cost_before_rounding", money, "cost_unrounded"), quantity("value_before_rounding", unit, "unrounded"),
        key("proof", product_proof(unit)), warnings("report.warnings"), texts("notes"),
    )  # fmt: skip
    nothing = answer(
        ["infeasible", "undecided"],
        text("title", "brief.title"), text("reason"), many("misses", _MISS), many("nearest", _LINE),
        quantity("batch", "g"), whole("fewest_ingredients", "fewest", null=True), warnings("report.warnings"),
        texts("notes"),
        status=lambda of: "infeasible" if of.decided else "undecided",
    )  # fmt: skip
    return Either((found, nothing, IMPOSSIBLE), lambda of: (Weighed, Unweighable, NoFormula).index(type(of)))


def weighed(answer: Weighed | Unweighable | NoFormula) -> Data:
    """What to put on the scale, with the proof of how good it is."""
    said: Data = form(f"{answer.brief.currency}/kg", getattr(answer, "unit", "")).said(answer)
    return said
