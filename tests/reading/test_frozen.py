"""Frozen dataclasses of ours do what the standard library's do."""

import pickle
from dataclasses import FrozenInstanceError, dataclass, field, fields, is_dataclass, replace

import pytest

from optiform.reading.frozen import frozen


@frozen()
class Ours:
    """A dataclass of ours with every sort of field."""

    a: int
    b: float = field(compare=False)
    c: list[int] = field(default_factory=list, hash=False)
    d: str = field(default="d", repr=False)


@dataclass(frozen=True)
class Theirs:
    """The same of the standard library."""

    a: int
    b: float = field(compare=False)
    c: list[int] = field(default_factory=list, hash=False)
    d: str = field(default="d", repr=False)


@frozen()
class Longer(Ours):
    """One with a field more, which is worked out."""

    e: str = ""

    def __post_init__(self) -> None:
        """Say that it was made."""
        object.__setattr__(self, "e", self.e or "made")


@frozen()
class Named:
    """One that compares and shows in its own way."""

    name: str
    size: float

    def __eq__(self, other: object) -> bool:
        """By the name alone."""
        return isinstance(other, Named) and self.name == other.name

    def __hash__(self) -> int:
        """That of the name."""
        return hash(self.name)

    def __repr__(self) -> str:
        """The name."""
        return self.name


CONTENTS = [(1, 2.0), (1, 3.0), (1, 2.0, [5]), (2, 2.0), (1, 2.0, [], "e")]


@pytest.mark.parametrize("one", CONTENTS)
@pytest.mark.parametrize("other", CONTENTS)
def test_they_compare_and_hash_as_the_librarys(one: tuple, other: tuple) -> None:  # type: ignore[type-arg]
    assert (Ours(*one) == Ours(*other)) == (Theirs(*one) == Theirs(*other))
    assert (hash(Ours(*one)) == hash(Ours(*other))) == (hash(Theirs(*one)) == hash(Theirs(*other)))
    theirs: object = Theirs(*one)
    assert Ours(*one) != theirs


@pytest.mark.parametrize("content", CONTENTS)
def test_they_show_as_the_librarys(content: tuple) -> None:  # type: ignore[type-arg]
    assert repr(Ours(*content)) == repr(Theirs(*content)).replace("Theirs", "Ours")


def test_nothing_of_them_can_be_changed() -> None:
    ours = Ours(1, 2.0)
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'a'"):
        ours.a = 2  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'a'"):
        del ours.a
    assert ours.a == 1


def test_they_are_made_changed_and_pickled_as_dataclasses() -> None:
    ours = Ours(1, b=2.0)
    assert is_dataclass(ours)
    assert [each.name for each in fields(ours)] == ["a", "b", "c", "d"]
    assert replace(ours, d="x") == Ours(1, 2.0, [], "x")
    assert pickle.loads(pickle.dumps(ours)) == ours
    assert Ours(1, 2.0).c is not Ours(1, 2.0).c  # a list each
    match ours:
        case Ours(a, b):
            assert (a, b) == (1, 2.0)


@pytest.mark.parametrize("arguments", [(), (1,), (1, 2.0, [], "d", "e")])
def test_too_few_or_too_many_arguments_are_refused(arguments: tuple) -> None:  # type: ignore[type-arg]
    with pytest.raises(TypeError, match="__init__"):
        Ours(*arguments)


def test_one_inherits_from_another_and_is_finished_after_it_is_made() -> None:
    assert Longer(1, 2.0).e == "made"
    assert Longer(1, 2.0) == Longer(1, 5.0)
    assert Longer(1, 2.0) != Ours(1, 2.0)


def test_what_a_class_says_itself_stays() -> None:
    assert Named("a", 1.0) == Named("a", 2.0)
    assert hash(Named("a", 1.0)) == hash(Named("a", 2.0))
    assert repr(Named("a", 1.0)) == "a"
