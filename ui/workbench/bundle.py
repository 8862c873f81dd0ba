"""The bench as files to take along, one by one or in a zip, and such files as texts again."""

import struct
import zipfile
import zlib
from collections.abc import Iterable
from io import BytesIO
from pathlib import PurePosixPath

from optiform.reading.encodings import decoded
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.tables import LARGEST
from workbench.state import PAPERS, Bench, named, near

MOST = 60  # files in a zip
_EPOCH = (1980, 1, 1, 0, 0, 0)  # of every file in a zip, so that the same bench gives the same bytes
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, NotImplementedError, EOFError, ValueError)


def packed(bench: Bench) -> bytes:
    """The brief, the files it names and the papers beside it, as one zip."""
    names = [name for name in named(bench.document) if name in bench.files]
    texts = {bench.name: bench.text, **{name: bench.files[name] for name in names}}
    texts |= {name: text for name, text in bench.papers.items() if text.strip()}
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in texts.items():
            archive.writestr(zipfile.ZipInfo(name, _EPOCH), text.encode(), zipfile.ZIP_DEFLATED)
    return out.getvalue()


def texts_of(uploads: Iterable[tuple[str, bytes]]) -> tuple[dict[str, str], list[Fault]]:
    """The texts of uploaded files, zips unpacked, and what of them cannot be read."""
    texts: dict[str, str] = {}
    faults: list[Fault] = []
    for given, content in uploads:
        name = PurePosixPath(given.replace("\\", "/")).name
        try:
            texts |= _unpacked(name, content) if name.casefold().endswith(".zip") else {name: _text(name, content)}
        except BadInput as bad:
            faults += bad.faults
    return texts, faults


def _text(name: str, content: bytes) -> str:
    return decoded(content, name)


def _unpacked(name: str, content: bytes) -> dict[str, str]:
    """The files of a zip. One with a brief is a whole bench: a paper that is not in it is none, not an older one.

    Raises:
        BadInput: it cannot be read, or holds more than a bench.
    """
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            members = [each for each in archive.infolist() if _counts(each.filename)]
            _bounded(name, members)
            texts = {each.filename: _text(each.filename, _member(name, archive, each)) for each in members}
    except _BROKEN as error:
        raise BadInput([Fault(name, "file", str(error), "a zip without a password, packed the usual way")]) from None
    papers = {each: "" for each in PAPERS if not any(PurePosixPath(one).name == each for one in texts)}
    tomls = [each for each in texts if each.endswith(".toml") and PurePosixPath(each).name not in PAPERS]
    return _at_top(texts) | (papers if tomls else {})


def _counts(name: str) -> bool:
    """Not a folder, nor what an operating system adds for itself."""
    parts = PurePosixPath(name).parts
    return not name.endswith("/") and not any(each.startswith((".", "__MACOSX")) and each != ".." for each in parts)


def _bounded(name: str, members: list[zipfile.ZipInfo]) -> None:
    """Whatever shows before anything is unpacked."""
    inspection = Inspection(name)
    if len(members) > MOST:
        inspection.fault("files", str(len(members)), f"at most {MOST}")
    for each in members[:MOST]:
        if not near(each.filename):
            inspection.fault("files", each.filename, "files in the folder of the brief, or below it")
    if sum(each.file_size for each in members) > 4 * LARGEST:
        inspection.fault("files", "too much when unpacked", f"at most {4 * LARGEST} bytes together")
    inspection.finish()


def _member(name: str, archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """The bytes of one file, never more than a table may have, whatever size the zip has declared."""
    with archive.open(info) as file:
        content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise BadInput([Fault(f"{name}/{info.filename}", "file", f"more than {LARGEST} bytes", f"at most {LARGEST}")])
    return content


def _at_top(texts: dict[str, str]) -> dict[str, str]:
    """The files of a folder that was packed as a whole, by their names within it."""
    tops = {PurePosixPath(name).parts[0] for name in texts}
    if len(tops) != 1 or any(len(PurePosixPath(name).parts) == 1 for name in texts):
        return texts
    return {str(PurePosixPath(*PurePosixPath(name).parts[1:])): text for name, text in texts.items()}
