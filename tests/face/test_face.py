"""The package as it is imported: what it loads, its verbs that are folders as well, its errors, its types."""

import inspect
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

import optiform as of
from optiform.reading.faults import Fault

ROOT = Path(__file__).resolve().parent.parent.parent
FOLDERS = ("batch", "costs", "design", "ingredients", "workshop")


def fresh(*lines: str) -> str:
    """What a new interpreter prints."""
    done = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_importing_the_package_loads_nothing_heavy() -> None:
    loaded = fresh("import sys, optiform", "print(*{name.split('.')[0] for name in sys.modules})").split()
    assert not {"numpy", "pandas", "pulp", "highspy", "altair", "sqlalchemy", "pint"} & set(loaded)


def test_every_name_of_the_face_is_there_and_listed() -> None:
    assert all(getattr(of, name) is not None for name in of.__all__)
    assert set(of.__all__) <= set(dir(of))
    with pytest.raises(AttributeError, match="desing"):
        _ = of.desing  # type: ignore[attr-defined]


VERB_FIRST = ("import optiform as of", "brief = of.demo()", "assert of.design(brief).formula.lines")
FOLDER_FIRST = ("import optiform.design.design as job", "from optiform.design import answer, conflicts")


EITHER = (*FOLDER_FIRST, *VERB_FIRST), pytest.param((*VERB_FIRST, *FOLDER_FIRST), marks=pytest.mark.long)


@pytest.mark.parametrize("lines", EITHER, ids=["folder", "verb"])
def test_a_verb_and_its_folder_share_a_name_in_either_order(lines: tuple[str, ...]) -> None:
    last = ("import optiform.design", "assert optiform.design is of.design", "print(job.__name__, callable(of.design))")
    assert fresh(*lines, *last) == "optiform.design.design True"


@pytest.mark.parametrize("name", FOLDERS)
def test_each_such_folder_is_a_verb_however_it_is_reached(name: str) -> None:
    reached = (
        f"import optiform.{name}; import optiform as of; print(callable(of.{name}))",
        f"from optiform import {name}; print(callable({name}))",
        f"import optiform as of; print(callable(of.{name}), of.{name}.__name__)",
    )
    assert [fresh(line) for line in reached] == ["True", "True", f"True optiform.{name}"]


@pytest.mark.exhaustive
def test_types_of_the_verbs_are_known_to_a_checker(tmp_path: Path) -> None:
    asked = tmp_path / "asked.py"
    asked.write_text(
        "import optiform as of\n"
        "reveal_type(of.design(of.demo()))\n"
        "reveal_type(of.costs)\n"
        "of.design(3)\n",
        encoding="utf-8",
    )  # fmt: skip
    command = [sys.executable, "-m", "mypy", "--strict", "--no-incremental", "--follow-imports=silent", str(asked)]
    told = subprocess.run(command, capture_output=True, text=True, cwd=ROOT).stdout
    assert 'Revealed type is "optiform.design.answer.Designed"' in told
    assert "optiform.costs.sheet.CostSheet" in told
    assert 'asked.py:4: error: Argument 1 to "design" has incompatible type "int"' in told


def test_the_errors_are_the_family_that_the_face_draws() -> None:
    drawn = [line.split("--")[1].split()[0] for line in str(of.__doc__).splitlines() if "--" in line]
    assert drawn == ["Absent", "BadInput", "Impossible", "Unproven", "NotCertified", "SolverFailed", "Unsettled"]
    assert all(issubclass(getattr(of, name), of.Error) for name in drawn)
    assert all(issubclass(getattr(of, name), of.Unproven) for name in drawn[4:])


def test_a_bad_input_survives_a_pickle() -> None:
    bad = of.BadInput([Fault("file", "place", "this", "that"), Fault("file", "other", "this", "that")])
    again = pickle.loads(pickle.dumps(bad))
    assert (again.faults, str(again)) == (bad.faults, str(bad))


@pytest.mark.parametrize("name", FOLDERS)
def test_such_a_verb_shows_its_arguments_and_its_help(name: str) -> None:
    """In a notebook, where Tab and a question mark ask for them."""
    verb = getattr(of, name)
    assert "args" not in inspect.signature(verb).parameters
    assert "Raises:" in str(verb.__doc__)


def test_what_is_no_brief_and_no_path_is_answered_with_a_sentence() -> None:
    with pytest.raises(of.BadInput, match="a brief, or the path of one"):
        of.design(3)  # type: ignore[arg-type]
    with pytest.raises(of.BadInput, match="a file of costs, or the path of one"):
        of.costs(of.demo().reference, 3, of.demo())  # type: ignore[arg-type]
    with pytest.raises(of.BadInput, match="the path of a brief: save the text in a file"):
        of.read_brief('title = "x"\nkind = "balm"\n')
    with pytest.raises(of.BadInput, match="a plan, or the path of one"):
        of.buy(None)  # type: ignore[arg-type]


def test_what_an_answer_has_not_is_of_the_family() -> None:
    curve = of.explore(of.demo(), "active surfactant", 2.5, 4.0)
    with pytest.raises(of.Absent, match=r"no formula on the curve at 99; it has some from 2\.5 to 4"):
        curve.at(99)


def test_bad_words_are_answered_with_a_sentence() -> None:
    brief = of.demo()
    with pytest.raises(of.BadInput, match=r"“oil fase” is not a property. Did you mean oil phase\?"):
        brief.with_limit("oil fase", high="30 %")
    with pytest.raises(of.BadInput, match=r"“30 EUR” is not a share. Write a share such as 22 %"):
        brief.with_limit("oil phase", high="30 EUR")
    with pytest.raises(of.BadInput, match=r"low 90 and high 3.*low end must not be above the high one"):
        brief.with_limit("oil phase", low=90, high=3)
    with pytest.raises(of.BadInput, match="Did you mean mango butter"):
        brief.without("mango buttr")
    with pytest.raises(of.BadInput, match=r"nothing is written here. Write one of: lowest, highest, nearest"):
        brief.with_goal()
    with pytest.raises(of.BadInput, match="asks an amount of xanthan gum"):
        brief.without("xanthan gum")
    with pytest.raises(of.BadInput, match="two or more formulas"):
        of.compare("one.csv")
    with pytest.raises(of.BadInput, match="brief"):
        of.batch("one.csv")
