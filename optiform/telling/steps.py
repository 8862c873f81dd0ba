"""What can be done next with an answer: command lines that work as printed, in that order, and carry on that answer."""

import shlex
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path

from optiform.batch.grams import in_grams
from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.telling.parts import Step
from optiform.telling.report import too_coarse


def after_design(brief: Brief, formula: Formula, path: Path, saved: Path | None, again: str) -> tuple[Step, ...]:
    """What comes after a designed formula.

    Args:
        brief: that was answered.
        formula: the answer.
        path: of the brief.
        saved: the file that the formula was written to, if it was.
        again: the command line that designed it, to go on from.
    """
    file = saved if saved and saved.suffix in (".csv", ".toml") else free("new.csv")
    save = () if file == saved else (Step("Save this formula", f"{again} --write {shlex.quote(str(file))}"),)
    grams = in_grams(formula, brief)
    coarse = grams is not None and too_coarse(grams.compliance)
    return (
        *((Step("Grams that meet every limit", line("weigh", path)),) if coarse else ()),
        *save,
        Step("The sheet to make it by", line("batch", file, "--brief", path, "--html", free("sheet.html"))),
        *draft_of_label(brief, path, file),
        *_beside(brief, path, file),
        Step("Everything behind this", f"{again} --all"),
    )


def draft_of_label(brief: Brief, path: Path, formula: Path) -> Iterator[Step]:
    """A draft of the label of a formula, for the first of several markets; none where the brief names no market."""
    markets = brief.scope.markets
    if markets:
        one = ("--market", markets[0]) if len(markets) > 1 else ()
        yield Step("A draft of its label", line("declare", formula, "--brief", path, *one))


def _beside(brief: Brief, path: Path, formula: Path) -> Iterator[Step]:
    today = path.parent / brief.reference.origin if brief.reference and brief.reference.origin else None
    if today is not None and today.is_file():
        yield Step("Beside today's formula", line("compare", today, formula, "--brief", path))


def after_impossible(path: Path) -> tuple[Step, ...]:
    """What comes after a brief that nothing meets."""
    return (Step("After a change of the brief", line("design", path)),)


def after_between(path: Path, saved: Path | None, again: str, temperature: float) -> tuple[Step, ...]:
    """What comes after the formula between two trials.

    Args:
        path: of the brief.
        saved: the file that the formula was written to, if it was.
        again: the command line that gave it, to go on from.
        temperature: at which its firmness was wished, °C.
    """
    from optiform.properties.firmness import REFERENCE_TEMPERATURE  # what other answers do not use is not loaded

    formula = saved or free("mix.csv")
    save = () if saved else (Step("Save this formula", f"{again} --write {shlex.quote(str(formula))}"),)
    at = () if temperature == REFERENCE_TEMPERATURE else ("--at", f"{temperature:g} °C")
    return (
        *save,
        Step("Grams your scale can show", line("weigh", path, "--formula", formula)),
        Step("Seal the forecast before you read it", line("trial", "predict", formula, "--brief", path, *at)),
    )


def after_check(formula: Path, path: Path | None, brief: Brief | None, again: str) -> tuple[Step, ...]:
    """What comes after a look at a formula; more where it was looked at for a brief.

    Args:
        formula: its file.
        path: of the brief.
        brief: that it was looked at for.
        again: the command line that looks at it as it was looked at, to go on from.
    """
    every = Step("Everything behind this", f"{again} --all")
    if path is None or brief is None:
        return (every,)
    return (
        Step("The best formula for the brief", line("design", path)),
        Step("Grams your scale can show", line("weigh", path, "--formula", formula)),
        *draft_of_label(brief, path, formula),
        every,
    )


def after_compare(again: str) -> tuple[Step, ...]:
    """What comes after formulas side by side.

    Args:
        again: the command line that put them so, to go on from.
    """
    return (Step("All properties and the label", f"{again} --all"),)


def after_costs(again: str, hit: bool = False) -> tuple[Step, ...]:
    """What comes after a cost sheet.

    Args:
        again: the command line that gave it, to go on from.
        hit: whether it has a formula that hits a cost.
    """
    save = (Step("Save this formula", f"{again} --write {free('hit.csv')}"),) if hit else ()
    return (*save, Step("All of it", f"{again} --all"))


def after_weigh(path: Path, grams: Path | None, again: str) -> tuple[Step, ...]:
    """What comes after grams that the scale can show.

    Args:
        path: of the brief.
        grams: the file that the grams were written to, if they were.
        again: the command line that gave them, to go on from.
    """
    table = grams or free("grams.csv")
    save = () if grams else (Step("Save these grams", f"{again} --csv {shlex.quote(str(table))}"),)
    return (
        *save,
        Step("The sheet to make it by", line("batch", table, "--brief", path, "--html", free("sheet.html"))),
        Step("Everything behind this", f"{again} --all"),
    )


def after_label(saved: Path | None, again: str, setting: Sequence[str]) -> tuple[Step, ...]:
    """What comes after the ranges of a label.

    Args:
        saved: the file that the centre was written to, if it was.
        again: the command line that gave the ranges, to go on from.
        setting: options that say what the product is and where it is sold.
    """
    formula = saved or free("middle.csv")
    brief = free(str(formula.with_name("brief.toml")))
    save = () if saved else (Step("Save the centre as a formula", f"{again} --write {shlex.quote(str(formula))}"),)
    return (
        *save,
        Step("Look at it as a formula", line("check", formula, *setting)),
        Step("Begin a brief with it", line("new", brief, "--from", formula, *setting)),
    )


def demo(whole: bool) -> tuple[Step, ...]:
    """What to try on the demo: its files first, then what goes on from this answer; with `whole` everything else."""
    first = (
        Step("Take the demo's files", "optiform demo --copy my-scrub && cd my-scrub"),
        Step("Save this formula", "optiform design brief.toml --write new.csv"),
        Step("The sheet to make it by", "optiform batch new.csv --brief brief.toml --html sheet.html"),
        Step("What a jar costs", "optiform costs new.csv --brief brief.toml --costs costs.toml"),
        Step("A draft of its label", "optiform declare new.csv --brief brief.toml"),
        Step("Beside today's formula", "optiform compare today.csv new.csv --brief brief.toml"),
        Step("Cheaper, line by line", "optiform cheaper brief.toml"),
        Step("In place of mango butter", 'optiform substitute brief.toml "mango butter"'),
    )
    rest = (
        Step("Today's, against the same limits", "optiform check today.csv --brief brief.toml"),
        Step("A fifth firmer at 20 °C", "optiform texture brief.toml --step 20"),
        Step("Grams your scale can show", "optiform weigh brief.toml"),
        Step("The demo's records", "optiform stock import workshop --records ."),
        Step("What is in stock", "optiform stock"),
        Step("Which lots to weigh of it", "optiform batch new.csv --brief brief.toml --records ."),
        Step("Which packs to buy for the plan", "optiform buy plan.toml --records ."),
        Step("All there is on an ingredient", "optiform ingredients shea butter, refined"),
        Step("Everything behind this answer", "optiform design brief.toml --all"),
    )
    more = Step("All of this, and more", "optiform demo --all")
    return (*first, *rest) if whole else (*first, more)


def line(*words: object) -> str:
    """A command line of the program, as a shell reads it.

    Example:
        >>> line("check", "my formula.csv")
        "optiform check 'my formula.csv'"
    """
    return shlex.join(["optiform", *map(str, words)])


def free(name: str) -> Path:
    """The name as a file, of the current folder if it names none, or the same with a number where there is one.

    Example:
        >>> str(free("no such file.csv"))
        'no such file.csv'
    """
    path = Path(name)
    others = (path.with_name(f"{path.stem}-{number}{path.suffix}") for number in range(2, 1000))
    return next((place for place in chain((path,), others) if not place.exists()), path)
