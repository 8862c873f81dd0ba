"""The guide: its topics, and each of them as plain text for a terminal.

A topic is a file of the folder guide/ in Markdown of our own: headings, paragraphs, lists, tables, commands set in by
four spaces, and examples between fences. Its commands come last: the pages show what stands before them.
"""

import re
import textwrap
from collections.abc import Iterator

from optiform.reading.paths import GUIDE
from optiform.telling.parts import Column, Table
from optiform.telling.terminal import table

_STEP = "  "


def topic(name: str) -> str:
    """A topic as it is written, in Markdown.

    Example:
        >>> topic("costs").splitlines()[0]
        '# What a jar costs'
    """
    return (GUIDE / f"{name}.md").read_text(encoding="utf-8")


def title(name: str) -> str:
    """What a topic is about."""
    return topic(name).splitlines()[0].removeprefix("# ")


def plain(markdown: str, width: int) -> str:
    r"""A topic for a terminal: no signs of Markdown, nothing wider than `width` that can be wrapped.

    Example:
        >>> print(plain("# Jar\n\nA *jar* of `150 g`.\n\n| key | value |\n|---|---|\n| `jar` | net mass |", 80))
        Jar
        <BLANKLINE>
        A jar of 150 g.
        <BLANKLINE>
          key  value
          jar  net mass
    """
    return "\n\n".join(_block(lines, width) for lines in _blocks(markdown.splitlines()))


def _blocks(lines: list[str]) -> Iterator[list[str]]:
    """Lines that belong together: what blank lines part, and a fence whole."""
    block: list[str] = []
    fenced = False
    for line in [*lines, ""]:
        fenced ^= line.startswith("```")
        if line.strip() or fenced:
            block.append(line)
        elif block:
            yield block
            block = []


def _block(lines: list[str], width: int) -> str:
    first = lines[0]
    if first.startswith("```"):
        return "\n".join(f"{_STEP}{line}".rstrip() for line in lines if not line.startswith("```"))
    if first.startswith("    "):
        return "\n".join(part for line in lines for part in _command(line.removeprefix("    "), width))
    if first.startswith("|"):
        return _table(lines, width)
    if first.startswith("- "):
        return "\n".join(textwrap.fill(_bare(line), width, subsequent_indent=_STEP) for line in lines)
    return textwrap.fill(_bare(" ".join(lines).lstrip("# ")), width)


def _command(line: str, width: int) -> Iterator[str]:
    """A command and what it does: on one line where both fit."""
    if len(_STEP + line) <= width:
        yield _STEP + line
        return
    command, _, words = line.strip().partition("  ")
    if line.startswith(" "):
        command, words = "", line
    if command:
        yield _STEP + command
    if words:
        yield textwrap.fill(words.strip(), width, initial_indent=_STEP * 4, subsequent_indent=_STEP * 4)


def _table(lines: list[str], width: int) -> str:
    head, _, *rows = ([_bare(cell.strip()) for cell in re.split(r"(?<!\\)\|", line)[1:-1]] for line in lines)
    return table(Table(tuple(map(Column, head)), tuple(map(tuple, rows))), width)


def _bare(text: str) -> str:
    """Text without the signs of Markdown; what stands in code keeps its own."""
    parts = re.split(r"`([^`]*)`", text)
    return "".join(part if k % 2 else re.sub(r"\*{1,2}(\S[^*]*?)\*{1,2}", r"\1", part) for k, part in enumerate(parts))
