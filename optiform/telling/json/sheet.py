"""A living sheet that was written, as plain data; or why there is none."""

from pathlib import Path

from optiform.design.answer import NoFormula
from optiform.design.sheet import Sheet
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, formula
from optiform.telling.json.design import impossible


def sheet(answer: Sheet | NoFormula, page: Path) -> Data:
    """The formula that the page begins with, and how far each limit can be moved on it."""
    if isinstance(answer, NoFormula):
        return impossible(answer)
    return answered(
        "written",
        title=answer.brief.title,
        file=str(page),
        formula=formula(answer.start.formula),
        limits=[
            {
                "limit": slider.demand.name,
                "side": slider.demand.side,
                "target": slider.demand.target,
                "unit": slider.demand.unit,
                "from": slider.low,
                "to": slider.high,
                "nothing_below": slider.ends_low,
                "nothing_above": slider.ends_high,
            }
            for slider in answer.sliders
        ],
    )
