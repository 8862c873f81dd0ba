"""Parts of a telling, and that every renderer tells all of them."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.telling.document import document
from optiform.telling.drawing import spec, svg
from optiform.telling.frame import comma_separated, frame
from optiform.telling.parts import (
    SCREEN,
    Chart,
    Column,
    Level,
    Section,
    Sentence,
    Step,
    Table,
    Telling,
    number,
    sentences,
)
from optiform.telling.terminal import MOST, sentence, short, table, terminal

words = st.text(st.characters(categories=("L", "N", "P", "Zs")), min_size=1, max_size=60).map(str.strip).filter(bool)
cells = st.none() | st.floats(-1e6, 1e6) | words


@st.composite
def tables(draw: st.DrawFn) -> Table:
    heads = draw(st.lists(words, min_size=1, max_size=6, unique=True))
    columns = tuple(
        Column(head, draw(st.sampled_from(["", "%", "EUR"])), draw(st.none() | st.integers(0, 3))) for head in heads
    )
    return Table(columns, tuple(draw(st.lists(st.tuples(*[cells] * len(heads)), max_size=5))))


@given(tables(), st.integers(80, 200))
def test_no_letter_of_a_cell_is_lost_in_the_terminal(part: Table, width: int) -> None:
    drawn = "".join(table(part, width).split())
    for letter in "".join("".join(cell.split()) for row in part.texts for cell in row if part.rows):
        assert letter in drawn


def test_a_figure_stays_on_the_line_of_its_word() -> None:
    """In lines of 28 columns `9.00` stood alone below its oil."""
    columns = Column("option"), Column("in its place, % of the jar"), Column("x" * 40)
    rows = (
        (1, "sunflower oil, high oleic 9.00", "y" * 40),
        (2, "fat 2.52 + phenoxyethanol ethylhexylglycerin 1.00", "z"),
    )
    lines = [line[:38].split() for line in table(Table(columns, rows), 80).splitlines()]
    assert ["oleic", "9.00"] in lines
    assert not any(words[0][0].isdigit() and "." in words[0] for words in lines if words)


@given(tables())
def test_a_table_of_text_fits_the_window(part: Table) -> None:
    plain = Table(tuple(Column(f"c{k}") for k in range(len(part.columns))), part.rows)
    texts_only = all(isinstance(cell, str) for row in part.rows for cell in row)
    if texts_only and len(part.columns) <= 4:
        assert all(len(line) <= 80 for line in table(plain, 80).splitlines())


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="a row of 2 cells"):
        Table((Column("a"), Column("b")), ((1,),))


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [
        (2.675, 2, "2.68"),
        (2.665, 2, "2.66"),
        (-0.001, 2, "0.00"),
        (12345.6, None, "12346"),
        (0.0123451, None, "0.01235"),
    ],
)
def test_numbers_are_rounded_half_to_even_as_they_print(value: float, places: int | None, shown: str) -> None:
    assert number(value, places) == shown


SHEET = Table((Column("line"), Column("cost", "EUR", 2)), (("<lid>", 1.5), ("=jar", None)), strong=frozenset({1}))
CHART = Chart(SHEET, "bar", "cost", "line")
TELLING = Telling(
    "A & B",
    (
        Section("cost", "Cost", (Sentence("It costs <1.5>."), SHEET, CHART)),
        Section("more", "More", (Sentence("Hot.", Level.STOP), Sentence("one", bullet=True)), short=False),
    ),
    SHEET,
    (Step("Again", "optiform costs"),),
)


def test_the_terminal_tells_what_is_short_and_the_rest_when_asked() -> None:
    assert "Hot." not in terminal(TELLING.brief(), 90)
    assert "STOP: Hot." in terminal(TELLING, 90)
    assert "optiform costs" in terminal(TELLING, 90)
    assert "It costs" not in terminal(TELLING.only("more"), 90)
    assert max(map(len, terminal(TELLING, 1000).splitlines())) <= MOST


def test_a_page_escapes_every_word() -> None:
    page = document(TELLING)
    assert "&lt;lid&gt;" in page
    assert "<lid>" not in page
    assert "A &amp; B" in page
    assert '<tr class="sum">' in page
    assert "<svg" in page


def test_a_data_frame_and_csv_hold_plain_values() -> None:
    assert frame(SHEET)["cost, EUR"].tolist()[0] == 1.5
    assert comma_separated(SHEET).splitlines() == ['line,"cost, EUR"', "<lid>,1.5", "'=jar,"]


def test_every_mark_is_drawn() -> None:
    curve = Table(
        (Column("x"), Column("y", "EUR"), Column("of"), Column("low"), Column("high"), Column("turn")),
        ((1.0, 2.0, "a", 1.5, 2.5, True), (2.0, 3.0, "a", 2.5, 3.5, False)),
    )
    for mark in ("line", "band"):
        chart = Chart(curve, mark, "x", "y", "T", "of", "low", "high", ((1.5, "now"),), "turn")
        assert svg(chart).startswith("<svg")
        assert "EUR" in svg(chart)
    assert svg(CHART).count("&lt;lid&gt;") >= 1
    assert spec(CHART)["data"]["values"][1] == {"line": "=jar", "cost": None}


def test_a_path_in_a_sentence_is_not_broken_at_its_hyphens() -> None:
    path = "a-long-folder/of-a-maker/with-many-parts/and-more/of-them/still-more/foot-polish.csv"
    assert path in sentence(Sentence(f"Written to the file that you named yourself: {path}"), 80)


def test_temperatures_are_read_in_degrees_with_their_sign() -> None:
    assert Sentence("solid fat at 30 degC").text == "solid fat at 30 °C"
    assert Column("limit").shown("solid fat at 30 degC") == "solid fat at 30 °C"


def test_a_fine_column_shows_what_its_decimals_would_lose() -> None:
    column = Column("share", "", 2, fine=True)
    assert [column.shown(value) for value in (0.0015, 0.0, 27.416)] == ["0.0015", "0.00", "27.42"]


def test_a_column_that_may_be_cut_is_where_it_overflows_the_screen_and_says_where_it_is_whole() -> None:
    long = "; ".join(f"lot {k} 100 g, 2027-03-01" for k in range(8))
    rows = tuple((f"line {k}", long) for k in range(30))
    weigh = Section("weigh", "", (Table((Column("weigh"), Column("lot", cut=True)), rows),))
    steps = (Step("First", "optiform stock"), Step("Second", "optiform demo"))
    text = short(Telling("Sheet", (weigh,), Table((), ()), steps), 90)
    lines = text.splitlines()
    assert len(lines) <= 40
    assert all(f"line {k} " in text for k in range(30)), "no row is lost"
    assert "  What ends in ... is whole with --part weigh" in lines
    assert sum(line.endswith(" ...") for line in lines) == 30
    assert len(terminal(Telling("Sheet", (weigh,), Table((), ())).only("weigh"), 90).splitlines()) > 60


def test_where_nothing_else_makes_room_no_next_step_is_told() -> None:
    sheet = Telling("Sheet", (Section("sheet", "", sentences(f"line {k}" for k in range(38))),), Table((), ()))
    step = Step("The sheet to print", "optiform batch --brief brief.toml --html batch.html")
    text = short(replace(sheet, steps=(step, step)), 90)
    assert len(text.splitlines()) == 39
    assert "Next" not in text
    assert "Next" in short(replace(sheet, steps=(step, step), lines=45), 90)


def test_a_sentence_that_runs_on_stands_behind_the_one_before_it_in_a_terminal_only() -> None:
    cost = Section("answer", "", (Sentence("It costs 4 EUR."), Sentence("Not used: lime.", runs_on=True)))
    telling = Telling("Sheet", (cost,), Table((), ()))
    assert "  It costs 4 EUR. Not used: lime." in terminal(telling, 90).splitlines()
    assert "<p>It costs 4 EUR.</p>" in document(telling)
    assert telling.sentences == ("It costs 4 EUR.", "Not used: lime.")


def test_no_short_telling_leaves_out_what_comes_first() -> None:
    many = sentences((f"warning {k}, " + "of so many words " * 8 for k in range(5)), Level.MIND)
    rest = Section("rest", "", sentences(f"sentence {k}" for k in range(33)))
    first = (*(replace(part, firm=True) for part in many[:2]), *many[2:])
    warned = Section("warnings", "Warnings", first, most=3)
    text = short(Telling("Sheet", (rest, warned), Table((), ())), 90)
    assert [f"warning {k}" in text for k in range(5)] == [True, True, False, False, False]
    assert "3 more warnings: --part warnings" in text


def test_the_short_telling_takes_fewer_rows_and_sentences_where_it_would_not_fit_one_screen() -> None:
    table = Table((Column("ingredient"),), tuple((f"oil {k}",) for k in range(60)))
    shelf = Section("shelf", "On the shelf", (table,), most=25)
    warned = Section("mind", "Watch out for", sentences((f"Mind {k}." for k in range(30)), Level.MIND), most=12)
    lines = short(Telling("Stock", (shelf, warned), table), 90).splitlines()
    assert len(lines) <= SCREEN < len(terminal(Telling("Stock", (shelf, warned), table).brief(), 90).splitlines())
    assert [line.strip() for line in lines if " more" in line] == [
        "38 more: --part shelf",
        "21 more warnings: --part mind",
    ]
    few = Telling("Stock", (Section("shelf", "On the shelf", (table,), most=5),), table)
    assert short(few, 90) == terminal(few.brief(), 90), "what fits stays as it is"
