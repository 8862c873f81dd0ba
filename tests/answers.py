"""Answers worked out once in a run of the tests, for those that look only at how answers are told and saved.

A question is a value, and so is its answer: the same brief, read again from another copy of the demo, is the same
question (`tests/face/test_answers.py` holds that, and works each one out twice). Tests of the jobs themselves, and
those that change something inside them, ask anew.
"""

import inspect
from collections.abc import Callable, Hashable, Iterator, Mapping
from contextlib import contextmanager
from functools import wraps
from typing import ParamSpec, TypeVar

import pytest

from optiform.batch.batch import batch_sheet as batch_sheet_anew
from optiform.costs.buy import buy as buy_anew
from optiform.costs.cliffs import cliffs as cliffs_anew
from optiform.costs.jar import cost_sheet as cost_sheet_anew
from optiform.design.alternatives import alternatives as alternatives_anew
from optiform.design.cheaper import cheaper as cheaper_anew
from optiform.design.design import design as design_anew
from optiform.design.entry import why_not as why_not_anew
from optiform.design.explore import explore_limit as explore_limit_anew
from optiform.design.one_more import one_more as one_more_anew
from optiform.design.price_lists import for_all_prices as for_all_prices_anew
from optiform.design.price_moves import price_uncertainty as price_uncertainty_anew
from optiform.design.protect import protect as protect_anew
from optiform.design.range import range_design as range_design_anew
from optiform.design.sheet import sheet as sheet_anew
from optiform.design.substitute import substitute as substitute_anew
from optiform.design.texture import texture as texture_anew
from optiform.design.unlike import unlike as unlike_anew
from optiform.design.weigh import round_formula as round_formula_anew
from optiform.design.weigh import weigh as weigh_anew
from optiform.label.from_label import from_label as from_label_anew
from optiform.trials.fit import fit as fit_anew

P = ParamSpec("P")
T = TypeVar("T")


def once(job: Callable[P, T]) -> Callable[P, T]:
    """A job that answers the same question from what it has answered before; of its progress nothing is shown then."""
    answers: dict[Hashable, T] = {}
    signature = inspect.signature(job)

    @wraps(job)
    def asked(*args: P.args, **more: P.kwargs) -> T:
        question = signature.bind(*args, **more)
        question.apply_defaults()
        key = tuple(_key(part) for name, part in question.arguments.items() if name != "progress")
        if key not in answers:
            answers[key] = job(*args, **more)
        return answers[key]

    return asked


def _key(part: object) -> Hashable:
    part = tuple(part.items()) if isinstance(part, Mapping) else part
    return tuple(map(_key, part)) if isinstance(part, list | tuple) else part


alternatives = once(alternatives_anew)
batch_sheet = once(batch_sheet_anew)
buy = once(buy_anew)
cheaper = once(cheaper_anew)
cliffs = once(cliffs_anew)
cost_sheet = once(cost_sheet_anew)
design = once(design_anew)
explore_limit = once(explore_limit_anew)
fit = once(fit_anew)
for_all_prices = once(for_all_prices_anew)
from_label = once(from_label_anew)
one_more = once(one_more_anew)
price_uncertainty = once(price_uncertainty_anew)
protect = once(protect_anew)
range_design = once(range_design_anew)
round_formula = once(round_formula_anew)
sheet = once(sheet_anew)
substitute = once(substitute_anew)
texture = once(texture_anew)
unlike = once(unlike_anew)
weigh = once(weigh_anew)
why_not = once(why_not_anew)

#: The commands by what each asks for.
ASKS: dict[str, tuple[Callable[..., object], ...]] = {
    "buy": (cliffs,),
    "cheaper": (cheaper,),
    "demo": (design,),
    "design": (design,),
    "explore": (alternatives, explore_limit, for_all_prices, price_uncertainty, protect, unlike),
    "from_label": (from_label,),
    "one_more": (one_more,),
    "range": (range_design,),
    "sheet": (sheet,),
    "substitute": (substitute,),
    "texture": (texture,),
    "trial": (fit,),
    "weigh": (weigh, round_formula),
    "why_not": (why_not,),
}


#: What the pages ask.
BY_PAGES: tuple[Callable[..., object], ...] = (
    alternatives, batch_sheet, buy, cheaper, cost_sheet, explore_limit, range_design, sheet, substitute, texture, weigh,
)  # fmt: skip


@contextmanager
def shared() -> Iterator[None]:
    """While it lasts, the commands ask for each answer once."""
    with pytest.MonkeyPatch.context() as patch:
        for command, asked in ASKS.items():
            for job in asked:
                patch.setattr(f"optiform.commands.{command}.{job.__name__}", job)
        yield


@contextmanager
def shared_by_pages() -> Iterator[None]:
    """While it lasts, the pages and the Python face do; they look for a job each time that they ask."""
    with pytest.MonkeyPatch.context() as patch:
        for job in BY_PAGES:
            patch.setattr(f"{job.__module__}.{job.__name__}", job)
        yield
