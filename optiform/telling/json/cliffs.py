"""What the last jars of a plan cost, as plain data."""

from optiform.costs.cliffs import Cliffs
from optiform.telling.costed import terms_notes
from optiform.telling.json.form import Data, Record, answer, day, many, quantity, record, text, texts, whole

_PACK = record(
    text("ingredient", "offer.ingredient"), text("supplier", "offer.supplier"), quantity("pack", "kg", "offer.pack"),
    whole("count"),
)  # fmt: skip
_OF_EACH = record(text("product", lambda pair: pair[0]), whole("jars", lambda pair: pair[1]))


def form(money: str, products: tuple[str, ...]) -> Record:
    """The most jars first; `gone` and `come` are packs against the step before."""
    step = record(
        whole("jars", "total"), many("of_each", _OF_EACH, lambda step: zip(products, step.jars, strict=True)),
        quantity("to_pay", money, "money"),
        many("packs", _PACK), many("gone", _PACK, words="not bought any more"),
        many("come", _PACK, words="bought in their place"),
    )  # fmt: skip
    return answer(
        ["planned", "stopped"],
        text("title", "plan.title"), day("date", "plan.date"), many("steps", step, words="the most jars first"),
        texts("notes", lambda of: terms_notes(of.plan, of.terms)),
        status=lambda of: "planned" if of.whole else "stopped", words="stopped: fewer jars were not looked at",
    )  # fmt: skip


def cliffs(of: Cliffs) -> Data:
    """What the last jars cost, the most jars first."""
    return form(of.plan.currency, tuple(product.name for product in of.plan.products)).said(of)
