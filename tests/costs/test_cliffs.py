"""What the last jars of a plan cost: the packs behind each step, and stopping half-way."""

from pathlib import Path

import pytest

from optiform import cli
from optiform.costs.buy import Purchases, buy
from optiform.costs.cliffs import Cliffs, cliffs
from optiform.reading.demo import copy_demo
from optiform.telling.cliffs import cliffs as told
from tests.costs.test_buy import lot, offer, plan, product
from tests.dates import ANY_DAY

OFFERS = [offer("oil", 1, 9), offer("butter", 0.5, 12)]
LOTS = [lot("O-1", "oil", 1.0), lot("B-1", "butter", 0.25)]


def made() -> Cliffs:
    """20 jars of 0.1 kg, half oil and half butter: 1 kg of each is needed, the shelf has all of the oil."""
    return cliffs(plan(product("balm", 0.5, 20)), OFFERS, LOTS)


def test_each_step_names_the_packs_that_fall_away() -> None:
    """0.75 kg of butter lack: two packs; up to 0.5 kg, 15 jars, one; the shelf does for 5 jars."""
    assert [(step.total, step.money) for step in made().steps] == [(20, 24.0), (15, 12.0), (5, 0.0)]
    gone = [[(pack.offer.ingredient, pack.count) for pack in step.gone] for step in made().steps]
    assert gone == [[], [("butter", 1)], [("butter", 1)]]
    assert made().whole


def test_a_step_costs_what_buying_for_its_jars_costs() -> None:
    asked = plan(product("balm", 0.5, 20), product("salve", 0.8, 8))
    for step in cliffs(asked, OFFERS, LOTS).steps:
        for extra in (0, 1):
            jars = [step.jars[0] + extra, step.jars[1]]
            if min(jars) == 0 or jars[0] > 20:
                continue
            purchases = buy(plan(product("balm", 0.5, jars[0]), product("salve", 0.8, jars[1])), OFFERS, LOTS)
            assert isinstance(purchases, Purchases)
            assert purchases.money >= step.money
            assert extra or purchases.money == pytest.approx(step.money)


def test_it_is_told_in_a_table_and_a_sentence() -> None:
    words = told(made()).sentences
    assert words[0] == "To pay for 20 jars: 24.00 EUR."
    assert "5 jars cost nothing more: the stock is enough for them." in words
    assert "The dearest are the last 5 of 20 jars: they cost 12.00 EUR, 2.40 EUR each." in words
    assert told(made()).table.rows[1] == (15, 12.0, 12.0, 2.4, "without 1 x 0.5 kg butter")


def test_stopped_it_answers_with_what_it_has() -> None:
    def stop(done: int, _: int) -> None:
        if done:
            raise KeyboardInterrupt

    answer = cliffs(plan(product("balm", 0.5, 20)), OFFERS, LOTS, progress=stop)
    assert (len(answer.steps), answer.whole) == (2, False)
    assert "Stopped before the end: fewer jars were not looked at." in told(answer).sentences


def test_progress_counts_the_jars_left_out() -> None:
    seen: list[tuple[int, int]] = []
    cliffs(plan(product("balm", 0.5, 20)), OFFERS, LOTS, progress=lambda *at: seen.append(at))
    assert seen == [(0, 20), (5, 20), (15, 20)]


def test_the_command_tells_the_staircase_of_the_demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    copy_demo(tmp_path / "demo", ANY_DAY)
    monkeypatch.chdir(tmp_path / "demo")
    assert cli.main(["stock", "import", "workshop", "--records", "."]) == 0
    capsys.readouterr()
    assert cli.main(["buy", "plan.toml", "--records", ".", "--cliffs"]) == 0
    out = capsys.readouterr().out
    assert "To pay for 520 jars: 156.95 EUR." in out
    assert "200 jars cost nothing more" in out
    assert len(out.splitlines()) <= 40
