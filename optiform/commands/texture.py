"""optiform texture: firmer or softer."""

import argparse
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.files import check_names
from optiform.commands.options import onward, write_option
from optiform.commands.tell import again, answer
from optiform.design.around import today_of
from optiform.design.texture import texture
from optiform.properties.firmness import ASSUMED
from optiform.telling import texture as words
from optiform.telling.json.options import texture as as_json
from optiform.trials.fit import Fitted, fit
from optiform.workshop.log import records_from


def run(options: argparse.Namespace) -> int:
    """Find the options and print them."""
    brief = read_brief(options.brief)
    check_names(options)
    fitted = _fitted(brief, options.workshop) if options.workshop else None
    result = texture(
        brief,
        step=options.step,
        temperature=options.at,
        free_emulsifier=options.free_emulsifier,
        cold_most=options.cold_most,
        hot_least=options.hot_least,
        known=fitted.exponents if fitted else ASSUMED,
    )
    formulas = {name.split()[-1]: choice.formula for name, choice in words.choices(result).items()}
    write_option(options, formulas, next(iter(formulas), ""))
    telling = words.texture(result, fitted)
    steps = words.steps(result, again(options), again(options, {"--step": 1}))
    answer(replace(telling, steps=onward(options, steps)), options, lambda: as_json(result))
    if not result.decided:
        return UNPROVEN
    return ANSWERED if result.reached else IMPOSSIBLE


def _fitted(brief: Brief, place: str) -> Fitted:
    """The scale as the trials of a workshop fit it; the brief's reference is 100."""
    return fit(records_from(place), brief.catalogue, today_of(brief))
