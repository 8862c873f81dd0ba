"""A table that a phone has no room for stands row below row, and each cell says what it is."""

from decimal import ROUND_HALF_UP, Decimal

from streamlit.testing.v1 import AppTest
from workbench.parts import headed, width
from workbench.touch import NARROW

from optiform.telling.parts import Column, Table

LINES = Table(
    (Column("ingredient"), Column("weigh", "g"), Column("% of the jar"), Column("could be"), Column("phase")),
    (("water", 1097.0, 27.42, "26 to 28", "water phase"), ("fats at 30 degC", 225.0, None, "-", "oil phase")),
)


def drawn(narrow: bool, part: Table = LINES) -> AppTest:
    def body(part: "Table") -> None:
        from workbench import parts

        parts.table(part, "lines")

    at = AppTest.from_function(body, args=(part,))
    at.session_state[NARROW] = narrow
    at.run()
    assert not at.exception, at.exception
    return at


def test_where_there_is_room_it_is_a_table() -> None:
    at = drawn(narrow=False)
    assert len(at.dataframe[0].value) == 2
    assert not at.markdown


def test_on_a_phone_each_cell_says_what_it_is_and_one_that_is_empty_nothing() -> None:
    at = drawn(narrow=True)
    assert not at.dataframe
    water, fats = (each.value.replace("\\", "") for each in at.markdown)
    assert water == "**water**  \nweigh 1097 g · 27.42 % of the jar · could be: 26 to 28 · water phase"
    assert fats == "**fats at 30 °C**  \nweigh 225 g · oil phase"


def test_a_phone_and_a_laptop_round_alike() -> None:
    """5.625 is 5.62 wherever it is printed; a browser left alone with it makes 5.63."""
    names, shares = ("water", "fats"), (5.625, 2.675)
    columns = Column("ingredient"), *(Column(f"option {k}", "", 2) for k in range(1, 5))
    part = Table(columns, tuple((name, *[share] * 4) for name, share in zip(names, shares, strict=True)))
    laptop, phone = (drawn(narrow, part) for narrow in (False, True))
    cells = laptop.dataframe[0].value["option 1"]
    shown = [str(Decimal(cell).quantize(Decimal("0.01"), ROUND_HALF_UP)) for cell in cells]
    assert shown == ["5.62", "2.68"]
    texts = [each.value.replace("\\", "") for each in phone.markdown]
    assert [text.partition("option 1: ")[2][:4] for text in texts] == shown


def test_a_row_without_a_name_is_no_rule_across_the_page() -> None:
    def body() -> None:
        from workbench import parts

        from optiform.telling.parts import Column, Table

        heads = tuple(map(Column, ("step", "what to do", "minutes", "watch out for")))
        parts.table(
            Table(heads, (("1", "Melt the fats.", None, ""), ("", "Caution: " + "hot " * 30, None, ""))), "steps"
        )

    at = AppTest.from_function(body)
    at.session_state[NARROW] = True
    at.run()
    assert [each.value[:14] for each in at.markdown] == ["**step 1**  \nM", "Caution: hot h"]


def test_units_stand_behind_figures_and_other_words_before() -> None:
    said = {("weigh, g", "12"): "weigh 12 g", ("°C", "72"): "72 °C", ("EUR", "3.20"): "3.20 EUR", ("to", "36"): "to 36",
            ("% points", "-4.00"): "-4.00 % points", ("result", "soft"): "result: soft",
            ("10 °C", "134"): "10 °C: 134", ("balm, 6 changed", "27.34"): "balm, 6 changed 27.34",
            ("F-1", "23.94"): "F-1: 23.94", ("option 2", "9"): "option 2: 9", ("no.", "1*"): "no. 1*"}  # fmt: skip
    assert {case: headed(*case) for case in said} == said


def test_a_table_is_as_wide_as_its_longest_texts() -> None:
    assert width(LINES) > 340 > width(Table((Column("a"), Column("b")), (("short", 1.0),)))
