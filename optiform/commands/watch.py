"""optiform check FOLDER --on DAY: which saved formulas break a rule that begins by then."""

import argparse
from collections.abc import Iterator
from dataclasses import field, replace
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import setting
from optiform.commands.files import check_names
from optiform.commands.tell import answer
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import AMOUNTS, Basis, Formula, read_formula
from optiform.ingredients.recorded import formula_from
from optiform.reading.documents import read_document
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault, Inspection
from optiform.reading.frozen import frozen
from optiform.reading.paths import is_folder
from optiform.reading.tables import read_text, split
from optiform.review.watch import watch
from optiform.rules.law import MARKETS, Scope
from optiform.telling.json.watch import watched as as_json
from optiform.telling.watch import watched

RECORDS = "records.db"


@frozen
class Seen:
    """The formulas of a place, what could not be read as one and why, and files that are none."""

    formulas: list[Formula]
    unread: list[str] = field(default_factory=list)
    others: list[str] = field(default_factory=list)


def run(options: argparse.Namespace) -> int:
    """Look ahead and print."""
    place: Path = options.formula
    briefs = _briefs(place) if is_folder(place) and not (options.brief or options.market) else []
    if len(briefs) > 1:
        names = ", ".join(path.name for path in briefs)
        expected = "one of them with --brief, or where it is sold with --market"
        raise BadInput([Fault(COMMAND_LINE, str(place), f"several briefs: {names}", expected)])
    chosen = options.brief or next(iter(briefs), None)
    scope, catalogue = _looked_for(options, chosen)
    if options.on <= scope.date:
        raise BadInput([Fault(COMMAND_LINE, f"--on {options.on}", f"not after {scope.date}", "a later day")])
    check_names(options)
    seen = _formulas(place, catalogue, options.basis)
    ahead = watch(seen.formulas, scope, options.on, seen.unread, seen.others)
    telling = watched(ahead, place.resolve().name, chosen.name if chosen else "")
    answer(telling, options, lambda: as_json(ahead))
    return ANSWERED


def _looked_for(options: argparse.Namespace, brief: Path | None) -> tuple[Scope, Catalogue]:
    """Scope and ingredients: of the brief, with what the options say besides where it is only the folder's own."""
    own = brief is not None and not options.brief
    stated = dict.fromkeys(("use", "area", "date"), None) if own else {}
    _, _, catalogue, looked_for = setting(
        argparse.Namespace(**{**vars(options), "brief": brief, **stated}), figures=False
    )
    assert looked_for.scope is not None
    scope = looked_for.scope
    if own:
        changed = {word: value for word in stated if (value := getattr(options, word)) is not None}
        scope = replace(scope, **changed)
    return (scope if scope.markets else replace(scope, markets=MARKETS)), catalogue


def _briefs(folder: Path) -> list[Path]:
    """The briefs of a folder: TOML files that name markets or a kind, and can be read."""
    return [path for path in sorted(folder.glob("*.toml")) if _is_brief(path)]


def _is_brief(path: Path) -> bool:
    try:
        read_brief(path, figures=False)
    except BadInput:
        return False
    return True


def _formulas(place: Path, catalogue: Catalogue, basis: str | None) -> Seen:
    """The formulas of a file or a folder, its records among them."""
    if not is_folder(place):
        return Seen([read_formula(place, catalogue, Basis(basis) if basis else None).formula])
    seen = Seen([])
    for path in _files(place):
        name = str(path.relative_to(place))
        if path.name == RECORDS:
            seen.formulas.extend(_saved(path.parent, catalogue, seen.unread))
        elif not _is_formula(path):
            seen.others.append(name)
        else:
            try:
                seen.formulas.append(replace(read_formula(path, catalogue).formula, name=name))
            except BadInput as error:
                fault = error.faults[0]
                seen.unread.append(f"{name}: {fault.place}, {fault.read}")
    if not seen.formulas and not seen.unread:
        expected = "a folder with formulas in CSV or TOML, or with records.db"
        raise BadInput([Fault(COMMAND_LINE, str(place), "no formula", expected)])
    return seen


def _files(folder: Path) -> Iterator[Path]:
    """What may hold formulas in a folder and in those below it; nothing hidden. The folder's own before the others."""
    for path in sorted(folder.rglob("*"), key=lambda path: (len(path.parts), path)):
        hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
        if not hidden and path.is_file() and (path.suffix.casefold() in (".csv", ".toml") or path.name == RECORDS):
            yield path


def _is_formula(path: Path) -> bool:
    """Whether a file has amounts of ingredients; what cannot be read at all is taken for one, so that it is told.

    Lines of many versions in one table are exported records, which are read where they are kept.
    """
    try:
        if path.suffix.casefold() == ".toml":
            return set(read_document(path)) <= {"name", "lines"}
        header, _ = split(read_text(path), Inspection(str(path)), required=["ingredient"])
    except BadInput:
        return True
    return "ingredient" in header and "version" not in header and not set(AMOUNTS).isdisjoint(header)


def _saved(folder: Path, catalogue: Catalogue, unread: list[str]) -> Iterator[Formula]:
    """The versions in the records of a folder; one with an unknown ingredient is told."""
    from optiform.workshop.keeping import own_lines
    from optiform.workshop.records import Version, VersionLine
    from optiform.workshop.store import Workshop

    with Workshop.open(folder, create=False) as workshop:
        versions, lines = workshop.read(Version), workshop.read(VersionLine)
    for version in versions:
        name = f"{version.product}, {version.name}"
        own = own_lines(lines, version.product, version.name)
        if missing := [line.ingredient for line in own if catalogue.find(line.ingredient) is None]:
            unread.append(f"{name}: {', '.join(missing)} not known; name its table with --own")
        elif formula := formula_from(name, [(x.ingredient, x.percent, x.phase) for x in own], catalogue):
            yield formula
