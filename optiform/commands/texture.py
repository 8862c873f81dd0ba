"""optiform texture: firmer or softer."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.common import on_readings
from optiform.commands.files import check_names
from optiform.commands.options import onward, write_option
from optiform.commands.tell import again, answer
from optiform.design.texture import texture
from optiform.properties.firmness import ASSUMED
from optiform.telling import texture as words
from optiform.telling.json.options import texture as as_json


def run(options: argparse.Namespace) -> int:
    """Find the options and print them."""
    brief, fitted = on_readings(options)
    check_names(options)
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
    answer(replace(telling, steps=onward(options, brief, steps)), options, lambda: as_json(result))
    if not result.decided:
        return UNPROVEN
    return ANSWERED if result.reached else IMPOSSIBLE
