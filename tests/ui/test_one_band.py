"""One formula has one firmness on all pages, with the reading to make beside it: see the command line's journey too."""

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest
from workbench.state import Key

from tests.ui.test_pages import page, table

READ = "you should read"


def beside(at: AppTest) -> pd.DataFrame:
    """What stands beside today's on a page that proposes formulas."""
    return table(at, "at 20 °C").set_index("at 20 °C")


@pytest.mark.parametrize("name", ["cheaper", "substitute", "nearly", "texture"])
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
