"""Taking in a file: only if the bench can be read with it."""

from dataclasses import replace

from optiform.brief import Brief
from optiform.documents import document_of
from optiform.faults import BadInput
from optiform.properties.registry import IN_BASE, find_property
from workbench.state import BRIEF_FILE, Bench, Document, demo
from workbench.work import Refused, brief


def loaded(bench: Bench, name: str, content: bytes) -> Bench | Refused:
    """The bench with this file in place of the one of that name, or every reason why not."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return Refused((f"{name}: byte {error.start}: not text in UTF-8",))
    if name == BRIEF_FILE:
        try:
            new = Bench(document_of(text, name), bench.files, own_papers(bench))
        except BadInput as bad:
            return Refused(tuple(map(str, bad.faults)))
    else:
        document = dict(bench.document)
        key = "reference" if name == document.get("reference", "today.csv") else "own_files"
        document.setdefault(key, name if key == "reference" else [name])
        new = replace(bench, document=document, files={**bench.files, name: text})
    read = brief(new)
    return read if isinstance(read, Refused) else replace(new, document=one_spelling(new.document, read))


def own_papers(bench: Bench) -> dict[str, str]:
    """The papers without the demo's: its invented figures must not stand beside a brief of the maker's own."""
    shipped = demo().papers
    return {name: text for name, text in bench.papers.items() if text != shipped[name]}


def one_spelling(document: Document, read: Brief) -> Document:
    """The brief with each name as the tables spell it, so that a control finds and edits the entry that is there."""
    limited = {each.property.name for each in read.limits}

    def ingredient(name: str) -> str:
        item = read.catalogue.find(name)
        return item.name if item else name

    def limit(name: str) -> str:
        plain = find_property(name, read.currency, read.catalogue.ingredients.values(), read.reference).name
        return plain if plain in limited else plain + IN_BASE

    new = dict(document)
    for key, spelt in (("lines", ingredient), ("limits", limit)):
        table = {spelt(name): given for name, given in document.get(key, {}).items()}
        if len(table) == len(document.get(key, {})):
            new[key] = table
    return new | {"exclude": [ingredient(name) for name in document.get("exclude", [])]}
