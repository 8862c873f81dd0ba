"""The demo with something in every text of the maker's that Markdown would take for an image, emphasis or a link."""

import csv
from pathlib import Path

from optiform.reading.paths import DEMO

COSTS = ("foot polish label", "weigh", "safety assessment", "market stall")
OUTSIDE = "198.51.100.7"  # an address kept for examples: nobody is there
#: Columns of the records that hold words of the maker's, names that other records refer to included.
WORDS = {
    "number", "lot", "supplier", "supplier_lot", "note", "batch", "product", "version", "maker", "deviation", "name",
    "parent", "reason", "trial", "aim", "changed", "outcome", "geometry", "tester", "packaging",
}  # fmt: skip


def hostile(words: str) -> str:
    """The words as the name of an image elsewhere, in bold and in red; the same words give the same."""
    return f"**![{words}](http://{OUTSIDE}/{sum(map(ord, words))}.png)** :red[{words}] www.{OUTSIDE}.nip"


INGREDIENT, COLUMN = hostile("oat malt"), hostile("sheen")


def records(folder: Path) -> Path:
    """The demo's records in a folder, every word of the maker's a hostile one."""
    folder.mkdir()
    for file in (DEMO / "workshop").glob("*.csv"):
        with file.open(encoding="utf-8", newline="") as read:
            header, *rows = csv.reader(read)
        own = [name in WORDS and not (file.stem == "readings" and name == "number") for name in header]
        with (folder / file.name).open("w", encoding="utf-8", newline="") as out:
            write = csv.writer(out)
            write.writerow(header)
            for row in rows:
                write.writerow(hostile(cell) if cell and mine else cell for cell, mine in zip(row, own, strict=True))
    return folder


def brief(folder: Path) -> Path:
    """The demo's brief, its table and its papers in a folder, with hostile names in each."""
    folder.mkdir()
    for file in DEMO.glob("*.*"):
        (folder / file.name).write_bytes(file.read_bytes())

    def edit(name: str, *pairs: tuple[str, str]) -> None:
        text = (folder / name).read_text(encoding="utf-8")
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new)
        (folder / name).write_text(text, encoding="utf-8")

    edit("brief.toml",
         ("Salt and oat foot polish, Quillmere workshop", hostile("title")),
         ('"colloidal oatmeal" = "3 %"', f'"colloidal oatmeal" = "3 %"\n"{INGREDIENT}" = "0.5 %"'),
         ('"water phase" = {', f'"{COLUMN}" = {{ high = 3 }}\n"water phase" = {{'))  # fmt: skip
    edit("today.csv", ("water,24.2,", f'"{INGREDIENT}",0.5,water phase\nwater,23.7,'))
    edit("making.toml", ('name = "Juniper"', f'name = "{hostile("part")}"'))
    edit("costs.toml", *((f'"{name}" =', f'"{hostile(name)}" =') for name in COSTS))
    _own_table(folder / "workshop.csv")
    return folder / "brief.toml"


def _own_table(file: Path) -> None:
    """One ingredient and one figure more, and a note on each row."""
    with file.open(encoding="utf-8", newline="") as read:
        rows = list(csv.DictReader(read))
    rows = [row | {COLUMN: "1", "note": hostile("note")} for row in rows]
    mine = {
        "ingredient": INGREDIENT, "phase": "water phase", "functions": "powder", "inci": hostile("inci"),
        "synonyms": hostile("synonym"), "pack price (EUR)": "3.00", "pack (kg)": "1", "stock (kg)": "9",
    }  # fmt: skip
    with file.open("w", encoding="utf-8", newline="") as out:
        write = csv.DictWriter(out, list(dict.fromkeys([*rows[0], *mine])), restval="")
        write.writeheader()
        write.writerows([*rows, mine | {COLUMN: "1"}])
