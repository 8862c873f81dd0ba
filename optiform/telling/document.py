"""A telling as a printed page, and as a fragment of one for a notebook."""

import re
from collections.abc import Iterable

from optiform.telling import page
from optiform.telling.drawing import svg
from optiform.telling.parts import Chart, Level, Part, Section, Sentence, Table, Telling

SHORT = 14  #: characters of a cell that is not worth a second line
_STYLE = {Level.STOP: "caution", Level.MIND: "caution", Level.NOTE: "small", Level.PLAIN: ""}


def document(telling: Telling, running: str = "") -> str:
    """The telling as an HTML document that prints well; `running`, or its title, stands on every printed page."""
    return page.page(telling.title, *map(section, telling.sections), running=running or telling.title)


def fragment(telling: Telling) -> str:
    """The telling as HTML within a page, for a notebook."""
    seen = (section(part) for part in telling.sections if not part.paper)
    return "\n".join([page.heading(telling.title), *seen])


def section(part: Section) -> str:
    """A section: its heading, then its parts; sentences of a list stand in one."""
    head = [page.heading(part.title)] if part.title else []
    return page.section(*head, *_parts(part.parts))


def _parts(parts: Iterable[Part]) -> Iterable[str]:
    bullets: list[str] = []
    for part in parts:
        if isinstance(part, Sentence) and part.bullet and part.level is Level.PLAIN:
            bullets.append(part.text)
            continue
        if bullets:
            yield page.bullets(bullets)
            bullets = []
        yield _part(part)
    if bullets:
        yield page.bullets(bullets)


def _part(part: Part) -> str:
    if isinstance(part, Sentence):
        return page.paragraph(part.text, _STYLE[part.level])
    return svg(part) if isinstance(part, Chart) else table(part)


def table(part: Table) -> str:
    """A table; columns to be filled in by hand are ruled."""
    head, *rows = part.texts
    kinds = [column.by_hand for column in part.columns]
    for place in part.inset:
        rows[place][0] = "\u2003" + rows[place][0]
    rows = [[_unbroken(cell) if kind else cell for kind, cell in zip(kinds, row, strict=True)] for row in rows]
    drawn = page.table(
        head,
        rows,
        right=[k for k in range(len(head)) if part.is_numeric(k)],
        blank=[k for k, kind in enumerate(kinds) if kind == "line"],
        tick=[k for k, kind in enumerate(kinds) if kind == "tick"],
        strong=part.strong,
        whole=[k for k in range(len(head)) if max((len(row[k]) for row in rows), default=0) <= SHORT],
    )
    return f"{page.paragraph(part.title)}\n{drawn}" if part.title else drawn


def _unbroken(words: str) -> str:
    """Dates that do not break at their hyphens; a lot's number stays as it is, to be searched for."""
    return re.sub(r", (\d{4})-(\d\d)-(\d\d)", ", \\1\u2011\\2\u2011\\3", words)
