"""What a brief says before its goal, limits and lines can be read: currency, kind, claims, and the files it names."""

import re
from dataclasses import replace
from pathlib import Path

from optiform.brief.brief import KINDS
from optiform.brief.kind_words import expected
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Formula, read_formula
from optiform.ingredients.ingredient import Ingredient, Value
from optiform.reading.cells import Cells
from optiform.reading.documents import beside
from optiform.reading.faults import BadInput
from optiform.reading.frozen import frozen
from optiform.rules.claims import CLAIMS

FILES = 20  # own tables of one brief


@frozen
class Background:
    """A brief's document and what is known for reading the rest of it.

    Attributes:
        path: where the document stands; files it names lie beside it.
        catalogue: with the own tables, and with what the brief counts as oil moved there.
        reference: the formula made today; None where there is none, or where it cannot be read.
        usual: whether what is usual holds; else it is only warned of.
        whole: whether currency and own tables could be read; else nothing is known of what a candidate lacks.
    """

    path: Path
    cells: Cells
    catalogue: Catalogue
    currency: str
    kind: str
    claims: tuple[str, ...]
    reference: Formula | None
    usual: bool = True
    whole: bool = True


def background_of(path: Path, cells: Cells, catalogue: Catalogue | None) -> Background:
    """The background of a document; `catalogue` is what its `own_files` give, where they have been read before."""
    before = len(cells.inspection.faults)
    currency, known = _currency(cells), catalogue or _catalogue(path, cells)
    whole = len(cells.inspection.faults) == before
    counted, kind = _counted(cells, known), _kind(cells)
    claims = cells.choices("claims", list(CLAIMS))
    reference = formula_at(path, cells, "reference", counted)
    usual = cells.choice("usual", "hold", ("hold", "warn")) == "hold"
    return Background(path, cells, counted, currency, kind, claims, reference, usual, whole)


def formula_at(path: Path, cells: Cells, key: str, catalogue: Catalogue) -> Formula | None:
    """The formula in a file beside the document that a key names; None where none is named, or it cannot be read."""
    return cells.read(key, path, "the name of a formula file", lambda file: read_formula(file, catalogue).formula)


def _currency(cells: Cells) -> str:
    currency = cells.text("currency", "EUR").upper()
    if not re.fullmatch("[A-Z]{3}", currency):
        cells.fault("currency", currency, "a currency of three letters, such as EUR")
    return currency


def _kind(cells: Cells) -> str:
    word = cells.table.get("kind", "")
    if not isinstance(word, str) or word.casefold() in ("", *KINDS):
        return cells.choice("kind", "", ("", *KINDS))
    cells.fault("kind", word, expected(word))
    return ""


def _catalogue(path: Path, cells: Cells) -> Catalogue:
    names = cells.texts("own_files")
    if len(names) > FILES or len(set(names)) < len(names):
        cells.fault("own_files", f"{len(names)} names", f"at most {FILES}, each once")
        names = []
    files = [file for name in names if (file := beside(path, "own_files", name, cells.inspection))]
    try:
        return read_catalogue(files)
    except BadInput as bad:
        cells.inspection.faults.extend(bad.faults)
        return read_catalogue()


def _counted(cells: Cells, catalogue: Catalogue) -> Catalogue:
    """With what the brief counts as oil moved there."""
    as_oil = [cells.known("count_as_oil", name, catalogue) for name in cells.texts("count_as_oil")]
    changed = {item.name.casefold(): _as_oil(item) for item in as_oil if item}
    return replace(catalogue, ingredients={**catalogue.ingredients, **changed})


def _as_oil(item: Ingredient) -> Ingredient:
    """The ingredient counted in the oil phase with its own HLB as required HLB, as some published designs do."""
    functions = tuple(word for word in item.functions if word != "emulsifier") or ("fatty alcohol",)
    values = dict(item.values)
    own: Value | None = item.value("hlb")
    if own and ("required hlb", None) not in values:
        values["required hlb", None] = own
    values.pop(("hlb", None), None)
    return replace(item, functions=functions, values=values, phase="oil phase")
