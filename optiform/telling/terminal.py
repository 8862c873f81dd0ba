"""A telling in a terminal: as wide as the window, at least 80 columns; a long last column wraps."""

import re
import shutil
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.telling.parts import Chart, Column, Level, Part, Section, Sentence, Step, Table, Telling

LEAST = 80  # columns: below that the terminal may wrap
MOST = 120  # columns: longer lines are hard to read
GAP, STEP = "  ", "  "
HEAD_LINES = 3  # of a table's head
NARROWEST = 14  # columns of a text that wraps
ELLIPSIS = " ..."
MORE_IN_ROW = f"What ends in{ELLIPSIS} is whole with"
_MARK = {Level.STOP: "STOP: ", Level.MIND: "! ", Level.NOTE: "note: ", Level.PLAIN: ""}


def terminal(telling: Telling, width: int | None = None, cut: bool = False, close: bool = False) -> str:
    """The whole telling as text; the title stands close above what has no heading of its own.

    Args:
        telling: with `telling.brief()` the short one.
        width: columns; the window's if None.
        cut: whether texts of columns that allow it are cut to one line.
        close: whether no blank line stands between sections.
    """
    room = window(width)
    told = [_section(section, room, cut) for section in telling.sections if not section.paper]
    blocks = [block for block in (*told, _steps(telling.steps, room)) if block]
    head = "\n" if telling.sections and not telling.sections[0].title else "\n\n"
    return textwrap.fill(telling.title, room, subsequent_indent=STEP) + head + ("\n" if close else "\n\n").join(blocks)


def short(telling: Telling, width: int | None = None) -> str:
    """The short telling as text: on one screen, with fewer rows of what may be cut where that brings it onto one.

    Where that does not, texts of columns that allow it are cut, then only the first next step is told, then no blank
    line stands between sections, then no step is told.
    """
    most = max((section.most or 0 for section in telling.sections if section.short), default=0)
    first, alone = (replace(telling, steps=telling.steps[:count]) for count in (1, 0))
    ways = (
        (telling, False, False), (telling, True, False), (first, True, False), (first, True, True), (alone, True, True)
    )  # fmt: skip
    text = ""
    for way, cut, close in ways:
        for fewer in range(most + 1):
            text = terminal(way.brief(fewer), width, cut, close)
            if text.count("\n") < telling.lines:
                return text
    return text


def window(width: int | None = None) -> int:
    """How many columns lines may have: those of the window, or so many, within what can be read."""
    return max(LEAST, min(MOST, width or shutil.get_terminal_size().columns))


def wrapped(text: str, width: int | None = None) -> str:
    """A sentence that stands alone, as wide as the window or so many columns; a command in it stays in one piece.

    Example:
        >>> print(wrapped("No records here. Make some, by the first lot, for instance `optiform stock receive`."))
        No records here. Make some, by the first lot, for instance
          `optiform stock receive`.
    """
    room = window(width)
    tied = _COMMAND.sub(lambda said: said[0].replace(" ", _TIED) if len(said[0]) <= room - len(STEP) else said[0], text)
    lines = textwrap.fill(tied, room, subsequent_indent=STEP, break_on_hyphens=False, break_long_words=False)
    return lines.replace(_TIED, " ")


def _section(section: Section, width: int, cut: bool = False) -> str:
    """The section's parts under its heading: a blank line before a table and after it, none between sentences."""
    body = ""
    before: Part | None = None
    for part in _run_on(section.parts):
        text = _part(part, width, section.name if cut else "")
        if text:
            close = before is None or (isinstance(part, Sentence) and isinstance(before, Sentence))
            body += text if before is None else ("\n" if close else "\n\n") + text
            before = part
    return f"{section.title}\n{body}" if body and section.title else body


def _run_on(parts: Sequence[Part]) -> list[Part]:
    """The parts with sentences that run on put behind those before them: a screen has few lines."""
    joined: list[Part] = []
    for part in parts:
        before = joined[-1] if joined else None
        if isinstance(part, Sentence) and part.runs_on and isinstance(before, Sentence):
            joined[-1] = replace(before, text=f"{before.text} {part.text}")
        else:
            joined.append(part)
    return joined


def _part(part: Part, width: int, cut: str = "") -> str:
    if isinstance(part, Sentence):
        return sentence(part, width)
    if isinstance(part, Chart):
        return ""  # its numbers stand in the tables beside it
    text = table(part, width, cut=bool(cut))
    return f"{text}\n{STEP}{MORE_IN_ROW} --part {cut}" if cut and ELLIPSIS in text else text


def sentence(part: Sentence, width: int) -> str:
    """A sentence wrapped to the width, under its mark; a path or a command in it stays in one piece to be copied."""
    mark = _MARK[part.level] or ("- " if part.bullet else "")
    return textwrap.fill(
        part.text,
        width,
        initial_indent=STEP + mark,
        subsequent_indent=STEP + " " * len(mark),
        break_on_hyphens=False,
        break_long_words=False,
    )


def table(part: Table, width: int, cut: bool = False) -> str:
    """A table in aligned columns; numbers flush right. What is too wide wraps in its last text column."""
    part = part.on_screen()
    if not part.rows:
        return ""
    texts = [[cell.strip() for cell in row] for row in part.texts]
    for place in part.inset:
        texts[place + 1][0] = STEP + texts[place + 1][0]
    numeric = [part.is_numeric(k) for k in range(len(part.columns))]
    texts = _one_line_each(texts, part.columns, width) if cut else texts
    ways = [[line for row in texts for line in _row(row, widths, numeric)] for widths in _widths(texts, numeric, width)]
    lines = min(ways, key=len)
    return "\n".join([f"{STEP}{part.title}", *lines] if part.title else lines)


def _one_line_each(texts: Sequence[Sequence[str]], columns: Sequence[Column], width: int) -> list[list[str]]:
    """The rows with their texts cut where they would wrap, in columns that allow it."""
    taken = [max(len(row[k]) for row in texts) for k, column in enumerate(columns) if not column.cut]
    room = max(NARROWEST, width - len(STEP) - sum(taken) - len(GAP) * (len(columns) - 1))

    def shown(column: Column, text: str) -> str:
        too_long = column.cut and len(text) > room
        return textwrap.shorten(text, room, placeholder=ELLIPSIS) if too_long else text

    return [[shown(column, text) for column, text in zip(columns, row, strict=True)] for row in texts]


def _widths(texts: Sequence[Sequence[str]], numeric: Sequence[bool], width: int) -> Iterator[list[int]]:
    """Widths at which a row fits: heads wrap to a few lines, then texts; or heads word by word, then texts."""
    head, *rows = texts
    places = range(len(head))
    cells = [max((len(row[k]) for row in rows), default=0) for k in places]
    words = [max(map(len, head[k].split()), default=0) for k in places]
    natural = [max(len(head[k]), cells[k]) for k in places]
    heads = [max(cells[k], words[k]) for k in places]
    least = [heads[k] if numeric[k] else min(heads[k], max(words[k], NARROWEST)) for k in places]
    low = [max(cells[k], _in_lines(head[k], words[k])) for k in places]
    both = [low[k] if numeric[k] else min(low[k], max(words[k], NARROWEST)) for k in places]
    longest = [max((len(word) for row in texts for word in row[k].split()), default=0) for k in places]
    for steps in ((low, both, least, longest), (heads, least, longest)):
        widths = natural
        for narrower in steps:
            widths = _cut(widths, narrower, width)
        yield widths


def _in_lines(head: str, narrowest: int) -> int:
    """The least width at which a head takes no more than so many lines."""
    return next(
        (width for width in range(max(1, narrowest), len(head)) if len(textwrap.wrap(head, width)) <= HEAD_LINES),
        len(head),
    )


def _cut(widths: Sequence[int], least: Sequence[int], width: int) -> list[int]:
    """The widths cut down until a row fits, none below its least: always the one with most to give."""
    cut = list(widths)
    while len(STEP) + sum(cut) + len(GAP) * (len(cut) - 1) > width and any(
        w > low for w, low in zip(cut, least, strict=True)
    ):
        cut[max(range(len(cut)), key=lambda k: cut[k] - least[k])] -= 1
    return cut


def _row(row: Sequence[str], widths: Sequence[int], numeric: Sequence[bool]) -> Iterator[str]:
    cells = [_wrapped(cell, width) for cell, width in zip(row, widths, strict=True)]
    for k in range(max(map(len, cells))):
        padded = [
            (lines[k] if k < len(lines) else "").rjust(w) if right else (lines[k] if k < len(lines) else "").ljust(w)
            for lines, w, right in zip(cells, widths, numeric, strict=True)
        ]
        yield (STEP + GAP.join(padded)).rstrip()


_COMMAND = re.compile(r"`[^`]+`")
#: A word and the figure after it, as `oleic 2.52`.
_FIGURE = re.compile(r"(\S+) ([+-]?\d+\.\d+)(?=\s|;|$)")
_TIED = "\N{NO-BREAK SPACE}"


def _wrapped(cell: str, width: int) -> list[str]:
    """A cell in lines; a figure stays on the line of the word before it, where both fit there.

    Example:
        >>> _wrapped("sunflower oil, high oleic 2.52", 28)
        ['sunflower oil, high', 'oleic 2.52']
    """
    if len(cell) <= width and cell.isprintable():  # most do, and a screen is laid out many times before one fits
        return [cell.rstrip()]
    indent = " " * (len(cell) - len(cell.lstrip()))
    tied = _FIGURE.sub(lambda pair: _TIED.join(pair.groups()) if len(pair[0]) <= width else pair[0], cell)
    lines = textwrap.wrap(tied, width, subsequent_indent=indent, drop_whitespace=True, initial_indent="") or [""]
    return [line.replace(_TIED, " ") for line in lines]


#: What of a command line stays together: a word with what its quotes hold, an option with its value.
_PIECE = re.compile(r"""(?:--[\w-]+ (?!--))?(?:[^\s'"]|'[^']*'|"[^"]*")+""")


def command(line: str, width: int) -> list[str]:
    r"""A command on as many lines as it needs, all but the last with a backslash at the end: a shell joins them.

    Example:
        >>> command("optiform texture brief.toml --step 20", 30)
        ['    optiform texture \\', '      brief.toml --step 20']
    """
    lines = [STEP * 2]
    pieces = _PIECE.findall(line)
    for place, piece in enumerate(pieces, 1):
        goes_on = "" if place == len(pieces) else " \\"
        if lines[-1].strip() and len(lines[-1] + piece + goes_on) > width:
            lines[-1] += "\\"
            lines.append(STEP * 3)
        lines[-1] += f"{piece} "
    return [part.rstrip() for part in lines]


def _steps(steps: Sequence[Step], width: int) -> str:
    """The next steps: words left, command right where both fit on a line, else the command below."""
    if not steps:
        return ""
    left = max(len(step.words) for step in steps)
    lines = ["Next"]
    for step in steps:
        line = f"{STEP}{step.words.ljust(left)}{GAP}{step.command}"
        lines += [line] if len(line) <= width else [f"{STEP}{step.words}", *command(step.command, width)]
    return "\n".join(lines)
