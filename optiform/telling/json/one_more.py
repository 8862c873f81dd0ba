"""What one purchase would do, as plain data."""

from optiform.design.one_more import OneMore
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, quantity


def one_more(answer: OneMore) -> Data:
    """The purchases that help, the one that helps most first."""
    unit = answer.brief.goal.unit
    return answered(
        "answered",
        title=answer.brief.title,
        goal=answer.brief.goal.words,
        value=None if answer.value is None else quantity(answer.value, unit),
        purchases=[
            {"ingredient": x.ingredient, "value": quantity(x.value, unit), "percent": x.percent}
            for x in answer.purchases
        ],
        tried=answer.tried,
        not_looked_at=list(answer.unlooked),
    )
