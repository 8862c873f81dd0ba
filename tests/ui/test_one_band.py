"""One formula has one firmness on all pages, with the reading to make beside it: see the command line's journey too."""

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest
from workbench.state import Key, demo

from tests.sweeps import cases
from tests.ui.test_pages import page, table

READ = "you should read"


def beside(at: AppTest) -> pd.DataFrame:
    """What stands beside today's on a page that proposes formulas."""
    return table(at, "at 20 °C").set_index("at 20 °C")


@pytest.mark.parametrize("name", cases(["cheaper", "texture", "substitute", "nearly"], 2, 2))
def test_a_proposal_has_its_reading_beside_its_firmness(name: str) -> None:
    rows = beside(page(name))
    assert rows.index[0] == "today"
    assert len(rows) > 1
    assert rows[READ].str.fullmatch(r"\d+ g \(\d+ to \d+\)").all()
    assert rows.loc["today", "firmness"] == "100"


def test_the_best_formula_is_as_firm_among_drafts_as_on_the_workbench() -> None:
    at = page("bench")
    (bench,) = (row for _, row in table(at, READ).iterrows() if row["°C"] == "20")
    at.button("compare-bench").click().run()
    (draft,) = at.session_state[Key.VARIANTS]
    assert tuple(beside(at).loc[draft.name]) == tuple(bench[["firmness", "could be", READ]])


def test_firmer_and_beside_today_say_the_same() -> None:
    at = page("texture")
    (row,) = (row for _, row in table(at, "could be from").iterrows() if row.iloc[0] == 20)
    told = beside(at).loc["option 1"]
    assert told["firmness"] == f"{row['option 1']:.0f}"
    assert told["could be"] == f"{row['could be from']:.0f} to {row['to']:.0f}"
    assert told[READ] == row[READ]


def held() -> None:
    """What the limits on firmness are held by, and how firm the formula is that stands beside them."""
    import streamlit as st
    from workbench import firmness, state, work

    from optiform.review.measures import setting_of
    from optiform.review.report import report

    st.session_state[state.Key.EXPONENTS] = firmness.exponents
    read, answered = work.brief(state.bench()), work.found(state.bench())
    assert isinstance(answered, work.Found)
    assert not isinstance(read, work.Refused)
    formula = answered.best.formula
    limits = {measured.name: measured for measured in report(formula, setting_of(read)).measures}
    for firm in firmness.of(read, formula):
        limit, band = limits[f"firmness at {firm.temperature:g} degC"], firm.band
        low, high = limit.span or (0.0, 0.0)
        st.text(f"{limit.value:.6f} {low:.6f} {high:.6f}")
        st.text(f"{band.typical:.6f} {band.low:.6f} {band.high:.6f}")
        assert firm.reading is not None, "the demo's readings count"


def test_a_limit_on_the_bench_is_held_by_the_band_beside_it() -> None:
    """Where the limit was held by assumed exponents, and the band by those that the readings fit."""
    bench = demo()
    limits = {f"firmness at {at} degC": {"high": "400"} for at in (10, 20, 35)}
    at = AppTest.from_function(held, default_timeout=60)
    at.session_state[Key.BENCH] = bench.saying({**bench.document, "limits": {**bench.document["limits"], **limits}})
    at.run()
    assert not at.exception, at.exception
    told = [text.value for text in at.text]
    assert len(told) == 6
    for limit, beside in zip(told[::2], told[1::2], strict=True):
        ends = [[float(end) for end in words.split()] for words in (limit, beside)]
        assert ends[0] == pytest.approx(ends[1], rel=1e-6)
