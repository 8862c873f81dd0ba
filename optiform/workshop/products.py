"""Products in the records: each with its history as a tree of steps, of which none is ever written over.

A step holds brief, files and papers as they stood after it. A product stands at one of its steps; undoing goes to the
one before, redoing on to the latest that was made from it. Whoever writes says which revision they have seen: where
another window has moved the product meanwhile, their steps are kept in the history, and the product stays where it is.
"""

import csv
import hashlib
import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from io import StringIO

from optiform.reading.frozen import frozen
from optiform.reading.tables import csv_text, restored
from optiform.workshop.check import LONGEST
from optiform.workshop.records import Draft, FileText, Product, Record, Step
from optiform.workshop.store import Reader, Revision

BRIEF, FILES, PAPERS, NAME = "brief", "files", "papers", "name"
Texts = Mapping[str, str]


@frozen
class State:
    """What a product is made of at one step: the brief's file name and text, the files it names, the papers."""

    name: str
    brief: str
    files: Texts = field(default_factory=dict)
    papers: Texts = field(default_factory=dict)

    @property
    def texts(self) -> dict[str, str]:
        """Every text by its digest."""
        every = (self.brief, *self.files.values(), *self.papers.values())
        return {digest_of(text): text for text in every}

    @property
    def content(self) -> str:
        """The names of the files with the digests of their texts, as a step keeps them.

        Example:
            >>> State("brief.toml", "").content
            '{"brief": "e3b0c44298fc1c149afb", "files": {}, "name": "brief.toml", "papers": {}}'
        """
        files, papers = ({name: digest_of(text) for name, text in of.items()} for of in (self.files, self.papers))
        named = {NAME: self.name, BRIEF: digest_of(self.brief), FILES: files, PAPERS: papers}
        return json.dumps(named, sort_keys=True)


@frozen
class Saving:
    """What came of saving: the product as it now is, the numbers that the steps got, what stood in the way.

    Attributes:
        product: as it is in the records now.
        numbers: of the steps, in their order.
        clash: the step at which another window has put the product meanwhile; None where nobody did.
    """

    product: Product
    numbers: tuple[int, ...]
    clash: Step | None = None


def digest_of(text: str) -> str:
    """A short name for a text, another for each other text (80 bits of SHA-256)."""
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def free_name(wanted: str, taken: Collection[str]) -> str:
    """The name, or with the first number that makes it free.

    Example:
        >>> free_name("balm", ["balm", "balm 2"])
        'balm 3'
    """
    base = " ".join(wanted.split()) or "product"
    name, number = base, 2
    while name in taken:
        name, number = f"{base} {number}", number + 1
    return name


def text_records(reader: Reader, texts: Texts) -> Iterator[FileText]:
    """The texts that are not kept yet, in parts that a cell can hold."""
    for digest, text in texts.items():
        if not reader.read(FileText, digest=digest, part=1):
            for part, start in enumerate(range(0, len(text) or 1, LONGEST), 1):
                yield FileText(digest=digest, part=part, text=text[start : start + LONGEST])


def text_of(reader: Reader, digest: str) -> str:
    """The text of a digest.

    Raises:
        LookupError: it is not kept.
    """
    parts = sorted(reader.read(FileText, digest=digest), key=lambda part: part.part)
    if not parts:
        raise LookupError(digest)
    return "".join(part.text for part in parts)


def state_of(reader: Reader, step: Step) -> State:
    """What a product was made of at a step.

    Raises:
        LookupError: a text it names is not kept.
    """
    content = json.loads(step.content)
    files, papers = (
        {name: text_of(reader, digest) for name, digest in content.get(part, {}).items()} for part in (FILES, PAPERS)
    )
    return State(content[NAME], text_of(reader, content[BRIEF]), files, papers)


def begun(reader: Reader, wanted: str, steps: Sequence[tuple[Step, State]], at: int) -> tuple[Product, list[Record]]:
    """A new product with its first steps, under a name that is free.

    Args:
        reader: the records.
        wanted: the name; with a number where it is taken.
        steps: from 1 on, each with what it holds.
        at: the step that it stands at.
    """
    name = free_name(wanted, [product.name for product in reader.read(Product)])
    product = Product(name=name, created=steps[0][0].when, at=at, steps=len(steps), revision=1)
    return product, [*_texts(reader, steps), product, *(replace(step, product=name) for step, _ in steps)]


def _texts(reader: Reader, steps: Sequence[tuple[Step, State]]) -> list[FileText]:
    texts: dict[str, str] = {}
    for _, state in steps:
        texts |= state.texts
    return list(text_records(reader, texts))


def saved(
    reader: Reader, name: str, seen: int, steps: Sequence[tuple[Step, State]], at: int
) -> tuple[Saving, list[Record | Revision]]:
    """New steps of a product, and where it then stands; or what stands in the way, the steps being kept all the same.

    Args:
        reader: the records as they are.
        name: of the product.
        seen: the revision that the steps were made on.
        steps: the new ones, numbered on from those that were seen; each says which one it was made from.
        at: the step to stand at.

    Raises:
        LookupError: no such product.
    """
    (product,) = reader.read(Product, name=name) or (None,)
    if product is None:
        raise LookupError(name)
    numbers = {step.number: product.steps + k for k, (step, _) in enumerate(steps, 1)}
    new = [
        replace(step, product=name, number=numbers[step.number], before=numbers.get(step.before, step.before))
        for step, _ in steps
    ]
    clash = None if product.revision == seen else _step(reader, name, product.at)
    moved = replace(
        product,
        at=product.at if clash else numbers.get(at, at),
        steps=product.steps + len(new),
        revision=product.revision + 1 if new or not clash else product.revision,
    )
    records: list[Record | Revision] = [*_texts(reader, steps), *new]
    if moved != product:
        records.append(Revision(moved))
    return Saving(moved, tuple(numbers.values()), clash), records


def _step(reader: Reader, name: str, number: int) -> Step | None:
    return next(iter(reader.read(Step, product=name, number=number)), None)


def drafts(reader: Reader, product: str, new: Sequence[Draft]) -> list[Draft]:
    """Drafts to be kept, under names that are free in the product."""
    taken = {draft.name for draft in reader.read(Draft, product=product)}
    named = []
    for draft in new:
        name = free_name(draft.name, taken)
        taken.add(name)
        named.append(replace(draft, product=product, name=name))
    return named


def lines_text(lines: Iterable[tuple[str, float, str]]) -> str:
    """Lines of a draft as a table: ingredient, % of the whole, phase."""
    return csv_text([("ingredient", "percent", "phase"), *lines], exact=True)


def lines_of(draft: Draft) -> tuple[tuple[str, float, str], ...]:
    """The lines of a draft: ingredient, % of the whole, phase.

    Example:
        >>> text = lines_text([("water", 70.0, "water phase")])
        >>> import datetime
        >>> now = datetime.datetime(2026, 11, 2)
        >>> lines_of(Draft(product="balm", name="a", parent="", reason="", created=now, lines=text))
        (('water', 70.0, 'water phase'),)
    """
    _, *rows = csv.reader(StringIO(draft.lines))
    return tuple((restored(name), float(percent), restored(phase)) for name, percent, phase in rows)
