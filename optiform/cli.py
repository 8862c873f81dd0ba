"""The command line: arguments in, one command picked. The command's module is imported only then, so help is quick."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any, NoReturn

from optiform.arguments import design, product, workshop
from optiform.commands import ANSWERED, BAD_INPUT, UNPROVEN

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns the exit code: 0 answered, 1 the brief cannot be met, 2 bad input, 3 no verdict (undecided, or an answer
    that failed its own check).
    """
    options = _parser().parse_args(arguments)
    from importlib import import_module

    from optiform.faults import BadInput, Unproven

    try:
        return int(import_module(f"optiform.commands.{options.module}").run(options))
    except BadInput as bad:
        print("\n".join(map(str, bad.faults)), file=sys.stderr)
        faults = [{"file": f.file, "place": f.place, "read": f.read, "expected": f.expected} for f in bad.faults]
        _tell(options.json, {"status": "bad input", "faults": faults})
        return BAD_INPUT
    except Unproven as error:
        print(f"optiform: {error.told} ({error})", file=sys.stderr)
        _tell(options.json, {"status": error.status, "warnings": [f"{error.told} ({error})"]})
        return UNPROVEN
    except BrokenPipeError:  # the reader of our output has gone; nothing is left to say
        sys.stderr.close()
        return ANSWERED


def _tell(as_json: bool, data: dict[str, Any]) -> None:
    if as_json:
        import json

        print(json.dumps(data, ensure_ascii=False, indent=1))


class _Parser(argparse.ArgumentParser):
    """A parser whose usage errors are a JSON object too where JSON was asked for."""

    def error(self, message: str) -> NoReturn:
        _tell("--json" in sys.argv, {"status": "bad input", "faults": [{"file": "command line", "expected": message}]})
        super().error(message)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="optiform",
        description="Design cosmetic formulas before mixing: the cheapest formula that meets a brief, and why.",
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for family in (design, product, workshop):
        family.add(commands)
    return parser
