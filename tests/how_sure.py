"""How much of the tables was read at a source, or worked out from what was read: `python -m tests.how_sure`."""

import csv
from collections import Counter

from optiform.reading.paths import DATABASE

#: Read at the source, or calculated from such figures alone.
FIRM = ("published", "derived")


def counts() -> dict[str, Counter[str]]:
    """Rows of each table of figures or rules by how they are known; names of substances are no figures."""
    tables: dict[str, Counter[str]] = {}
    for path in sorted(DATABASE.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        if rows and "evidence" in rows[0] and path.stem not in ("names", "substances"):
            tables[path.stem] = Counter(row["evidence"] for row in rows)
    return tables


def share(tally: Counter[str]) -> float:
    """Firm rows in % of all."""
    return 100 * sum(tally[word] for word in FIRM) / tally.total()


def lines() -> list[str]:
    """A line for each table and one for all together."""
    tables = counts()
    every = sum(tables.values(), Counter[str]())
    return [
        f"{name}: {share(tally):.1f} % of {tally.total()} rows" for name, tally in [*tables.items(), ("all", every)]
    ]


if __name__ == "__main__":
    print("\n".join(lines()))
