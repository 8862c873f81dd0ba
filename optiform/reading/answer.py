"""What every answer of a job is: a value, told as a data frame, a chart, a page and in a notebook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeVar, cast

from optiform.reading.faces import faces
from optiform.reading.faults import Absent
from optiform.reading.values import MOST, Comparable, cells, cut

if TYPE_CHECKING:
    import pandas

T = TypeVar("T")


class Faces(Protocol):
    """What tells an answer; see face/told.py."""

    def table(self, answer: Answer) -> pandas.DataFrame:
        """As a data frame."""

    def chart(self, answer: Answer) -> Any:
        """As an Altair chart."""

    def save(self, answer: Answer, path: Path, force: bool) -> None:
        """In a file."""

    def fragment(self, answer: Answer) -> str:
        """As HTML for a notebook."""

    def words_of(self, part: object) -> str:
        """A part of an answer in words."""


def _faces() -> Faces:
    return cast("Faces", faces())


def words_of(part: object) -> str:
    """A part of an answer, such as a warning, in words."""
    return _faces().words_of(part)


class Answer(Comparable):
    """The answer of a job."""

    def table(self) -> pandas.DataFrame:
        """The answer as one table: plain values, units in the heads, no row that sums up others."""
        return _faces().table(self)

    def chart(self) -> Any:
        """The answer as an Altair chart.

        Raises:
            Absent: this kind of answer has none.
        """
        return _faces().chart(self)

    def save(self, path: str | Path, force: bool = False) -> None:
        """Save a page to print (.html), the table (.csv) or the chart (.svg, .png).

        Args:
            path: its ending says which.
            force: a file of the same kind may be replaced.

        Raises:
            BadInput: it cannot be written there, or the ending is another.
            Absent: a chart is asked for, and this kind of answer has none.
        """
        _faces().save(self, Path(path), force)

    def _repr_html_(self) -> str:
        return _faces().fragment(self)


class Rows(tuple[T, ...]):
    """Records of an answer: a tuple that a notebook shows as a table."""

    __slots__ = ()

    def __repr__(self) -> str:
        """The records, cut short."""
        return cut(super().__repr__(), MOST)

    def table(self) -> pandas.DataFrame:
        """A row for each record, a column for each of its plain values."""
        import pandas

        return pandas.DataFrame([dict(cells(record)) for record in self])

    def _repr_html_(self) -> str:
        return str(self.table().to_html(index=False))


class Ranked(Answer, Generic[T]):
    """An answer of several options, the best first."""

    def ranked(self) -> tuple[T, ...]:
        """The options, the best first."""
        raise NotImplementedError

    @property
    def best(self) -> T:
        """The first of them.

        Raises:
            Absent: there is none.
        """
        options = self.ranked()
        if not options:
            raise Absent("there is no option: the answer's notes say why")
        return options[0]
