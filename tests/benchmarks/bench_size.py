"""What an install takes: as it comes, and with the modules that Python has compiled since.

Run from the top of the project, where the README's first line is enough: python -m tests.benchmarks.bench_size
A module is compiled where a command or a page first loads it, so what is compiled grows with use.
"""

import sys
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).resolve().parents[2]
GOAL = 560  # MB


def packages() -> Iterator[metadata.Distribution]:
    """Optiform and what it brings, at any remove; what tests need besides is not among them."""
    waiting, seen = [Requirement("optiform")], set[str]()
    while waiting:
        asked = waiting.pop()
        if (name := canonicalize_name(asked.name)) in seen:
            continue
        seen.add(name)
        package = metadata.distribution(name)
        yield package
        lines = map(Requirement, package.requires or ())
        waiting += [line for line in lines if line.marker is None or line.marker.evaluate({"extra": ""})]


def files(package: metadata.Distribution) -> set[Path]:
    """What the installer wrote down of a package, and what Python has compiled of it, which may stand nowhere."""
    written = {Path(str(file.locate())).resolve() for file in package.files or ()}
    if package.name == "optiform" and not any(path.name == "cli.py" for path in written):  # installed to be worked on
        written |= set((TOP / "optiform").rglob("*"))
    modules = (path for path in written if path.suffix == ".py")
    compiled = {path for module in modules for path in module.parent.glob(f"__pycache__/{module.stem}.*.pyc")}
    return {path for path in written | compiled if path.is_file()}


def megabytes(paths: set[Path], *, compiled: bool = True) -> float:
    """What files take, MB of a million bytes; without the compiled modules among them, or with."""
    return sum(path.stat().st_size for path in paths if compiled or path.suffix != ".pyc") / 1e6


def installed() -> tuple[int, float, float]:
    """How many packages, what they take without compiled modules, and with those that are there, MB."""
    found = [files(package) for package in packages()]
    every = set[Path]().union(*found)
    return len(found), megabytes(every, compiled=False), megabytes(every)


def main() -> int:
    """Print the largest packages, and what all of them take; 1 where they come larger than the goal."""
    sizes = {package.name: megabytes(files(package)) for package in packages()}
    for name, size in sorted(sizes.items(), key=lambda each: -each[1])[:12]:
        print(f"{name:<24}{size:>8.1f} MB")
    count, bare, compiled = installed()
    print(f"{count} packages: {bare:.1f} MB as they come, {compiled:.1f} with what is compiled so far; goal {GOAL}")
    return int(bare > GOAL)


if __name__ == "__main__":
    sys.exit(main())
