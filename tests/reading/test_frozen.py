"""Frozen dataclasses with shared methods are what `dataclass(frozen=True)` would make of them."""

import inspect
import pickle
from copy import copy
from dataclasses import FrozenInstanceError, dataclass, field, fields, is_dataclass, replace
from typing import Any

import pytest

from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable


class Part:
    """What both are made of."""

    own: str
    shares: tuple[float, ...] = ()
    notes: dict[str, str] = field(default_factory=dict, hash=False)
    beside: int = field(default=0, compare=False, repr=False)


def made(decorate: Any) -> Any:
    """The same class, once more."""
    copied = {name: value for name, value in vars(Part).items() if name not in ("__dict__", "__weakref__")}
    return decorate(type("Part", (), copied))


SHARED, WRITTEN = made(frozen), made(dataclass(frozen=True))


@frozen
class Share:
    of: str
    percent: float = 0.0

    def __post_init__(self) -> None:
        if not self.of:
            raise ValueError("of nothing")


@frozen
class Dated(Share):
    day: str = ""


@frozen
class Nothing:
    pass


@frozen
class Told(Comparable):
    notes: dict[str, float]


@pytest.mark.parametrize(
    ("places", "names"),
    [(("a",), {}), (("a", (1.0,)), {"beside": 2}), ((), {"own": "b", "notes": {"x": "y"}})],
)
def test_what_is_made_has_the_same_fields_and_the_same_repr(places: tuple[Any, ...], names: dict[str, Any]) -> None:
    one, other = SHARED(*places, **names), WRITTEN(*places, **names)
    assert vars(one) == vars(other)
    assert repr(one) == repr(other)
    assert [part.name for part in fields(one)] == [part.name for part in fields(other)]


@pytest.mark.parametrize(("places", "names"), [((), {}), (("a", (), {}, 0, 0), {}), (("a",), {"what": 1})])
def test_what_lacks_or_is_too_much_is_refused_by_both(places: tuple[Any, ...], names: dict[str, Any]) -> None:
    for kind in (SHARED, WRITTEN):
        with pytest.raises(TypeError):
            kind(*places, **names)


def test_a_default_that_is_made_is_made_for_each() -> None:
    assert SHARED("a").notes is not SHARED("a").notes


def test_values_compare_and_hash_by_what_counts() -> None:
    for kind in (SHARED, WRITTEN):
        assert kind("a") == kind("a", beside=7)
        assert hash(kind("a")) == hash(kind("a", notes={"x": "y"}, beside=7))
        assert kind("a") != kind("a", notes={"x": "y"})
        assert kind("a") != kind("a", (1.0,))
    nan = float("nan")
    assert Share("a", nan) == Share("a", nan)  # the very same figure is equal, as in a tuple


def test_a_class_and_one_that_inherits_from_it_are_never_equal() -> None:
    assert Dated("a", 1.0) != Share("a", 1.0)
    assert Nothing() == Nothing()
    assert len({Nothing(), Nothing(), Share("a"), Dated("a")}) == 3
    assert repr(Dated("a", day="b")) == "Dated(of='a', percent=0.0, day='b')"


def test_nothing_of_it_changes() -> None:
    share = Share("a")
    with pytest.raises(FrozenInstanceError):
        share.percent = 1.0  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        del share.of
    assert share == Share("a")


def test_it_is_checked_where_it_is_made_and_where_it_is_replaced() -> None:
    with pytest.raises(ValueError, match="of nothing"):
        Share("")
    with pytest.raises(ValueError, match="of nothing"):
        replace(Dated("a"), of="")
    assert replace(Dated("a"), percent=2.0) == Dated("a", 2.0)


def test_it_is_pickled_copied_and_matched() -> None:
    dated = Dated("a", 1.0, "b")
    assert pickle.loads(pickle.dumps(dated)) == copy(dated) == dated
    match dated:
        case Dated(of, percent, day):
            assert (of, percent, day) == ("a", 1.0, "b")
    assert is_dataclass(dated)


def test_its_signature_is_that_of_its_fields() -> None:
    assert list(inspect.signature(Dated).parameters) == ["of", "percent", "day"]


def test_its_signature_is_known_before_anything_is_made_of_it_and_what_inherits_has_its_own() -> None:
    @frozen
    class Of:
        """With a field."""

        of: str

    @frozen
    class Day(Of):
        """With one more."""

        day: str = "a"

    class Plain(Of):
        """Made by its parent."""

    assert list(inspect.signature(Day).parameters) == ["of", "day"]
    assert list(inspect.signature(Plain).parameters) == ["of"]
    assert (Day("b").day, Plain("c").of, Of(of="d").of) == ("a", "c", "d")
    with pytest.raises(TypeError):
        Of()  # type: ignore[call-arg]


def test_what_compares_in_its_own_way_goes_on_to() -> None:
    assert Told({"a": float("nan")}) == Told({"a": float("nan")})
    assert hash(Told({"a": 1.0})) == hash(Told({"a": 1.0}))
    assert repr(Told({"a": 1.0})) == "Told(notes=<1 entries>)"
