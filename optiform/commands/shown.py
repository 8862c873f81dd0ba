"""An answer to a brief, or why it has none, printed with its next steps."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands import tell as told
from optiform.commands.common import print_json
from optiform.design.answer import Designed, NoFormula
from optiform.telling.design import designed
from optiform.telling.parts import SCREEN, Step


def show(
    answer: Designed | NoFormula, options: argparse.Namespace, steps: tuple[Step, ...], lines: int = SCREEN
) -> int:
    """Print an answer with its next steps, in so many lines; the exit code says whether there is one."""
    if isinstance(answer, Designed):
        told.answer(replace(designed(answer), steps=steps, lines=lines), options, lambda: _as_json(answer))
        return ANSWERED
    if options.json:
        print_json(_as_json(answer))
    else:
        from optiform.telling.impossible import impossible

        told.tell(replace(impossible(answer), steps=steps), options)
    return IMPOSSIBLE if answer.decided else UNPROVEN


def _as_json(answer: Designed | NoFormula) -> dict[str, object]:
    from optiform.telling import json as jsonform

    return jsonform.designed(answer) if isinstance(answer, Designed) else jsonform.impossible(answer)
