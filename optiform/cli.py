"""The command line: arguments in, one command picked. The command's module is imported only then, so help is quick."""

from __future__ import annotations

import argparse
import re
import sys
from typing import TYPE_CHECKING, Any, NoReturn

from optiform.commands import ANSWERED, BAD_INPUT, UNPROVEN
from optiform.commands.arguments import design, product, workshop

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns the exit code: 0 answered, 1 the brief cannot be met, 2 bad input, 3 no verdict (undecided, or an answer
    that failed its own check).
    """
    options = _parser().parse_args(arguments)
    from importlib import import_module

    from optiform.commands.arguments.options import read
    from optiform.reading.faults import BadInput, Unproven

    try:
        module = import_module(f"optiform.commands.{options.module}")
        if not hasattr(module, "READS"):  # the options itself, to tell what is wrong with them together with more
            read(options).finish()
        return int(module.run(options))
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


#: A fault in an argument as the parser words it: its own, and those of the readers in `arguments`.
_WORDS = (
    (r"argument (?P<place>.+?): read (?P<read>.+), expected (?P<expected>.+)", ""),
    (r"argument (?P<place>.+?): invalid choice: (?P<read>.+) \(choose from (?P<expected>.+)\)", "one of: "),
    (r"the following arguments are required: (?P<place>.+)", "a value: none of these can be left out"),
    (r"argument (?P<place>.+?): expected (?P<expected>.+?)(?: argument| arguments)?", "a value: "),
    (r"unrecognized arguments: (?P<read>.+)", "only what --help lists"),
)


def _fault(message: str) -> dict[str, str]:
    """The parser's message as file, place, what was read and what was expected."""
    for pattern, words in _WORDS:
        if found := re.fullmatch(pattern, message, re.DOTALL):
            told = found.groupdict()
            expected = f"{words}{told.get('expected', '')}"
            place, read = told.get("place", "arguments"), told.get("read", "nothing")
            return {"file": "command line", "place": place, "read": read, "expected": expected}
    return {"file": "command line", "place": "arguments", "read": "what was written", "expected": message}


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are worded like every other fault, and a JSON object too where JSON was asked for."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **settings)
        # `-1kg` is an amount and no option: none of ours begins with a digit.
        self._negative_number_matcher = re.compile(r"^-[\d.,].*$", re.DOTALL)

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As ever; notes whether JSON was asked for, which an error must know before all is read."""
        words = sys.argv[1:] if args is None else list(args)
        self._json = "--json" in words
        return super().parse_known_args(words, namespace)

    def error(self, message: str) -> NoReturn:
        from optiform.reading.faults import Fault

        fault = Fault(**_fault(message))
        told = {"file": fault.file, "place": fault.place, "read": fault.read, "expected": fault.expected}
        _tell(self._json, {"status": "bad input", "faults": [told]})
        self.exit(BAD_INPUT, f"{self.format_usage()}{fault}\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="optiform",
        description="Design cosmetic formulas before mixing: the cheapest formula that meets a brief, and why.",
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for family in (design, product, workshop):
        family.add_commands(commands)
    return parser
