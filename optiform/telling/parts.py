"""What an answer tells, in parts: sentences, tables and charts over plain values.

One telling serves every reader: a terminal (terminal.py), a printed page (document.py), a data frame and CSV
(frame.py), a notebook, and the workbench in the browser. None of them has words of its own.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from enum import StrEnum
from typing import Literal

from optiform.reading.frozen import frozen
from optiform.reading.units import count_of

SCREEN = 40  #: lines of the short telling
Cell = str | float | int | bool | None
_HLB = re.compile(r"\bhlb\b(?=$| of | difference|[,;:)])|(?<=required )hlb\b")  # the word, not part of a file's name


class Level(StrEnum):
    """How much a sentence weighs.

    `stop`: made like this it fails or is not allowed; `mind`: an experienced maker would look at it; `note`: unusual,
    no harm; `plain`: no warning at all.
    """

    PLAIN = "plain"
    NOTE = "note"
    MIND = "mind"
    STOP = "stop"


def readable(text: str) -> str:
    """A text as a reader sees it: properties are named in degC and hlb inside, and read in °C and HLB.

    Example:
        >>> readable("solid fat at 10 degC"), readable("required hlb")
        ('solid fat at 10 °C', 'required HLB')
    """
    return _HLB.sub("HLB", text.replace("degC", "°C")) if "hlb" in text else text.replace("degC", "°C")


@frozen
class Column:
    """A column of a table.

    Attributes:
        head: what stands above it; unlike every other head of its table.
        unit: of its numbers, told behind the head.
        places: decimals of its numbers; None shows up to four significant digits.
        fine: whether a number too small for its decimals shows its first two digits, and not 0.
        sign: whether what is more than nothing has a plus.
        unknown: what stands where a cell is None.
        by_hand: whether an empty cell is there to be filled in on paper: `line` to write on, `tick` to tick.
        short: whether it belongs to the short telling.
        cut: whether its texts may be cut to one line, where the short telling does not fit one screen.
    """

    head: str
    unit: str = ""
    places: int | None = None
    fine: bool = False
    sign: bool = False
    unknown: str = ""
    by_hand: Literal["", "line", "tick"] = ""
    short: bool = True
    cut: bool = False

    @property
    def words(self) -> str:
        """The head with its unit.

        Example:
            >>> Column("cost", "EUR").words
            'cost, EUR'
        """
        return readable(f"{self.head}, {self.unit}" if self.unit and self.head else self.head or self.unit)

    def shown(self, cell: Cell) -> str:
        """A cell as text.

        Example:
            >>> Column("cost", "EUR", places=2).shown(4.655), Column("change", sign=True).shown(1.5)
            ('4.66', '+1.5')
        """
        if cell is None:
            return self.unknown
        if isinstance(cell, bool):
            return "yes" if cell else "no"
        if isinstance(cell, str):
            return readable(cell)
        shown = number(cell, self.places, self.sign)
        return number(float(f"{cell:.2g}"), None, self.sign) if self.fine and cell and not float(shown) else shown


def number(value: float, places: int | None = None, sign: bool = False) -> str:
    """A number with so many decimals, half to even of the number as it prints, or with up to four significant digits.

    Example:
        >>> number(0.00001234), number(123456.7), number(-0.001, 2), number(2, 1, sign=True), number(3)
        ('1.234e-05', '123457', '0.00', '+2.0', '3')
    """
    from decimal import ROUND_HALF_EVEN, Decimal

    if places is None:
        text = "0" if abs(value) < 1e-9 else f"{value:.0f}" if abs(value) >= 1e4 else f"{value:.4g}"
    else:
        exact = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
        text = f"{exact + 0:f}"
    return f"+{text}" if sign and float(text) > 0 else text


@frozen
class Table:
    """Rows of plain values under columns.

    Attributes:
        title: what it is a table of.
        inset: numbers of the rows that belong to the row before them: set in by a step.
        strong: numbers of the rows that sum up others.
        fold: whether the short telling goes without the rows that are set in.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    title: str = ""
    inset: frozenset[int] = frozenset()
    strong: frozenset[int] = frozenset()
    fold: bool = False

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"a row of {len(self.columns)} cells in {self.title or 'the table'}, not {row!r}")

    @property
    def texts(self) -> Iterator[list[str]]:
        """Its rows as texts, the heads first."""
        yield [column.words for column in self.columns]
        for row in self.rows:
            yield [column.shown(cell) for column, cell in zip(self.columns, row, strict=True)]

    def is_numeric(self, place: int) -> bool:
        """Whether a column holds numbers only, and so is set flush right."""
        cells = [row[place] for row in self.rows if row[place] not in (None, "")]
        return bool(cells) and all(isinstance(cell, int | float) and not isinstance(cell, bool) for cell in cells)

    def brief(self, most: int | None = None) -> "Table":
        """The table of the short telling: the columns that belong to it, and at most so many rows."""
        cut = self._folded()._columns([place for place, column in enumerate(self.columns) if column.short])
        return replace(
            cut, rows=cut.rows[:most], inset=self._upto(cut.inset, most), strong=self._upto(cut.strong, most)
        )

    def _folded(self) -> "Table":
        if not self.fold:
            return self
        left = [place for place in range(len(self.rows)) if place not in self.inset]
        strong = frozenset(new for new, place in enumerate(left) if place in self.strong)
        return replace(self, rows=tuple(self.rows[place] for place in left), inset=frozenset(), strong=strong)

    def on_screen(self) -> "Table":
        """The table without the columns that are there to be filled in on paper and hold nothing yet.

        Example:
            >>> sheet = Table((Column("weigh"), Column("done", by_hand="tick")), (("water", ""),))
            >>> sheet.on_screen().rows
            (('water',),)
        """
        filled = [any(str(row[place] or "").strip() for row in self.rows) for place in range(len(self.columns))]
        return self._columns([k for k, column in enumerate(self.columns) if filled[k] or not column.by_hand])

    def _columns(self, places: Sequence[int]) -> "Table":
        rows = tuple(tuple(row[place] for place in places) for row in self.rows)
        return replace(self, columns=tuple(self.columns[place] for place in places), rows=rows)

    @staticmethod
    def _upto(rows: frozenset[int], most: int | None) -> frozenset[int]:
        return rows if most is None else frozenset(row for row in rows if row < most)


@frozen
class Sentence:
    """A sentence, or a few that belong together.

    Attributes:
        bullet: whether it is one of a list.
        short: whether it is part of the short telling.
        firm: whether no short telling leaves it out, however long it is; no stop is left out either.
        runs_on: whether a reader with few lines puts it behind the sentence before it.
    """

    text: str
    level: Level = Level.PLAIN
    bullet: bool = False
    short: bool = True
    firm: bool = False
    runs_on: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "text", readable(self.text))

    @property
    def stays(self) -> bool:
        """Whether no short telling leaves it out."""
        return self.firm or self.level is Level.STOP


@frozen
class Chart:
    """A chart, said as what stands on its axes; charts.py draws it.

    Attributes:
        data: its points, one a row.
        mark: `bar` lies, with its words at its end; `line` runs over `across`; `band` is a line with its range.
        across, up: heads of columns of `data`; of a bar `across` is the number and `up` what it is of.
        series: the head of the column that tells lines apart, if there are several.
        low, high: heads of the columns with the ends of a band.
        ruled: values of `across` to mark, each with its words.
        dots: heads `across` and `up` marked as points as well: rows where this column is true.
    """

    data: Table
    mark: Literal["bar", "line", "band"]
    across: str
    up: str
    title: str = ""
    series: str = ""
    low: str = ""
    high: str = ""
    ruled: tuple[tuple[float, str], ...] = ()
    dots: str = ""


Part = Table | Sentence | Chart


@frozen
class Section:
    """Parts under one heading; a table without a row is none, and a section without a part is not told.

    Attributes:
        name: by which `--part` asks for it; one word.
        short: whether it belongs to the short telling; the rest stands behind `--all` and `--part`.
        paper: whether it is room to write and sign in, and so stands on the printed page only.
        most: rows of a table, or sentences besides those that stay, in the short telling; all of them if None.
        instead: what the short telling says in its place, where it does not belong to it.
    """

    name: str
    title: str
    parts: tuple[Part, ...]
    short: bool = True
    paper: bool = False
    most: int | None = None
    instead: str = ""

    def __post_init__(self) -> None:
        told = tuple(part for part in self.parts if not isinstance(part, Table) or part.rows)
        object.__setattr__(self, "parts", told)

    def brief(self, fewer: int = 0) -> "Section":
        """The section of the short telling; what it leaves out is counted, with the part that tells it.

        Args:
            fewer: by so many rows or sentences it stays below the most that it may have; of rows one is left.

        Example:
            >>> Section("mind", "Watch out for", sentences(("a", "b", "c")), most=2).brief().parts[-1].text
            '1 more: --part mind'
            >>> Section("mind", "Watch out for", sentences(("a", "b"), Level.NOTE), most=0).brief().parts[-1].text
            '2 warnings: --part mind'
        """
        most = None if self.most is None else max(0, self.most - fewer)
        parts: list[Part] = []
        left_out: list[Sentence | None] = []  # None for a row of a table
        said = 0
        for part in self.parts:
            if isinstance(part, Table):
                cut = part.brief(most and max(1, most))
                parts.append(cut)
                left_out += [None] * (len(part.rows) - len(cut.rows))
            elif isinstance(part, Sentence) and not part.stays and (said == most or not part.short):
                left_out.append(part)
            else:
                said += isinstance(part, Sentence) and not part.stays
                parts.append(part)
        more = [Sentence(f"{_counted(left_out, parts)}: --part {self.name}")] if left_out else []
        return replace(self, parts=(*parts, *more))


def _counted(left_out: Sequence[Sentence | None], told: Sequence[Part]) -> str:
    """How much the short telling leaves out; more only where it tells some of the same."""
    if not all(part is not None and part.level is not Level.PLAIN for part in left_out):
        return f"{len(left_out)} more"
    some = any(isinstance(part, Sentence) and part.level is not Level.PLAIN for part in told)
    return count_of(len(left_out), "more warning" if some else "warning")


@frozen
class Step:
    """A next step: what for, and the command line that works as it stands."""

    words: str
    command: str


@frozen
class Telling:
    """An answer as it is told: what it is, then its sections, the answer first; then what can be done next.

    Attributes:
        table: the answer as one table, for a spreadsheet and as a data frame; no row sums up others.
        lines: of the short telling in a terminal, at most.
    """

    title: str
    sections: tuple[Section, ...]
    table: Table
    steps: tuple[Step, ...] = ()
    lines: int = SCREEN

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", readable(self.title))
        object.__setattr__(self, "sections", tuple(section for section in self.sections if section.parts))

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its sections, by which a part is asked for."""
        return tuple(dict.fromkeys(section.name for section in self.sections if not section.paper))

    @property
    def tables(self) -> tuple[Table, ...]:
        """Every table, in order."""
        return tuple(part for section in self.sections for part in section.parts if isinstance(part, Table))

    @property
    def charts(self) -> tuple[Chart, ...]:
        """Every chart, in order."""
        return tuple(part for section in self.sections for part in section.parts if isinstance(part, Chart))

    @property
    def sentences(self) -> tuple[str, ...]:
        """Every sentence, in order."""
        return tuple(part.text for section in self.sections for part in section.parts if isinstance(part, Sentence))

    def only(self, *names: str) -> "Telling":
        """The sections of these names alone, without the next steps."""
        return replace(self, sections=tuple(s for s in self.sections if s.name in names), steps=())

    def brief(self, fewer: int = 0) -> "Telling":
        """The short telling: its sections, then one line for each other one that has words for what it tells.

        Args:
            fewer: by so many rows or sentences each section stays below the most that it may have.

        Example:
            >>> steps = Section("steps", "Steps", sentences(("Stir.",)), short=False, instead="One step")
            >>> Telling("Sheet", (steps,), Table((), ())).brief().sentences
            ('One step: --part steps',)
        """
        rest = tuple(Sentence(f"{s.instead}: --part {s.name}") for s in self.sections if s.instead and not s.short)
        more = (Section("more", "", rest),) if rest else ()
        return replace(self, sections=(*(section.brief(fewer) for section in self.sections if section.short), *more))


def sentences(texts: Iterable[str], level: Level = Level.PLAIN, bullet: bool = True) -> tuple[Sentence, ...]:
    """Each text as a sentence of a list."""
    return tuple(Sentence(text, level, bullet) for text in texts)
