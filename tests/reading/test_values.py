"""What is a value: compared, hashed and pickled by content, and said in short."""

import pickle
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from optiform.reading.values import MOST, Bound, Comparable


@dataclass(frozen=True, eq=False, repr=False)
class Thing(Comparable):
    name: str
    figures: NDArray[np.float64]
    notes: Mapping[str, float] = field(default_factory=dict)
    beside: int = field(default=0, compare=False, repr=False)


def thing(*figures: float, **notes: float) -> Thing:
    return Thing("thing", np.array(figures), notes)


def test_arrays_and_mappings_count_by_what_is_in_them() -> None:
    assert thing(1.0, 2.0, a=3.0) == thing(1.0, 2.0, a=3.0)
    assert hash(thing(1.0, 2.0, a=3.0)) == hash(thing(1.0, 2.0, a=3.0))
    assert thing(1.0, 2.0) != thing(1.0, 2.5)
    assert thing(1.0, a=3.0) != thing(1.0, a=4.0)
    assert thing(1.0, a=3.0) != thing(1.0, b=3.0)


def test_nothing_is_nothing_with_either_sign_and_no_number_is_itself() -> None:
    assert thing(0.0, float("nan")) == thing(-0.0, float("nan"))
    assert hash(thing(0.0, float("nan"), a=float("nan"))) == hash(thing(-0.0, float("nan"), a=float("nan")))


def test_what_was_found_equal_is_not_compared_wholly_again() -> None:
    one, other = thing(1.0, 2.0), thing(1.0, 2.0)
    assert one == other
    object.__setattr__(other, "figures", None)  # what is frozen never changes: only to see whether it is read
    assert one == other
    assert pickle.loads(pickle.dumps(one)).__dict__.keys() == {"name", "figures", "notes", "beside"}


def test_what_does_not_count_does_not_count() -> None:
    assert replace(thing(1.0), beside=1) == thing(1.0)
    assert "beside" not in repr(thing(1.0))


def test_another_class_is_never_the_same() -> None:
    assert thing(1.0) != ("thing", (1.0,), {})


def test_a_value_survives_a_pickle() -> None:
    assert pickle.loads(pickle.dumps(thing(1.0, a=2.0))) == thing(1.0, a=2.0)
    assert pickle.loads(pickle.dumps(Bound(pow, (2,)))) == Bound(pow, (2,))


def test_a_repr_stays_short() -> None:
    assert len(repr(Thing("long " * 5_000, np.zeros(10_000), {str(k): 0.0 for k in range(10_000)}))) < MOST
