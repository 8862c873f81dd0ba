"""A coverage-guided run of one reader: `python -m tests.fuzz.run TARGET [libFuzzer options] [corpus folder]`.

It needs the package atheris, which nothing else here does.
"""

import os
import sys
import tempfile
from pathlib import Path

import atheris  # type: ignore[import-not-found, import-untyped, unused-ignore]

with atheris.instrument_imports(include=["optiform", "tomllib", "csv"]):
    from tests.fuzz.targets import TARGETS, WORDS


def main() -> None:
    """Feed a target until libFuzzer is done. What it finds is written as crash-... to the working folder."""
    if len(sys.argv) < 2 or sys.argv[1] not in TARGETS:
        sys.exit(f"usage: python -m tests.fuzz.run {'|'.join(TARGETS)} [libFuzzer options]")
    target = TARGETS[sys.argv.pop(1)]
    folder = Path(tempfile.mkdtemp(dir=os.environ.get("TMPDIR", "/dev/shm" if Path("/dev/shm").is_dir() else None)))
    target(folder, b"")  # what is read once and kept belongs to no input
    words = folder.parent / f"{folder.name}.dict"
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in WORDS), encoding="ascii")
    sys.argv.insert(1, f"-dict={words}")
    atheris.Setup(sys.argv, lambda content: target(folder, content))
    atheris.Fuzz()


def _escaped(word: str) -> str:
    """A word as libFuzzer's dictionaries want it: every byte in hexadecimal."""
    return "".join(f"\\x{byte:02x}" for byte in word.encode())


main()
