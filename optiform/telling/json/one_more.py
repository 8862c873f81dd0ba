"""What one purchase would do, as plain data."""

from optiform.design.one_more import OneMore
from optiform.telling.json.form import Data, Record, answer, many, number, quantity, record, text, texts, whole


def form(unit: str) -> Record:
    """The purchases that help, the one that helps most first."""
    bought = record(text("ingredient"), quantity("value", unit), number("percent"))
    return answer(
        ["answered"],
        text("title", "brief.title"), text("goal", "brief.goal.words"),
        quantity("value", unit, words="with what is in stock; null where no formula can be made of it", null=True),
        many("purchases", bought), whole("tried"), texts("not_looked_at", "unlooked"),
    )  # fmt: skip


def one_more(answer: OneMore) -> Data:
    """What one purchase would do."""
    return form(answer.brief.goal.unit).said(answer)
