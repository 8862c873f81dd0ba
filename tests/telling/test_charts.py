"""Chart files: real pictures of the right kind, with their words in them."""

import struct
from pathlib import Path
from xml.etree import ElementTree

import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula, Line
from optiform.properties.oil_phase import solid_fat
from optiform.reading.paths import DEMO
from optiform.telling.charts import COLD, HOT, TEMPERATURES, solid_fat_chart, trade_off_chart
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
    import matplotlib.image

    pixels = matplotlib.image.imread(path)[..., :3]
    return float((pixels.min(axis=2) < 0.9).mean())


def test_solid_fat_as_svg_names_lines_axes_and_marks(tmp_path: Path) -> None:
    solid_fat_chart(tmp_path / "a.svg", [fats("today", 0.5), fats("new one", 0.2)])
    found = words(tmp_path / "a.svg")
    assert {"today", "new one", "temperature, degC", "solid fat of the fats, %", COLD[1], HOT[1]} <= found


def test_solid_fat_as_png(tmp_path: Path) -> None:
    solid_fat_chart(tmp_path / "a.png", [fats("today", 0.5)])
    wide, high = size(tmp_path / "a.png")
    assert wide > high > 400
    assert 0.005 < ink(tmp_path / "a.png") < 0.5


def test_the_trade_off_with_its_break_points(tmp_path: Path) -> None:
    curve = {7.0: 4.8, 8.0: 5.0, 9.0: 5.6}
    for name in ("t.svg", "t.png"):
        trade_off_chart(tmp_path / name, "solid fat, %", "EUR/kg", curve, {8.0: 5.0}, 7.5)
    assert {"solid fat, %", "EUR/kg", "the brief", "the mix changes here"} <= words(tmp_path / "t.svg")
    assert size(tmp_path / "t.png")[0] > 400


def test_a_formula_without_figures_is_not_drawn_as_nothing(tmp_path: Path) -> None:
    unknown = Formula("unknown", (Line(ingredient("mystery", 1, "oil"), 1.0, "oil phase"),))
    solid_fat_chart(tmp_path / "a.svg", [fats("today", 0.5), unknown])
    assert "today" in words(tmp_path / "a.svg")
    assert "unknown" not in words(tmp_path / "a.svg")


def test_no_line_leaves_the_picture(tmp_path: Path) -> None:
    solid_fat_chart(tmp_path / "a.svg", [])  # nothing to draw is still a picture with its axes
    assert "temperature, degC" in words(tmp_path / "a.svg")


def test_the_demo_is_known_over_all_temperatures_drawn() -> None:
    today = read_brief(DEMO / "brief.toml").reference
    assert today is not None
    values = [solid_fat(at).of(today) for at in TEMPERATURES]
    assert all(value is not None for value in values)
    assert TEMPERATURES[0] <= COLD[0] < HOT[0] <= TEMPERATURES[-1]


def test_a_file_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="none"):
        solid_fat_chart(tmp_path / "none" / "a.png", [fats("today", 0.5)])
