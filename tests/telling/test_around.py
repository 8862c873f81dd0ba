"""Words that several answers share."""

from typing import NoReturn

import pytest

from optiform.face.sources import demo
from optiform.ingredients import names
from optiform.telling.around import unit_of


def test_the_unit_of_a_property_is_told_without_every_spelling_of_every_substance(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refused() -> NoReturn:
        raise AssertionError("read for a name that is no ingredient")

    brief = demo()
    names.certain.cache_clear()
    monkeypatch.setattr(names, "spellings", refused)
    assert unit_of("polyunsaturated share", "%", brief) == "% of the fatty acids"
    assert unit_of("mango butter", "%", brief) == "% of the jar"
