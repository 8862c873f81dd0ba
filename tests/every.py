"""Cases by the hundred that take no time as one test: of a test of its own for each, pytest alone takes some 4 ms."""

import inspect
from collections.abc import Callable, Collection, Iterable
from functools import wraps
from typing import Any

import pytest

Test = Callable[..., None]
#: What ends a case: a `pytest.raises` that saw nothing raised and a skip are no Exception, and would end all of them.
ENDS = (Exception, pytest.fail.Exception, pytest.skip.Exception)
#: Fixtures that a test has for itself. All cases would share one, and each case find what the one before left in it.
OWN = {"tmp_path", "monkeypatch", "capsys", "capsysbinary", "capfd", "capfdbinary", "caplog", "recwarn", "request"}


def every(
    names: str, cases: Collection[Any], ids: Callable[[Any], str] | Iterable[str] = repr
) -> Callable[[Test], Test]:
    """As `pytest.mark.parametrize`, but in one test: every case is tried, and those that fail are named.

    A case that calls a skip has failed. Fixtures are shared by all cases, so only such as outlive a test may be asked.

    Args:
        names: of the parameters, with commas between them.
        cases: a value for each, or a tuple for several.
        ids: what each case is called, or a function that says it.
    """
    of = tuple(name.strip() for name in names.split(","))
    called = list(map(ids, cases)) if callable(ids) else list(ids)
    assert len(called) == len(cases) > 0

    def together(test: Test) -> Test:
        @wraps(test)
        def tried(**more: object) -> None:
            wrong: list[BaseException] = []
            for name, case in zip(called, cases, strict=True):
                try:
                    test(**dict(zip(of, case if len(of) > 1 else (case,), strict=True)), **more)
                except ENDS as error:
                    error.add_note(f"case: {name}")
                    wrong.append(error)
            if wrong:
                raise BaseExceptionGroup(f"{len(wrong)} of {len(called)} cases fail", wrong)

        signature = inspect.signature(test)
        fixtures = [part for name, part in signature.parameters.items() if name not in of]
        assert not OWN.intersection(part.name for part in fixtures), "cases would share what a test has for itself"
        vars(tried)["__signature__"] = signature.replace(parameters=fixtures)
        return tried

    return together
