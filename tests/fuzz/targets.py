"""What every reader must keep for any bytes whatever: a result, or faults that a person can read; nothing else.

One target per reader. Hypothesis, the corpus and the coverage-guided run all go through these.
"""

import shutil
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any

from optiform.brief.brief import KINDS
from optiform.brief.file import KEYS, read_brief
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.ingredients.ingredient import FUNCTIONS, KNOWN_UNITS, PHASES
from optiform.label.list_text import read_label
from optiform.properties.registry import AT_TEMPERATURE, PLAIN
from optiform.reading.faults import LONGEST, MOST, BadInput, Fault
from optiform.reading.paths import DEMO
from optiform.workshop.engine import FILE
from optiform.workshop.exchange import FILES, import_from
from optiform.workshop.fieldtypes import fields_of
from optiform.workshop.records import RECORDS, Lot
from optiform.workshop.store import Workshop

#: What the readers look for: a run that only turns bits would hardly ever write one of these.
WORDS = (
    *KEYS, *PLAIN, *PHASES, *FUNCTIONS, *KNOWN_UNITS, *KINDS, *(f"{name} at 20 degC" for name in AT_TEMPERATURE),
    *(f"--- {name}\n" for name in FILES), *sorted({each.name for kind in RECORDS for each in fields_of(kind)}),
    "low", "high", "lowest", "highest", "nearest", "percent", "parts", "grams", "phase", "price (EUR/kg)", "pack price",
    "ingredient", "inci", "synonyms", "certificate maximum 9 (%)", "Aqua 70; Glycerin 30", "18 to 22", "1 % of base",
    "glycerin", "cocoa butter", "share of butter in the base", "firmness at 20 degC", "hlb difference",
    "5 kg", "1 L", "12,5", "1.234,5", "1 234,5", "1e308", "nan", "inf", "-0.0", "0x" + 40 * "f", "1979-05-27T07:32:00Z",
    "../", "/dev/zero", "workshop.csv", "today.csv", "own_files = [", "{ low = 1, high = 2 }", "[limits]", "[lines]",
    "[goal]", "[[lines]]", "in stock", "owned", "leave out", "refuse", "EU", "GB", "US", "rinse-off", "leave-on",
    "\ufeff", "\u202e", "\x00", "\x1b[2J", '"""', "'=1+1", "ci 77891", "may contain", "(nano)", "1,2-hexanediol",
)  # fmt: skip
Target = Callable[[Path, bytes], tuple[Fault, ...]]


def brief(folder: Path, content: bytes) -> tuple[Fault, ...]:
    """A brief beside the demo's own table and formula."""
    for name in ("workshop.csv", "today.csv"):
        if not (folder / name).exists():
            shutil.copy(DEMO / name, folder / name)
    path = _written(folder / "brief.toml", content)
    return faults(lambda: read_brief(path))


def own_table(folder: Path, content: bytes) -> tuple[Fault, ...]:
    """The maker's own table, laid over the catalogue."""
    path = _written(folder / "own.csv", content)
    return faults(lambda: read_catalogue([path]))


def formula_table(folder: Path, content: bytes) -> tuple[Fault, ...]:
    """A formula as CSV."""
    path = _written(folder / "formula.csv", content)
    return faults(lambda: read_formula(path, _shipped()))


def formula_document(folder: Path, content: bytes) -> tuple[Fault, ...]:
    """A formula as TOML."""
    path = _written(folder / "formula.toml", content)
    return faults(lambda: read_formula(path, _shipped()))


def label(folder: Path, content: bytes) -> tuple[Fault, ...]:
    """A declaration as text."""
    path = _written(folder / "label.txt", content)
    return faults(lambda: read_label(path))


def archive(folder: Path, content: bytes) -> tuple[Fault, ...]:
    """Records brought into a workshop that has some: a zip, or texts that become one.

    In the texts, a line `--- NAME` begins the file of this name; packed with sound sums, so that it is read.
    """
    path = _written(folder / "given.zip", content if content.startswith(b"PK") else _zipped(content))
    workshop, before, sound = _shop(folder / "shop")
    told = faults(lambda: import_from(workshop, path))
    if told and (folder / "shop" / FILE).read_bytes() == sound and not list((folder / "shop").glob("*-wal")):
        return told  # what is in the file is in it as before, to the last bit
    after = workshop.read_all()
    if told:
        assert after == before, "what was refused is not kept"
    else:
        assert all(after[kind][: len(rows)] == rows for kind, rows in before.items()), "what was kept stays"
        (folder / "shop" / FILE).write_bytes(sound)
    return told


@lru_cache(maxsize=1)
def _shop(folder: Path) -> tuple[Workshop, dict[type[Any], tuple[Any, ...]], bytes]:
    """A workshop with something in it, that, and its file."""
    workshop = Workshop.open(folder)
    workshop.add(Lot(number="G-0", ingredient="glycerin"))
    return workshop, workshop.read_all(), (folder / FILE).read_bytes()


def _zipped(content: bytes) -> bytes:
    """Files as a zip, made by hand: names and contents may be anything."""
    out = BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w") as packed:
        warnings.simplefilter("ignore")  # a name may come twice
        for part in content.split(b"--- ")[1:]:
            name, _, text = part.partition(b"\n")
            packed.writestr(zipfile.ZipInfo(name.decode("utf-8", "replace")[:1000]), text)
    return out.getvalue()


#: Readers by name; one that is added to the program is added here.
TARGETS: dict[str, Target] = {
    "brief": brief,
    "own-table": own_table,
    "formula-table": formula_table,
    "formula-document": formula_document,
    "label": label,
    "archive": archive,
}


def faults(read: Callable[[], object]) -> tuple[Fault, ...]:
    """The faults told, none if it was read. Any other exception is a defect and goes up.

    Raises:
        AssertionError: a fault that says too little, too much, or what a terminal would act on.
    """
    try:
        read()
    except BadInput as bad:
        told = bad.faults
    else:
        return ()
    assert told
    assert max(Counter(fault.file for fault in told).values()) <= 2 * MOST
    for fault in told:
        _readable(fault)
    return told


def _readable(fault: Fault) -> None:
    for part in (fault.file, fault.place, fault.read, fault.expected):
        assert part, fault
        assert part.isprintable(), fault
    for name, most in LONGEST.items():
        assert len(getattr(fault, name)) <= most + 10, fault


def _written(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def _shipped() -> Catalogue:
    return read_catalogue()
