"""What a brief asks as rows of a program."""

import sys
import threading
from collections.abc import Iterator

import numpy as np
import pytest

from optiform.program.build import Demand, constant
from optiform.properties.base import Terms

SESSIONS, KEYS = 8, 3000


def demand() -> Demand:
    return Demand("water", "%", "low", 30.0, "limit", constant(Terms.exact(np.array([100.0, 0.0]))))


@pytest.fixture
def threads_take_turns_often() -> Iterator[None]:
    """As they do by chance on a busy server."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-7)
    yield
    sys.setswitchinterval(before)


def test_a_row_is_the_same_but_for_its_key_and_its_width() -> None:
    asked, at = demand(), np.zeros(2)
    first, other, wide = asked.row(at, 0), asked.row(at, 5), asked.row(at, 5, extra=3)
    assert (first.key, other.key, wide.key) == (0, 5, 5)
    assert first.coefficients.tolist() == other.coefficients.tolist() == wide.coefficients[:2].tolist()
    assert wide.coefficients.tolist()[2:] == [0.0, 0.0, 0.0]
    assert asked.row(at, 5) is other


@pytest.mark.usefixtures("threads_take_turns_often")
def test_sessions_that_ask_the_same_of_the_same_get_their_rows_each() -> None:
    wrong: list[BaseException] = []

    def session(asked: Demand, first: int) -> None:
        try:
            assert all(asked.row(np.zeros(2), key).key == key for key in range(first, KEYS, SESSIONS))
        except BaseException as error:
            wrong.append(error)

    for _ in range(30):
        asked = demand()
        threads = [threading.Thread(target=session, args=(asked, number)) for number in range(SESSIONS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert wrong == []
