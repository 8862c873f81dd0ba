"""Progress at a terminal: after a second, not too often, written over and gone; nothing anywhere else."""

import io
from contextlib import redirect_stderr

import pytest

from optiform.commands.progress import ERASE, progress


class Screen(io.StringIO):
    """Standard error as a terminal."""

    def isatty(self) -> bool:
        return True


def work(stream: io.StringIO, *seconds: float, quiet: bool = False) -> None:
    """Nine things to do, one at each of these seconds; the first is when it begins. The last goes wrong."""
    time = iter(seconds)
    with redirect_stderr(stream), progress("blends judged", quiet, clock=lambda: next(time)) as shown:
        for done in range(1, len(seconds)):
            shown(done, 9)
            if done == 9:
                raise ValueError("broken")


def test_it_is_shown_after_a_second_not_too_often_and_wiped_out(
    capsys: pytest.CaptureFixture[str],
) -> None:
    screen = Screen()
    work(screen, 0.0, 0.5, 1.5, 1.6, 2.0)
    assert screen.getvalue() == f"{ERASE}blends judged: 2 of 9{ERASE}blends judged: 4 of 9{ERASE}"
    assert capsys.readouterr().out == ""


def test_a_pipe_or_a_file_gets_none() -> None:
    file = io.StringIO()
    work(file, 0.0, 5.0)
    assert file.getvalue() == ""


def test_json_gets_none_even_at_a_terminal() -> None:
    screen = Screen()
    work(screen, 0.0, 5.0, quiet=True)
    assert screen.getvalue() == ""


def test_work_that_fails_leaves_no_line_behind() -> None:
    screen = Screen()
    with pytest.raises(ValueError, match="broken"):
        work(screen, 0.0, *range(5, 14))
    assert screen.getvalue().endswith(f"9 of 9{ERASE}")
