"""What is usual yields to the brief and to today's formula, and is left out where a brief only wants to be warned."""

from pathlib import Path

import pytest

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.brief.goal import Lowest, Nearest, NearestUsual
from optiform.reading.faults import BadInput

SHOP = """ingredient,price (EUR/kg)
water,0.1
glycerin,4
xanthan gum,20
emulsifying wax NF,10
cetyl alcohol,9
sunflower oil,4
cocoa butter,20
kaolin,1
phenoxyethanol + ethylhexylglycerin,30
"""
TODAY = """ingredient,percent
water,60
glycerin,9
emulsifying wax NF,12
sunflower oil,18
phenoxyethanol + ethylhexylglycerin,1
"""


def brief(tmp_path: Path, more: str = "", kind: str = "lotion") -> Brief:
    (tmp_path / "shop.csv").write_text(SHOP, encoding="utf-8")
    (tmp_path / "today.csv").write_text(TODAY, encoding="utf-8")
    path = tmp_path / "brief.toml"
    path.write_text(f'kind = "{kind}"\nown_files = ["shop.csv"]\n{more}', encoding="utf-8")
    return read_brief(path)


def ends(asked: Brief, name: str) -> tuple[float | None, float | None] | None:
    found = [(limit.low, limit.high) for limit in asked.usual if limit.property.name == name]
    return found[0] if found else None


def top(asked: Brief, name: str) -> tuple[float, str]:
    spans = {item.name: span for item, span in zip(asked.mix.ingredients, asked.ranges, strict=True)}
    return round(100 * spans[name].high, 6), spans[name].source


def test_usual_ranges_and_usual_use_hold_where_the_brief_is_silent(tmp_path: Path) -> None:
    asked = brief(tmp_path)
    assert ends(asked, "share of emulsifier") == (3.0, 8.0)
    assert top(asked, "glycerin") == (5.0, "usual"), "in a lotion"
    assert top(brief(tmp_path, kind="solid cleansing bar"), "glycerin") == (1.0, "usual")
    assert top(asked, "water") == (100.0, "none")
    assert top(asked, "phenoxyethanol + ethylhexylglycerin") == (1.0, "advice"), "what is dosed holds in any case"


def test_they_yield_to_the_briefs_own_words(tmp_path: Path) -> None:
    asked = brief(
        tmp_path,
        '[lines]\n"xanthan gum" = "0.8 %"\n"glycerin" = { high = "20 %" }\n'
        '[limits]\n"share of emulsifier" = { low = "9 %" }\n"oil phase" = { low = "20 %" }\n',
    )
    assert ends(asked, "share of emulsifier") is None, "above all that is usual"
    assert ends(asked, "oil phase") == (None, 33.0), "the end that the brief does not speak of stays"
    assert ends(asked, "share of thickener") is None, "its only thickener has a line of its own"
    assert top(asked, "glycerin") == (20.0, "brief")


def test_they_yield_to_a_limit_that_is_set_from_python(tmp_path: Path) -> None:
    asked = brief(tmp_path, '[goal]\nlowest = "cost"\n').with_limit("share of emulsifier", low="10 %")
    assert ends(asked, "share of emulsifier") is None
    assert ends(asked, "oil phase") == (15.0, 33.0)
    warned = brief(tmp_path, 'usual = "warn"\n').with_limit("share of emulsifier", low="10 %")
    assert warned.usual == ()


def test_they_widen_to_todays_formula(tmp_path: Path) -> None:
    asked = brief(tmp_path, 'reference = "today.csv"\n[goal]\nlowest = "cost"\n')
    assert ends(asked, "share of emulsifier") == pytest.approx((3.0, 12.0))
    assert top(asked, "glycerin") == (9.0, "usual")
    assert ends(asked, "water") == pytest.approx((60.0, 80.0))


def test_warn_brings_back_warnings_only(tmp_path: Path) -> None:
    asked = brief(tmp_path, 'usual = "warn"\n')
    assert asked.usual == ()
    assert top(asked, "glycerin") == (100.0, "none")
    assert isinstance(asked.goal, Lowest)


def test_a_brief_that_names_little_more_than_a_kind_is_for_what_is_usual(tmp_path: Path) -> None:
    assert isinstance(brief(tmp_path).goal, NearestUsual)
    assert isinstance(brief(tmp_path, '[lines]\n"glycerin" = "4 %"\n').goal, NearestUsual)
    assert isinstance(brief(tmp_path, '[goal]\nlowest = "cost"\n').goal, Lowest)
    assert isinstance(brief(tmp_path, '[limits]\n"oil phase" = { low = "20 %" }\n').goal, Lowest)
    assert isinstance(brief(tmp_path, 'reference = "today.csv"\n').goal, Nearest), "what is made today stands"
    limited = '[limits]\n"oil phase" = { low = "20 %" }\n[goal]\nnearest = "usual"\n'
    assert isinstance(brief(tmp_path, limited).goal, NearestUsual)


def test_what_is_usual_needs_a_kind(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="a key kind, which says what is usual"):
        brief(tmp_path, '[goal]\nnearest = "usual"\n', kind="")


def test_what_is_usual_is_one_of_two_words(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="one of: hold, warn"):
        brief(tmp_path, 'usual = "sometimes"\n')


@pytest.mark.parametrize(
    ("more", "water"),
    [
        ("", 62.0),
        ('[limits]\n"undissolved salt at 20 degC" = { low = "20 %" }\n', 48.0),
        ('[lines]\n"sugar, caster" = { low = "30 %" }\n', 16.0),
    ],
)
def test_a_cream_scrub_is_ranged_by_its_grain(tmp_path: Path, more: str, water: float) -> None:
    shop = SHOP + '"pumice, fine",3\n"sugar, caster",1\n"sea salt, fine",1\n'
    (tmp_path / "more.csv").write_text(shop, encoding="utf-8")
    path = tmp_path / "brief.toml"
    path.write_text(f'kind = "cream scrub"\nown_files = ["more.csv"]\n{more}', encoding="utf-8")
    found = ends(read_brief(path), "water")
    assert found is not None
    assert found[1] == water


def test_no_ph_is_adjusted_where_there_is_no_water(tmp_path: Path) -> None:
    """In a bath salt scrub a pinch of bicarbonate, cheaper than oil, filled up."""
    assert ends(brief(tmp_path), "share of ph adjuster") == (None, 0.2)
    assert ends(brief(tmp_path, kind="solid cleansing bar"), "share of ph adjuster") == (None, 0.2)
    assert ends(brief(tmp_path, kind="bath salt scrub"), "share of ph adjuster") == (None, 0.0)
    assert ends(brief(tmp_path, kind="balm"), "share of ph adjuster") == (None, 0.0)
