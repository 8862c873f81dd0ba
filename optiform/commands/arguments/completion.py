"""Scripts that let a shell complete commands, options, their words and files; made from the parser itself."""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Callable, Iterable, Iterator, Mapping

from optiform.commands.arguments.parser import Parser, commands_of
from optiform.reading.frozen import frozen

#: The parts that an answer can have, by the command that gives it; a shell completes `--part` with them.
PARTS = {
    "design": "answer formula summary warnings limits properties prices unused cost law acidity preservation cautions "
    "proof notice repairs one-more",
    "cheaper": "answer options end held unused proof trial",
    "substitute": "answer options distance end unused trial",
    "texture": "answer options scale unused trial the-furthest",
    "explore": "answer options leeway shares proof unlike price-lists formula curve moves protected missed warnings "
    "limits repairs unused bends",
    "weigh": "answer grams summary warnings limits law cautions proof notice",
    "check": "verdict warnings formula limits properties cost law acidity preservation cautions notice",
    "compare": "answer warnings lines firmness properties why shares label",
    "from-label": "ranges notes",
    "ingredients": "about figures declares notes fats sources list names ask read",
    "rules": "about ways sources overrule list sure levels",
    "stock": "short expiring overdrawn shelf packaging",
    "stock versions": "versions",
    "stock batch": "batch weighings",
    "batch": "amounts jar weigh warnings small parts larger steps confirm notes saved",
    "declare": "for list overruled net allergens names market cautions decisions rules sources draft",
    "costs": "cost parts prices jars pays dearer reach ingredients packs notes hit",
    "buy": "money orders notes stock balance cliffs",
    "range": "answer orders notes stock balance trial",
    "trial show": "trials forecasts making readings",
    "trial fit": "verdict trials taught scale without uncounted notes closing",
    "trial predict": "firmness instruments sealed notes closing",
    "trial next": "answer trials weigh small equal notes closing",
    "trial between": "answer brief warnings formula instruments limits notes closing",
}
PARTS["demo"] = PARTS["design"]

#: Placeholders of arguments that are files or folders; of others nothing is known to complete.
FILES = re.compile(r"BRIEF|PLAN|FORMULA|LABEL|FOLDER|PLACE|[A-Z]*FILE[.A-Za-z]*")


@frozen
class Place:
    """What can follow a command: its commands, its options, and what each option takes.

    Attributes:
        words: the commands that lead to it, joined by a blank; empty at the top.
        takes: option to the words it allows; None where it takes a file, empty where nothing is known.
        flags: options that take nothing.
        choices: words that an argument of it allows.
        files: whether an argument of it is a file.
    """

    words: str
    commands: tuple[tuple[str, str], ...]
    takes: Mapping[str, tuple[str, ...] | None]
    flags: tuple[str, ...]
    choices: tuple[str, ...]
    files: bool

    @property
    def all(self) -> tuple[str, ...]:
        """What can be written here: commands, then options."""
        return (*(name for name, _ in self.commands), *self.choices, *self.takes, *self.flags)


def places(commands: Mapping[str, Parser]) -> list[Place]:
    """Every place of a command line where something can be completed, the top first."""
    top = Place("", _named(commands), {}, ("--help", "--version"), (), False)
    return [top, *(place for name, parser in commands.items() for place in _below(name, parser))]


def script(shell: str, commands: Mapping[str, Parser]) -> str:
    """The script for `bash`, `zsh` or `fish`."""
    return {"bash": _bash, "zsh": _zsh, "fish": _fish}[shell](places(commands))


def _named(commands: Mapping[str, Parser]) -> tuple[tuple[str, str], ...]:
    return tuple((name, (parser.declared().description or "").rstrip(".")) for name, parser in commands.items())


def _below(words: str, parser: Parser) -> Iterator[Place]:
    deeper = commands_of(parser)
    actions = [action for action in parser.declared()._actions if not isinstance(action, argparse._SubParsersAction)]
    known = {option.name: option.form.known for option in parser.get_default("declared") or ()}
    known["part"] = lambda: PARTS.get(words, "").split()
    options = {name: action for action in actions for name in action.option_strings if name.startswith("--")}
    plain = [action for action in actions if not action.option_strings]
    yield Place(
        words,
        _named(deeper),
        {name: _taken(action, known) for name, action in options.items() if action.nargs != 0},
        tuple(name for name, action in options.items() if action.nargs == 0),
        tuple(word for action in plain for word in _taken(action, known) or ()),
        any(_taken(action, known) is None for action in plain),
    )
    for name, below in deeper.items():
        yield from _below(f"{words} {name}", below)


def _taken(action: argparse.Action, known: Mapping[str, Callable[[], Iterable[str]]]) -> tuple[str, ...] | None:
    """The words that an argument can be; None for a file, empty where nothing is known."""
    words = action.choices or (known[action.dest]() if action.dest in known else ())
    if words:
        return tuple(map(str, words))
    return None if isinstance(action.metavar, str) and FILES.fullmatch(action.metavar) else ()


def _cases(all_places: list[Place]) -> Iterator[str]:
    """One branch of a `case` for each place: what can be written, what each option takes, whether files go.

    A word can have a blank, so each stands on a line of its own, and those of an option between bars.
    """
    for place in all_places:
        takes = "\n".join(f"{name}={'@' if words is None else '|'.join(words)}" for name, words in place.takes.items())
        names = " ".join(name for name, _ in place.commands)
        parts = (names, "\n".join(place.all), takes, "yes" if place.files else "")
        commands, words, values, files = map(shlex.quote, parts)
        yield f"    {shlex.quote(place.words)}) commands={commands}; words={words}; takes={values}; files={files} ;;"


_SHARED = """# Completion of optiform for {name}: commands, options, the words they allow, and files.
_optiform_place() {{
  case "$1" in
{cases}
  esac
}}
"""

_BASH = """_optiform_offer() {
  local candidate
  while IFS= read -r candidate; do
    [[ -n "$candidate" && "$candidate" == "$current"* ]] || continue
    [[ -n "$quote" ]] || candidate="${candidate// /\\\\ }"
    COMPREPLY+=("$candidate")
  done <<<"$1"
}
_optiform() {
  local word place="" commands words takes files i option
  local current="${COMP_WORDS[COMP_CWORD]}" before="${COMP_WORDS[COMP_CWORD-1]}"
  local quote=""
  case "$current" in
    \\"* | \\'*) quote="${current:0:1}"; current="${current:1}" ;;
  esac
  current="${current//\\\\/}"
  _optiform_place ""
  for ((i = 1; i < COMP_CWORD; i++)); do
    word="${COMP_WORDS[i]}"
    if [[ " $commands " == *" $word "* ]]; then
      place="${place:+$place }$word"
      _optiform_place "$place"
    fi
  done
  COMPREPLY=()
  compopt +o filenames 2>/dev/null
  while IFS= read -r option; do
    if [[ "${option%%=*}" == "$before" ]]; then
      if [[ "${option#*=}" == "@" ]]; then
        compopt -o filenames 2>/dev/null
        mapfile -t COMPREPLY < <(compgen -f -- "$current")
      else
        _optiform_offer "$(tr '|' '\\n' <<<"${option#*=}")"
      fi
      return
    fi
  done <<<"$takes"
  _optiform_offer "$words"
  if [[ -n "$files" && "$current" != -* ]]; then
    compopt -o filenames 2>/dev/null
    mapfile -t -O "${#COMPREPLY[@]}" COMPREPLY < <(compgen -f -- "$current")
  fi
}
complete -F _optiform optiform"""

_ZSH = """_optiform() {
  local word place="" commands="" takes="" files="" option i
  local -a all
  local words_here="" before="${words[CURRENT-1]}"
  _optiform_take ""
  for ((i = 2; i < CURRENT; i++)); do
    word="${words[i]}"
    if [[ " $commands " == *" $word "* ]]; then
      place="${place:+$place }$word"
      _optiform_take "$place"
    fi
  done
  for option in "${(@f)takes}"; do
    if [[ "${option%%=*}" == "$before" ]]; then
      if [[ "${option#*=}" == "@" ]]; then
        _files
      else
        all=("${(@s:|:)${option#*=}}")
        compadd -a all
      fi
      return
    fi
  done
  all=("${(@f)words_here}")
  compadd -a all
  [[ -n "$files" && "${words[CURRENT]}" != -* ]] && _files
}
_optiform_take() {
  local words
  _optiform_place "$1"
  words_here="$words"
}
compdef _optiform optiform"""


def _bash(all_places: list[Place]) -> str:
    return _SHARED.format(name="bash", cases="\n".join(_cases(all_places))) + _BASH


def _zsh(all_places: list[Place]) -> str:
    shared = _SHARED.format(name="zsh", cases="\n".join(_cases(all_places)))
    return f"#compdef optiform\n{shared}{_ZSH}"


def _fish(all_places: list[Place]) -> str:
    lines = ["# Completion of optiform for fish: commands, options, the words they allow, and files."]
    for place in all_places:
        lines += _fish_lines(place)
    return "\n".join(lines)


def _fish_lines(place: Place) -> Iterator[str]:
    """Lines of one place: fish itself looks whether the commands that lead there were written."""
    seen = [f"__fish_seen_subcommand_from {word}" for word in place.words.split()]
    names = " ".join(name for name, _ in place.commands)
    none = [f"not __fish_seen_subcommand_from {names}"] if names else []
    head = f"complete -c optiform -n {shlex.quote('; and '.join([*seen, *none]) or 'true')}"
    for name, words in place.commands:
        yield f"{head} -f -a {name} -d {shlex.quote(words)}"
    for name in place.flags:
        yield f"{head} -l {name.removeprefix('--')}"
    for name, taken in place.takes.items():
        values = "-r -F" if taken is None else f"-x -a {_fish_words(taken)}"
        yield f"{head} -l {name.removeprefix('--')} {values}"
    if place.choices:
        yield f"{head} -f -a {_fish_words(place.choices)}"


def _fish_words(words: Iterable[str]) -> str:
    """Words for fish to offer, those with a blank in quotes of their own."""
    return shlex.quote(" ".join(f'"{word}"' if " " in word else word for word in words))
