"""Many cases in one test fail, and are told, as tests of their own would."""

from pathlib import Path

import pytest

from tests.every import every


@every("number, square", [(1, 1), (2, 4), (3, 9)])
def squares(number: int, square: int) -> None:
    assert number * number == square


@every("number", [1, 2, 3, 4], ids=lambda number: f"number {number}")
def odd(number: int) -> None:
    assert number % 2, "even"


def named(error: BaseException) -> list[str]:
    """The notes of each error of a group."""
    assert isinstance(error, BaseExceptionGroup)
    return [note for one in error.exceptions for note in one.__notes__]


def test_cases_that_all_hold_pass() -> None:
    squares()


def test_each_case_that_fails_is_named_and_the_others_are_tried() -> None:
    with pytest.raises(ExceptionGroup, match="2 of 4 cases fail") as failed:
        odd()
    assert named(failed.value) == ["case: number 2", "case: number 4"]


def test_a_case_that_calls_off_fails_by_its_name_and_hides_no_other() -> None:
    """`pytest.fail`, `pytest.skip` and `pytest.xfail` raise what is no Exception, and would end the whole test."""

    @every("number", [1, 2, 3])
    def skipped(number: int) -> None:
        if number < 3:
            (pytest.skip if number == 1 else pytest.fail)("not this one")
        assert number != 3

    with pytest.raises(BaseExceptionGroup, match="3 of 3 cases fail") as failed:
        skipped()
    assert named(failed.value) == ["case: 1", "case: 2", "case: 3"]


def test_a_case_with_more_values_than_names_is_refused() -> None:
    @every("number, square", [(1, 1, 5)])
    def more(number: int, square: int) -> None:
        assert number == square

    with pytest.raises(ExceptionGroup, match="1 of 1 cases fail"):
        more()


def test_cases_share_no_fixture_that_a_test_has_for_itself() -> None:
    def written(number: int, tmp_path: Path) -> None:
        assert not (tmp_path / str(number)).exists()

    with pytest.raises(AssertionError, match="share"):
        every("number", [1, 1])(written)


def test_a_fixture_that_outlives_a_test_reaches_every_case(whole: list[int]) -> None:
    assert whole == []


@pytest.fixture(scope="module")
def whole() -> list[int]:
    """What the cases below leave."""
    return []


@every("number", [1, 2])
def test_cases_with_a_fixture_of_the_module(number: int, whole: list[int]) -> None:
    whole.append(number)
    assert whole == [1, 2][:number]
