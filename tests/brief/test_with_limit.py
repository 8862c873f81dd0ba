"""A limit that is changed by a word: what is said counts, and what is not said stays as it was."""

import pytest

import optiform as of

BRIEF = of.demo()  # oil phase 22 to 28 %, cocoa butter up to 3 %, sweet almond oil from 3 % on


def ends(brief: of.Brief, name: str) -> tuple[float | None, float | None]:
    """The limit on a property, or the range of a candidate, in %."""
    names = [item.name for item in brief.mix.ingredients]
    if name in names:
        span = brief.ranges[names.index(name)]
        return 100 * span.low, 100 * span.high
    (limit,) = (limit for limit in brief.limits if limit.property.name == name)
    return limit.low, limit.high


def test_an_end_that_is_not_named_stays_as_it_was() -> None:
    assert ends(BRIEF.with_limit("oil phase", low="24 %"), "oil phase") == (24, 28)
    assert ends(BRIEF.with_limit("oil phase", high="26 %"), "oil phase") == (22, 26)
    assert ends(BRIEF.with_limit("cocoa butter", low="1 %"), "cocoa butter") == pytest.approx((1, 3))
    assert ends(BRIEF.with_limit("sweet almond oil", high="9 %"), "sweet almond oil") == pytest.approx((3, 9))


@pytest.mark.parametrize("wrong", [{"low": 120}, {"low": -3}, {"high": 120}, {"high": "-0.1 %"}])
def test_no_line_is_below_nothing_or_above_all(wrong: dict[str, str | float]) -> None:
    with pytest.raises(of.BadInput, match="0 to 100 %"):
        BRIEF.with_limit("glycerin", low=wrong.get("low"), high=wrong.get("high"))
