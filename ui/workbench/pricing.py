"""A new price of an ingredient: one number, put into the maker's own table."""

from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.new import SHELF
from optiform.ingredients.own_text import NAME, with_price
from optiform.reading.faults import Inspection
from optiform.reading.tables import split
from workbench import load, state, work


def set_price(brief: Brief, name: str, price: float) -> None:
    """Put a price per kg into the table that has the ingredient, else into the last one; what is refused is told."""
    bench = state.bench()
    tables = [str(table) for table in bench.document.get("own_files", [])]
    names = {table: _written(brief, bench.files[table]) for table in tables if table in bench.files}
    place = next((table for table in reversed(tables) if name in names.get(table, {})), [SHELF, *tables][-1])
    item = brief.catalogue.find(name)
    pack = item.value("pack") if item is not None else None
    kg = pack.figure if pack is not None and pack.unit == "kg" else None
    text = with_price(bench.files.get(place, ""), name, names.get(place, {}), price, brief.currency, kg)
    document = dict(bench.document) | ({} if tables else {"own_files": [place]})
    taken = load.judged(replace(bench.saying(document), files={**bench.files, place: text}))
    if isinstance(taken, work.Refused):
        state.tell(f"Not taken: {taken.faults[0]}")
        state.lay_anew()
    else:
        before = item.price_in(brief.currency) if item is not None else None
        was = f", was {before.figure:g}" if before is not None else ""  # a slip of the point is seen where it is made
        state.replace_bench(taken.bench, f"price of {name}: {price:g} {brief.currency}/kg{was}", redraw=False)


def _written(brief: Brief, text: str) -> dict[str, str]:
    """Names as a table writes them, by the ingredients' own."""
    header, rows = split(text, Inspection("own table"))
    if NAME not in header:
        return {}
    written = [row[header.index(NAME)] for _, row in rows if len(row) > header.index(NAME)]
    return {item.name: name for name in written if (item := brief.catalogue.find(name)) is not None}
