"""What goes to standard error: as wide as the window where a person reads it, one line each for all else."""

import fcntl
import os
import pty
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from optiform.telling.terminal import STEP, wrapped

BRIEF = 'kind = "lotion"\ncandidates = ["water"]\n[limits]\n"oil fase" = { high = "twenty" }\n"firmness" = "a lot"\n'


def said(folder: Path, screen: int | None = None) -> str:
    """What a command says of that brief, on a screen of so many columns or to a pipe."""
    (folder / "brief.toml").write_text(BRIEF)
    line = [sys.executable, "-m", "optiform", "design", "brief.toml"]
    if screen is None:
        return subprocess.run(line, cwd=folder, capture_output=True, text=True, check=False).stderr
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, screen, 0, 0))
    subprocess.run(line, cwd=folder, stdout=subprocess.DEVNULL, stderr=theirs, check=False)
    os.close(theirs)
    text = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # nothing more comes
            piece = b""
        if not piece:
            os.close(ours)
            return text.decode().replace("\r\n", "\n")
        text += piece


def test_faults_are_as_wide_as_the_window_and_one_line_each_to_a_pipe(tmp_path: Path) -> None:
    piped = said(tmp_path).splitlines()
    assert len(piped) > 1
    assert max(map(len, piped)) > 90
    assert all(line.startswith("brief.toml: ") for line in piped)
    shown = said(tmp_path, 90).splitlines()
    assert max(map(len, shown)) <= 90
    assert " ".join(line.strip() for line in shown) == " ".join(piped)
    assert [line for line in shown if not line.startswith(STEP)] != shown


@pytest.mark.parametrize("room", range(80, 121, 5))
def test_a_command_in_a_sentence_is_not_broken(room: int) -> None:
    command = "`optiform stock receive glycerin '1 kg' --records .`"
    lines = wrapped(f"--records: no records.db in the folder that is open. Make one, by {command}, for instance.", room)
    assert command in lines
    assert max(map(len, lines.splitlines())) <= room
