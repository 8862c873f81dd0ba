"""How much of the tables was read at a source, or worked out from what was read: `python -m tests.how_sure`."""

import csv
from collections import Counter

from optiform.reading.paths import DATABASE

#: Read at the source, or calculated from such figures alone.
FIRM = ("published", "derived")
#: How the figures of a row are known, in tables whose `evidence` is of what happens.
FIGURES = ("bounds", "figures")


def counts(figures_too: bool = False) -> dict[str, Counter[str]]:
    """Rows of each table of figures or rules by how they are known; names of substances are no figures.

    With `figures_too` a row is `figures` where what happens is firm and the figure from which on is not.
    """
    tables: dict[str, Counter[str]] = {}
    for path in sorted(DATABASE.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        if rows and "evidence" in rows[0] and path.stem not in ("names", "substances"):
            tables[path.stem] = Counter(_word(row, figures_too) for row in rows)
    return tables


def _word(row: dict[str, str], figures_too: bool) -> str:
    loose = [name for name in FIGURES if row.get(name, FIRM[0]) not in FIRM]
    return "figures" if figures_too and row["evidence"] in FIRM and loose else row["evidence"]


def total(tables: dict[str, Counter[str]]) -> Counter[str]:
    """All tables together."""
    return sum(tables.values(), Counter[str]())


def share(tally: Counter[str]) -> float:
    """Firm rows in % of all."""
    return 100 * sum(tally[word] for word in FIRM) / tally.total()


def lines() -> list[str]:
    """A line for each table and two for all together."""
    tables = counts()
    together = [("all", total(tables)), ("all, figures of acidity and chemistry too", total(counts(figures_too=True)))]
    return [f"{name}: {share(tally):.1f} % of {tally.total()} rows" for name, tally in [*tables.items(), *together]]


if __name__ == "__main__":
    print("\n".join(lines()))
