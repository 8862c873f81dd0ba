"""A PostgreSQL server of the tests' own: a new cluster in a temporary folder, reached by a socket in it."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def programs() -> Path | None:
    """The folder of initdb and pg_ctl: the newest that the system's packages brought, or what is on the path."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"), key=lambda path: int(path.parts[-3]))
    on_path = shutil.which("pg_ctl")
    return found[-1].parent if found else Path(on_path).resolve().parent if on_path else None


@contextmanager
def running(programs: Path) -> Iterator[str]:
    """The address of a server that lives as long as the block."""
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    user = _unprivileged() if os.geteuid() == 0 else None  # the server refuses to run as root
    if user:
        shutil.chown(folder, user)

    def run(name: str, *words: str) -> None:
        line = [str(programs / name), *words]
        done = subprocess.run(line, cwd=folder, user=user, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr

    data = str(folder / "data")
    options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
    try:
        run("initdb", "-D", data, "-U", "maker", "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C")
        run("pg_ctl", "start", "-w", "-s", "-D", data, "-l", str(folder / "log"), "-o", options)
        try:
            yield f"postgresql://maker@/postgres?host={folder}"
        finally:
            run("pg_ctl", "stop", "-s", "-m", "immediate", "-D", data)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _unprivileged() -> str:
    known = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in known else "nobody"
