"""The frame of every document: a page of its own that prints well. All text is escaped here and nowhere else.

The parts of a page are built by the functions below; each takes plain text and gives HTML.
"""

import html
from collections.abc import Iterable, Sequence

FIRST = "\n@page :first { @top-left { content: none } }"  #: there the title itself stands
MANY = 8  #: lines of a list that is printed in two columns
STYLE = """
@page { size: A4 landscape; margin: 7mm 7mm 9mm }
body { font: 10.5pt/1.4 system-ui, "Segoe UI", "Noto Sans", sans-serif; color: #0e1a19; background: #fff;
       margin: 0 auto; max-width: 190mm; padding: 4mm }
h1, h2 { font-family: Georgia, "Noto Serif", serif; line-height: 1.2 }
h1 { font-size: 17pt; margin: 0 0 2mm } h2 { font-size: 12.5pt; margin: 6mm 0 1.5mm; break-after: avoid }
table { border-collapse: collapse; width: 100%; margin: 0 0 3mm } thead { display: table-header-group }
th, td { border-bottom: 1px solid #cfc9ba; padding: 1.2mm 2mm; text-align: left; vertical-align: top }
th { border-bottom: 1.5px solid #0e1a19; font-weight: 600 } tr { break-inside: avoid }
.number { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap;
          padding-right: 4mm }
.blank { border-bottom: 1px solid #0e1a19; min-width: 20mm; height: 5mm }
.caution { border-left: 3px solid #b4552d; padding: 0 0 0 3mm; margin: 1.5mm 0 } .small { font-size: 9pt }
th.number { white-space: normal }
tr.sum td { font-weight: 600 } td.whole { white-space: nowrap } svg { max-width: 100%; height: auto }
.tick { width: 5mm } td.tick::before { content: ""; display: inline-block; width: 3.4mm; height: 3.4mm;
       border: 1px solid #0e1a19; vertical-align: -0.5mm }
@media print { body { columns: 2; column-gap: 5mm; font-size: 7.9pt; line-height: 1.08; padding: 0; max-width: none }
       h1 { font-size: 13pt; column-span: all; margin: 0 0 1mm } h2 { font-size: 9.5pt; margin: 1mm 0 .3mm }
       th, td { padding: .12mm .8mm } table { margin: 0 0 1mm } .blank { min-width: 11mm; height: 3.4mm }
       .number { padding-right: 1.5mm } p, .caution, ul { margin: .6mm 0 } ul { padding-left: 4mm }
       ul.many { columns: 2; column-gap: 6mm } .small { font-size: 7.5pt }
       li { break-inside: avoid } p:has(+ table, + ul) { break-after: avoid }
       thead, tbody tr:nth-child(-n+2), tbody tr:nth-last-child(2) { break-after: avoid } }
@media screen and (max-width: 170mm) { body { font-size: 10pt; padding: 3mm } h1 { font-size: 15pt }
       table { display: block; overflow-x: auto } th, td { padding: 1mm 1.3mm } .number { padding-right: 2mm } }
@page { @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8.5pt system-ui, sans-serif } }
""".strip()  # printed in two columns across: as few pages as can be read, to work by


def page(title: str, *parts: str, running: str = "") -> str:
    """A whole HTML document: a title, its parts below one another; `running` heads printed pages after the first."""
    head = f'<!doctype html>\n<html lang="en">\n<meta charset="utf-8">\n<title>{text(title)}</title>\n'
    screen = '<meta name="viewport" content="width=device-width">\n'
    return (
        f"{head}{screen}<style>\n{STYLE}{_running(running)}\n</style>\n<h1>{text(title)}</h1>\n"
        + "\n".join(parts)
        + "\n"
    )


def _running(words: str) -> str:
    """A line at the head of printed pages from the second on, where a browser knows margin boxes; others leave it away.

    Everything but letters and digits is written as an escape of CSS, so that no word ends the string or the style.
    """
    if not words:
        return ""
    content = "".join(each if each.isascii() and each.isalnum() else f"\\{ord(each):x} " for each in words)
    return f'\n@page {{ @top-left {{ content: "{content}"; font: 8.5pt system-ui, sans-serif }} }}{FIRST}'


def text(words: str) -> str:
    """Words as they stand, with every character that HTML would read escaped."""
    return html.escape(words)


def heading(words: str) -> str:
    """A heading within the page."""
    return f"<h2>{text(words)}</h2>"


def paragraph(words: str, style: str = "") -> str:
    """A paragraph; `style` is one of the page's classes: `caution`, `small`."""
    return f'<p class="{style}">{text(words)}</p>' if style else f"<p>{text(words)}</p>"


def section(*parts: str) -> str:
    """Parts under one heading."""
    within = "\n".join(parts)
    return f"<section>\n{within}\n</section>"


def bullets(lines: Iterable[str]) -> str:
    """A list; one of many lines is printed in two columns."""
    items = [f"<li>{text(line)}</li>" for line in lines]
    style = ' class="many"' if len(items) >= MANY else ""
    return f"<ul{style}>{''.join(items)}</ul>"


def table(
    header: Sequence[str],
    rows: Iterable[Sequence[str]],
    right: Iterable[int] = (),
    blank: Iterable[int] = (),
    tick: Iterable[int] = (),
    strong: Iterable[int] = (),
    whole: Iterable[int] = (),
) -> str:
    """Rows under a header. Columns in `right` hold numbers, set flush right; columns in `blank` are there to be filled
    in by hand: where their cell is empty, a line is ruled, and in columns in `tick` a box to tick is drawn. Rows in
    `strong` sum up others. Cells of columns in `whole` stay on one line.
    """
    numbers, blanks, ticks, sums, lines = set(right), set(blank), set(tick), set(strong), set(whole)

    def style(column: int, cell: str) -> str:
        if column in ticks and not cell:
            return ' class="tick"'
        if column in blanks and not cell:
            return ' class="blank"'
        return ' class="number"' if column in numbers else ' class="whole"' if column in lines else ""

    head = "".join(f"<th{style(k, cell)}>{text(cell)}</th>" for k, cell in enumerate(header))
    body = "".join(
        ('<tr class="sum">' if n in sums else "<tr>")
        + "".join(f"<td{style(k, cell)}>{text(cell)}</td>" for k, cell in enumerate(row))
        + "</tr>\n"
        for n, row in enumerate(rows)
    )
    return f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>"
