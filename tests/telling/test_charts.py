"""Charts of formulas: their numbers, and real pictures of the right kind with their words in them."""

import struct
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PIL import Image, ImageChops

from optiform.brief.file import read_brief
from optiform.design.explore import TradeOff, explore_limit
from optiform.ingredients.formula import Formula, Line
from optiform.properties.firmness import Band
from optiform.properties.oil_phase import solid_fat
from optiform.reading.paths import DEMO
from optiform.telling.charts import COLD, HOT, TEMPERATURES, firmness_chart, solid_fat_chart, trade_off_chart
from optiform.telling.drawing import spec, write
from optiform.telling.parts import Chart, Column, Table
from tests.builders import ingredient

HARD = ingredient("hard", 9, "butter", curve={10: 80, 20: 60, 30: 30, 35: 5, 40: 0})
SOFT = ingredient("soft", 5, "oil", curve={10: 10, 40: 0})


def fats(name: str, hard: float) -> Formula:
    return Formula(name, (Line(HARD, hard, "oil phase"), Line(SOFT, 1 - hard, "oil phase")))


def words(path: Path) -> set[str]:
    """Every piece of text of an SVG file."""
    root = ElementTree.parse(path).getroot()
    assert root.tag.endswith("svg")
    return {"".join(node.itertext()).strip() for node in root.iter() if node.tag.endswith("}text")}


def size(path: Path) -> tuple[int, int]:
    """Width and height of a PNG file, by its header."""
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    assert head[12:16] == b"IHDR"
    wide, high = struct.unpack(">II", head[16:24])
    return wide, high


def ink(path: Path) -> float:
    """Share of a PNG's pixels that are not white."""
    with Image.open(path) as picture:
        darkest = ImageChops.darker(*picture.convert("RGB").split()[:2]).histogram()
    return sum(darkest[:230]) / sum(darkest)


def test_solid_fat_as_svg_names_lines_axes_and_marks(tmp_path: Path) -> None:
    write(solid_fat_chart([fats("today", 0.5), fats("new one", 0.2)]), tmp_path / "a.svg")
    found = words(tmp_path / "a.svg")
    assert {"today", "new one", "temperature, °C", "solid fat, % of the fats", COLD[1], HOT[1]} <= found


def test_solid_fat_as_png(tmp_path: Path) -> None:
    write(solid_fat_chart([fats("today", 0.5)]), tmp_path / "a.png")
    wide, high = size(tmp_path / "a.png")
    assert wide > high > 400
    assert 0.005 < ink(tmp_path / "a.png") < 0.5


def test_solid_fat_is_that_of_the_formula_at_each_temperature() -> None:
    formula = fats("today", 0.5)
    rows = solid_fat_chart([formula]).data.rows
    assert [row[1] for row in rows] == TEMPERATURES
    assert [row[2] for row in rows] == [solid_fat(at).of(formula) for at in TEMPERATURES]


def test_firmness_is_a_band_for_each_formula_in_its_own_colour(tmp_path: Path) -> None:
    bands = {
        "today": {10.0: Band(1, 2, 3), 20.0: Band(0, 1, 2)},
        "option 1": {10.0: Band(2, 3, 4), 20.0: Band(1, 2, 3)},
    }
    chart = firmness_chart(bands)
    assert chart.data.rows[2] == ("option 1", 10.0, 3, 2, 4)
    area, line = spec(chart)["layer"][:2]
    assert area["encoding"]["fill"] == line["encoding"]["stroke"] | {"legend": None}
    write(chart, tmp_path / "f.svg")
    assert {"today", "option 1", "firmness, today at 20 °C is 100", HOT[1]} <= words(tmp_path / "f.svg")
    assert (tmp_path / "f.svg").read_text(encoding="utf-8").count(">option 1<") == 1


def test_formulas_of_one_solid_fat_share_the_line_and_its_name() -> None:
    rows = solid_fat_chart([fats("today", 0.5), fats("option 1", 0.5), fats("option 2", 0.2)]).data.rows
    assert {row[0] for row in rows} == {"today and option 1", "option 2"}


def test_bands_over_a_decade_stand_on_an_axis_of_tenfolds_around_them_and_others_on_an_even_one() -> None:
    wide = firmness_chart({"today": {10.0: Band(51, 155, 526), 35.0: Band(14, 58, 217)}})
    up = spec(wide)["layer"][1]["encoding"]["y"]
    assert up["scale"] == {"type": "log", "domain": [10, 1000]}
    assert up["axis"]["values"] == [10, 20, 50, 100, 200, 500, 1000]
    near = firmness_chart({"today": {10.0: Band(51, 155, 500), 35.0: Band(51, 58, 217)}})
    soft = firmness_chart({"today": {10.0: Band(0, 155, 2000), 35.0: Band(0, 0, 1)}})
    for chart in (near, soft):
        assert spec(chart)["layer"][1]["encoding"]["y"]["scale"] == {"zero": False}


def test_the_trade_off_with_the_places_where_the_mix_changes(tmp_path: Path) -> None:
    curve = explore_limit(read_brief(DEMO / "brief.toml"), "solid fat at 30 degC", "low", 2.0, 14.0)
    assert isinstance(curve, TradeOff)
    chart = trade_off_chart(curve)
    dots = {row[0]: row[1] for row in chart.data.rows if row[2]}
    assert dots == {corner.target: corner.value for corner in curve.corners}
    for at, value, _ in chart.data.rows:
        assert value == pytest.approx(curve.value_at(float(str(at))), abs=1e-6)
    for name in ("t.svg", "t.png"):
        write(chart, tmp_path / name)
    heads = {"solid fat at 30 °C at least, % of the fats", "lowest cost, EUR/kg"}
    assert {*heads, "your brief", "At each dot the mix changes"} <= words(tmp_path / "t.svg")
    assert size(tmp_path / "t.png")[0] > 400


def test_a_formula_without_figures_is_not_drawn_as_nothing(tmp_path: Path) -> None:
    unknown = Formula("unknown", (Line(ingredient("mystery", 1, "oil"), 1.0, "oil phase"),))
    write(solid_fat_chart([fats("today", 0.5), unknown]), tmp_path / "a.svg")
    assert "today" in words(tmp_path / "a.svg")
    assert "unknown" not in words(tmp_path / "a.svg")


def test_nothing_to_draw_is_still_a_picture(tmp_path: Path) -> None:
    write(solid_fat_chart([]), tmp_path / "a.svg")
    assert "temperature, °C" in words(tmp_path / "a.svg")


def test_the_demo_is_known_over_all_temperatures_drawn() -> None:
    today = read_brief(DEMO / "brief.toml").reference
    assert today is not None
    values = [solid_fat(at).of(today) for at in TEMPERATURES]
    assert all(value is not None for value in values)
    assert TEMPERATURES[0] <= COLD[0] < HOT[0] <= TEMPERATURES[-1]


def test_a_file_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="none"):
        write(solid_fat_chart([fats("today", 0.5)]), tmp_path / "none" / "a.png")


def test_a_bar_says_the_figure_that_the_table_beside_it_prints() -> None:
    table = Table((Column("a jar"), Column("cost", "EUR", 3)), (("labour", 2.8125), ("packaging", 1.4)))
    drawn = spec(Chart(table, "bar", "cost", "a jar"))["data"]["values"]
    assert [row[1] for row in list(table.texts)[1:]] == ["2.812", "1.400"]
    assert [point["cost"] for point in drawn] == [2.812, 1.4], "no half is left that a browser rounds another way"
