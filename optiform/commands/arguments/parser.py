"""The parser of the command line: its faults are sentences like all others, and old names go on being read."""

from __future__ import annotations

import argparse
import re
import sys

from optiform.commands import BAD_INPUT
from optiform.commands.remarks import remark

TYPE_CHECKING = False  # see optiform/__init__.py
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from typing import Any, NoReturn

    from optiform.reading.faults import Fault

#: Options of the version before by the name they have now; read for this version, and the new name is said.
RENAMED = {"--workshop": "--records"}
#: Actions of the version before, each behind its command, by the name they have now; read and said likewise.
ACTIONS: dict[tuple[str, ...], str] = {("stock", "keep"): "save"}


class Parser(argparse.ArgumentParser):
    """A parser whose errors are worded like every other fault, and a JSON object too where JSON was asked for.

    With `declare`, it is made when it is first needed, and its arguments are declared by that: one run needs the parser
    of one command, and making one takes a while.
    """

    def __init__(self, declare: Callable[[Parser], None] | None = None, **settings: Any) -> None:
        self._declare, self._settings = declare, settings
        if declare is None:
            self._made()

    def _made(self) -> None:
        super().__init__(**self._settings)
        # `-1kg` is an amount and no option: none of ours begins with a digit.
        self._negative_number_matcher = re.compile(r"^-[\d.,].*$", re.DOTALL)

    def declared(self) -> Parser:
        """The parser with its arguments."""
        if self._declare is not None:
            declare, self._declare = self._declare, None
            self._made()
            declare(self)
        return self

    def format_help(self) -> str:
        """As ever."""
        self.declared()
        return super().format_help()

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As ever; notes whether JSON was asked for, which an error must know before all is read."""
        self.declared()
        words = sys.argv[1:] if args is None else list(args)
        words = renamed(words, options_of(within(self, words)))
        self._words = words
        return super().parse_known_args(words, namespace)

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and where help is, and stop."""
        asked = within(self, self._words)
        fault = _fault(_of_an_option(message, self, self._words), asked)
        if "--json" in self._words:
            import json

            from optiform.reading.plain import answered

            told = {"file": fault.file, "place": fault.place, "read": fault.read, "expected": fault.expected}
            print(json.dumps(answered("bad input", faults=[told]), ensure_ascii=False, indent=1))
        remark(str(fault))
        remark(f"For what it takes: {asked.prog} --help")
        self.exit(BAD_INPUT)


def renamed(words: Sequence[str], known: Sequence[str]) -> list[str]:
    """The arguments with the names that options have now; what was renamed is said on the standard error.

    Args:
        words: the arguments as they were written.
        known: the options of the command they name.
    """
    now = []
    if action := ACTIONS.get(tuple(words[:2])):
        remark(f"{words[1]} is now called {action}; the old name is read for one version more.")
        words = [words[0], action, *words[2:]]
    for word in words:
        old, is_with, value = word.partition("=")
        new = RENAMED.get(old, "")
        if new in known:
            remark(f"{old} is now called {new}; the old name is read for one version more.")
            word = f"{new}{is_with}{value}"
        now.append(word)
    return now


def within(parser: Parser, words: Sequence[str]) -> Parser:
    """The parser of the command that the arguments name, as far down as they go."""
    for word in words:
        deeper = commands_of(parser)
        if word in deeper:
            parser = deeper[word]
    return parser


def commands_of(parser: Parser) -> dict[str, Parser]:
    """Name of every command right below a parser to its own parser, in the order of the help."""
    groups = (action for action in parser.declared()._actions if isinstance(action, argparse._SubParsersAction))
    return next((dict(group.choices) for group in groups), {})


def options_of(parser: Parser) -> list[str]:
    """The options of one command, by their long names."""
    return [name for action in parser.declared()._actions for name in action.option_strings if name.startswith("--")]


#: A fault in an argument as the parser words it: its own, and those of the readers in `arguments`.
_WORDS = (
    (r"argument (?P<place>.+?): read (?P<read>.+), expected (?P<expected>.+)", ""),
    (r"argument (?P<place>.+?): invalid choice: (?P<read>.+) \(choose from (?P<expected>.+)\)", "one of: "),
    (r"the following arguments are required: (?P<place>.+)", "a value: none of these can be left out"),
    (r"argument (?P<place>.+?): expected (?P<expected>.+?)(?: argument| arguments)?", "a value: "),
    (r"argument (?P<place>.+?): not allowed with argument (?P<read>.+)", "only one of the two"),
    (r"unrecognized arguments: (?P<read>.+)", "only what --help lists"),
)


def _of_an_option(message: str, parser: Parser, words: Sequence[str]) -> str:
    """The message; where the value of an unknown option was read as a command, that of the option."""
    match = re.search(r"invalid choice: '(.+)' \(", message, re.DOTALL)
    if not match or match[1] not in words or not commands_of(parser):
        return message
    before = words[words.index(match[1]) - 1] if words.index(match[1]) else ""
    unknown = before.startswith("--") and before not in options_of(parser)
    return f"unrecognized arguments: {before}" if unknown else message


def _fault(message: str, asked: Parser) -> Fault:
    """The parser's message as place, what was read, what was expected and, where these say too little, a sentence."""
    from optiform.reading.faults import COMMAND_LINE, Fault

    for pattern, words in _WORDS:
        if match := re.fullmatch(pattern, message, re.DOTALL):
            parts = match.groupdict()
            place, read = parts.get("place", "arguments"), parts.get("read", "nothing")
            choices = parts.get("expected", "")
            expected = f"{words}{choices.replace(chr(39), '') if words else choices}"
            return Fault(COMMAND_LINE, place, read, expected, _sentence(place, read, expected, asked))
    return Fault(COMMAND_LINE, "arguments", "what was written", message, f"{message[:1].upper()}{message[1:]}.")


def _sentence(place: str, read: str, expected: str, asked: Parser) -> str:
    """What is said of commands and options; empty where place, reading and expectation make a good sentence."""
    word, deeper = read.strip("'\""), commands_of(asked)
    if expected.startswith("a value: none"):
        choices = f" Write one of: {', '.join(deeper)}." if deeper else ""
        lacking = place.replace(", ", " and ")
        are = "is" if lacking == place else "are"
        return f"{lacking} {are} missing.{choices or _for_instance(asked)}"
    if expected.startswith("a value: "):
        return f"{place} needs a value after it."
    if expected == "only one of the two":
        return f"{place} does not go with {read}. Take one of the two out."
    if expected.startswith("only what") and word.startswith("-"):
        word = word.split()[0].partition("=")[0]
        return f"There is no option {word} here.{_meant(word, options_of(asked), 0.7)}"
    if expected.startswith("only what"):
        takes = " ".join(name for action in _wanted(asked) if not (name := _name(action)).startswith("-"))
        many = f"takes {takes} and nothing else" if takes else "takes options only"
        return f"“{word}” is one word too many: {asked.prog} {many}. A name of several words stands in quotes."
    if expected.startswith("one of: ") and deeper:
        meant, can = _meant(word, deeper, 0.6), ", ".join(deeper)
        below = " " in asked.prog and not meant
        return (
            f"“{word}” is nothing that {asked.prog} can do. It can: {can}."
            if below
            else f"There is no command {word}.{meant}"
        )
    return ""


#: What a reader can write where an argument is missing.
EXAMPLES = {
    "BRIEF": "brief.toml", "FORMULA": "today.csv", "PLAN": "plan.toml", "FILE": "label.txt", "TRIAL": "F-7",
    "INGREDIENT": '"mango butter"', "MASS": '"5 kg"', "LOT": "L001", "LOT|INGREDIENT": "L001", "PIECES": "25",
    "FILE.zip": "all.zip", "FILE.zip|FOLDER": "all.zip", "--brief": "brief.toml", "--costs": "costs.toml",
    "--reason": '"as counted"', "--firmness": "100", "--ask": '"firmness at 10 °C"',
}  # fmt: skip


def _wanted(asked: Parser) -> list[argparse.Action]:
    """The arguments that a command cannot do without, and those that stand without a name."""
    return [action for action in asked.declared()._actions if action.required or not action.option_strings]


def _name(action: argparse.Action) -> str:
    return action.option_strings[0] if action.option_strings else str(action.metavar or action.dest)


def _for_instance(asked: Parser) -> str:
    """A whole command line to copy; none where an argument has no example."""
    names = [_name(action) for action in _wanted(asked) if action.required]
    if not all(name in EXAMPLES for name in names):
        return ""
    words = (f"{name} {EXAMPLES[name]}" if name.startswith("-") else EXAMPLES[name] for name in names)
    return f" Write for instance: {' '.join([asked.prog, *words])}"


def _meant(word: str, known: Iterable[str], alike: float) -> str:
    """The question which known name was meant, where one looks like it."""
    import difflib

    near = difflib.get_close_matches(word, list(known), n=1, cutoff=alike)
    return f" Did you mean {near[0]}?" if near else ""
