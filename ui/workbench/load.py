"""Taking in files: judged together, taken as a whole, and only if the bench can be read with them."""

import tomllib
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from unicodedata import normalize

from optiform.batch import file as makingfile
from optiform.brief import file as brieffile
from optiform.brief.brief import Brief
from optiform.costs import file as costsfile
from optiform.costs import plan as planfile
from optiform.costs.file import read_costs
from optiform.ingredients.formula import AMOUNTS
from optiform.properties.registry import IN_BASE, find_property
from optiform.reading.documents import read_document
from optiform.reading.faults import BadInput, Inspection
from optiform.reading.tables import split
from workbench.state import COSTS_FILE, MAKING_FILE, PAPERS, Bench, Document, Spelling, demo, named
from workbench.work import Refused, brief, reading

Texts = Mapping[str, str]
BRIEF, FORMULA, PLAN = "brief", "formula", "plan"
#: What a TOML document is by most of its keys; where as many fit, the first.
KEYS: Mapping[str, Collection[str]] = {BRIEF: brieffile.KEYS, FORMULA: {"name", "lines"}, MAKING_FILE: makingfile.KEYS,
                                       COSTS_FILE: costsfile.KEYS, PLAN: planfile.KEYS}  # fmt: skip


@dataclass(frozen=True)
class Taken:
    """The bench with the files: what was loaded, what else has to be said, and whether it is another product."""

    bench: Bench
    what: str = ""
    words: str = ""
    another: bool = False


@dataclass(frozen=True)
class Waiting:
    """Files that are right as far as they go, what they wait for, and ways out: a label and the files that it adds."""

    words: str
    ways: tuple[tuple[str, Texts], ...] = ()


@dataclass(frozen=True)
class _Given:
    """Files by what they are."""

    briefs: Texts
    papers: Texts
    others: Texts  # tables and formulas
    plans: tuple[str, ...]


def gathered(bench: Bench, files: Texts) -> Taken | Waiting | Refused:
    """What these files, judged together, make of the bench: with a brief among them another one, else a changed one.

    Args:
        bench: what stands now; nothing of it is changed.
        files: texts by file name.
    """
    given = _by_kind(files)
    if isinstance(given, Refused):
        return given
    if not given.briefs:
        return _changed(bench, given)
    ((name, text),) = given.briefs.items()
    return _another(bench, name, tomllib.loads(text), given)


def loaded(bench: Bench, name: str, text: str) -> Bench | Refused:
    """The bench with this text for a file that its brief names."""
    outcome = judged(replace(bench, files={**bench.files, name: text}))
    return outcome if isinstance(outcome, Refused) else outcome.bench


def _by_kind(files: Texts) -> _Given | Refused:
    """The files by kind, or what cannot be read and what stands twice."""
    faults: list[str] = []
    kinds: dict[str, dict[str, Document]] = {}
    for name, text in files.items():
        if not name.casefold().endswith(".toml"):
            continue
        document = reading(name, text, read_document)
        if isinstance(document, Refused):
            faults += document.faults
        else:
            kinds.setdefault(_kind(name, document), {})[name] = document
    for kind in (BRIEF, *PAPERS):
        if len(twice := kinds.get(kind, {})) > 1:
            faults.append(f"{listed(twice)}: read {len(twice)} of {_WORDS[kind]}, expected one: put the others away")
    if faults:
        return Refused(tuple(faults))
    documents = {name for kind in (BRIEF, PLAN, *PAPERS) for name in kinds.get(kind, {})}
    return _Given(
        {name: normalize("NFC", files[name]) for name in kinds.get(BRIEF, {})},
        {kind: files[name] for kind in PAPERS for name in kinds.get(kind, {})},
        {name: text for name, text in files.items() if name not in documents and name not in PAPERS},
        tuple(kinds.get(PLAN, {})),
    )


_WORDS = {BRIEF: "a brief", MAKING_FILE: "how it is made", COSTS_FILE: "what a jar costs"}


def _kind(name: str, document: Document) -> str:
    """What a TOML document is. One named as the papers are is that paper."""
    if name in PAPERS:
        return name
    if document and set(document) <= set(KEYS[FORMULA]):
        return FORMULA
    return max(KEYS, key=lambda kind: len(set(document) & set(KEYS[kind])))


# -- another brief -----------------------------------------------------------------------------------------------------


def _another(bench: Bench, name: str, document: Document, given: _Given) -> Taken | Waiting | Refused:
    """Another bench. Files of the maker's own that stand on this one serve the new brief too, the demo's do not."""
    places = _places(document, given.others)
    stays = {each: text for each, text in own_files(bench).items() if each in named(document) and each not in places}
    missing = [each for each in named(document) if each not in places and each not in stays]
    if missing:
        return _waits(bench, name, missing, given, set(places.values()))
    files = {each: given.others[place] for each, place in places.items()} | stays
    papers = _filled({**own_papers(bench), **given.papers})
    words = f" As on the bench before: {listed(stays)}." if stays else ""
    aside = [each for each in (*given.others, *given.plans) if each not in places.values()]
    words += f" Left aside, {name} does not name it: {listed(aside)}." if aside else ""
    taken = judged(Bench(given.briefs[name], files, papers, name), name, words)
    return replace(taken, another=True) if isinstance(taken, Taken) else taken


def _waits(bench: Bench, name: str, missing: list[str], given: _Given, used: set[str]) -> Waiting:
    """What a brief still needs, with what was given under other names."""
    others = [each for each in given.others if each not in used]
    words = f"{name} needs {listed(missing)}: load {'it' if len(missing) == 1 else 'them'} too."
    words += f" It does not name {listed(others)}." if others else ""
    demos = {each: bench.files[each] for each in missing if each in bench.files}
    return Waiting(words, ((f"Use the demo's {listed(demos)}", demos),) if demos else ())


def _places(document: Document, texts: Texts) -> dict[str, str]:
    """The files that names in a brief mean: those of the same name, else of the same name without folders."""
    lasts = Counter(map(_last, named(document)))
    by_last = {_last(each): each for each in texts}
    places = {
        name: name if name in texts else by_last.get(_last(name), "") if lasts[_last(name)] == 1 else ""
        for name in named(document)
    }
    return {name: place for name, place in places.items() if place}


def _last(name: str) -> str:
    return PurePosixPath(name).name.casefold()


def own_files(bench: Bench) -> dict[str, str]:
    """The files without the demo's: its invented prices must not stand behind a brief of the maker's own unasked."""
    return _without(bench.files, demo().files)


def own_papers(bench: Bench) -> dict[str, str]:
    """The papers without the demo's: its invented figures must not stand beside a brief of the maker's own."""
    return _without(bench.papers, demo().papers)


def _filled(papers: Texts) -> dict[str, str]:
    """Papers without those that say nothing: an empty one given puts the old one away."""
    return {name: text for name, text in papers.items() if text.strip()}


def _without(texts: Texts, shipped: Texts) -> dict[str, str]:
    return {name: text for name, text in texts.items() if text != shipped.get(name)}


# -- the brief that is there -------------------------------------------------------------------------------------------


def _changed(bench: Bench, given: _Given) -> Taken | Waiting | Refused:
    """The bench with files and papers in place of those of their names."""
    places = _places(bench.document, given.others)
    strangers = {each: text for each, text in given.others.items() if each not in places.values()}
    if strangers:
        return _asks(bench, strangers)
    if not places and not given.papers:
        what = ", ".join(given.plans) or "the files"
        expected = "a brief, tables, a formula, making.toml or costs.toml"
        return Refused((f"{what}: read nothing that the bench has a use for, expected {expected}",))
    files = {each: given.others[place] for each, place in places.items()}
    new = replace(bench, files={**bench.files, **files}, papers=_filled({**bench.papers, **given.papers}))
    return judged(new, listed([*files, *given.papers]))


def _asks(bench: Bench, strangers: Texts) -> Waiting:
    """What tables are for that the brief on the bench does not name."""
    it = "it" if len(strangers) == 1 else "them"
    words = f"{bench.name}, the brief on the bench, does not name {listed(strangers)}: load the brief that does too"
    if len(strangers) > 1:
        return Waiting(f"{words}, or one of {it} alone.")
    ((name, text),) = strangers.items()
    ways = tuple((label, _rewritten(bench, document)) for label, document in _uses(bench.document, name, text))
    return Waiting(f"{words}, or say what {it} is for.", ways)


def _uses(document: Document, name: str, text: str) -> Iterable[tuple[str, Document]]:
    """What a table can be for the brief, each with the brief that then names it."""
    if _is_formula(name, text):
        yield "It is today's formula", document | {"reference": name}
        return
    given = document.get("own_files", [])
    own = [each for each in given if isinstance(each, str)] if isinstance(given, list) else []
    yield f"My table in place of {listed(own)}" if own else "It is my own table", document | {"own_files": [name]}
    if own:
        yield f"My table beside {listed(own)}", document | {"own_files": [*own, name]}


def _rewritten(bench: Bench, document: Document) -> dict[str, str]:
    """The whole bench as files, its brief in other words."""
    files = {name: text for name, text in bench.files.items() if name in named(document)}
    return {bench.name: bench.saying(document).text, **files, **bench.papers}


def _is_formula(name: str, text: str) -> bool:
    """Whether a table has a column of amounts; a document that is no brief is a formula."""
    if name.casefold().endswith(".toml"):
        return True
    try:
        header, _ = split(text, Inspection(name))
    except BadInput:
        return False
    return not set(AMOUNTS).isdisjoint(header)


# -- judging -----------------------------------------------------------------------------------------------------------


def judged(new: Bench, what: str = "", words: str = "") -> Taken | Refused:
    """The bench if everything on it can be read, each name spelled as the tables do; else every fault.

    How it is made is read against one formula on the page that chooses it; here it only has to be a document.
    """
    read = brief(new)
    faults = list(read.faults) if isinstance(read, Refused) else []
    costs = new.papers.get(COSTS_FILE)
    if costs is not None and not isinstance(read, Refused):
        told = reading(COSTS_FILE, costs, lambda path: read_costs(path, read.catalogue, read.currency))
        faults += told.faults if isinstance(told, Refused) else []
    if faults or isinstance(read, Refused):
        return Refused(tuple(faults))
    return Taken(replace(new, spelling=spelling(new.document, read)), what, words)


def listed(names: Iterable[str]) -> str:
    """Names as words: a, b and c."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def spelling(document: Document, read: Brief) -> Spelling:
    """Names of a brief as the tables spell them, so that a control finds and edits the entry that is there."""
    limited = {limit.property.name for limit in read.limits}

    def ingredient(name: str) -> str:
        item = read.catalogue.find(name)
        return item.name if item else name

    def limit(name: str) -> str:
        plain = find_property(name, read.currency, read.catalogue.ingredients.values(), read.reference).name
        return plain if plain in limited else plain + IN_BASE

    spelt = {
        key: {name: speller(name) for name in document.get(key, ())}
        for key, speller in (("lines", ingredient), ("limits", limit), ("exclude", ingredient))
    }
    apart = {key: names for key, names in spelt.items() if len(set(names.values())) == len(names)}
    other = {key: {old: new for old, new in names.items() if old != new} for key, names in apart.items()}
    return {key: names for key, names in other.items() if names}
