"""Sentences stand in telling/: below it there are facts, names, and the faults that a reader finds."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DATABASE
from optiform.reading.tables import shipped

PACKAGE = Path(__file__).parents[2] / "optiform"
FOLDERS = ("review", "rules", "design", "label", "batch", "costs", "trials")
READERS = ("batch/file.py", "costs/file.py", "costs/plan.py")  #: they say what each key of a file holds
#: What says a fault where it is found: an exception, or what collects faults.
FAULTS = re.compile(r"(?:Fault|fault|judge|BadInput|Unsettled|NotCertified|Inspection)$")
TYPES = ("annotation", "returns")
#: Texts of three words and more that are no sentence for a maker; by why they may stay.
ALLOWED: dict[str, tuple[str, ...]] = {
    "names that limits and rows of a program carry from the brief to the proof": (
        "design/amounts.py: everything sums to 100 %", "design/amounts.py: made up for",
        "design/amounts.py: solids at 20 degC again", "design/joint.py: the least money",
        "design/joint.py: {} at its least dose if it moves", "design/joint.py: {} changes only if it moves",
        "design/price_lists.py: above the cheapest", "design/price_lists.py: near the cheapest",
        "costs/reach.py: hits the cost", "costs/reach.py: the brief's cheapest", "trials/firm.py: push on a scale",
        "trials/instruments.py: push on a scale",
        "trials/instruments.py: spread under a weight", "trials/cells.py: no structuring solids",
        "trials/prediction.py: firmness at {} degC",
        "design/switches.py: lines that change", "design/unlike.py: not all of these",
        "label/caps.py: usual maximum of the catalogue, not law", "label/from_label.py: at least as much {} as {}",
        "label/from_label.py: everything sums to 100 %", "label/from_label.py: stands above the 1 % line",
        "label/from_label.py: stands below the 1 % line", "rules/acidity.py: one pH suits all",
        "rules/acidity.py: pH {} suits all", "rules/acidity.py: what does not bear {}",
    ),
    "names of quantities, as terms of rules say them": (
        "rules/chemistry.py: alkali as lye", "rules/chemistry.py: alkali, as sodium hydroxide,",
        "rules/chemistry.py: emulsifier for oil in water", "rules/chemistry.py: emulsifier for water in oil",
        "rules/chemistry.py: emulsifier or surfactant", "rules/chemistry.py: emulsifier tender to salt",
        "rules/chemistry.py: emulsifier that carries alone",
        "rules/chemistry.py: fatty acid that the alkali neutralises",
        "rules/chemistry.py: linoleic and twice linolenic acid",
        "rules/chemistry.py: magnesium, calcium, zinc or aluminium salt",
        "rules/chemistry.py: oil that the emulsifiers carry", "rules/chemistry.py: partner of it",
        "rules/chemistry.py: preservative, of its usual low dose,",
        "rules/chemistry.py: preservative, of its usual top dose,", "rules/chemistry.py: sulfate or sulfonate",
        "rules/chemistry.py: surface-active item", "rules/chemistry.py: surfactant or emulsifier",
        "rules/chemistry.py: what makes it alkaline", "rules/quantities.py: alkali as lye",
        "rules/quantities.py: oil in water",
        "rules/quantities.py: surface-active item", "rules/quantities.py: water in oil",
        "rules/quantities.py: {}, with a partner", "rules/usual.py:  in the base", "label/by_kind.py:  in the base",
        "review/warnings.py:  in the base", "design/function.py: solids at 20 degC",
        "design/replacement.py: solids of the butters at {} degC",
        "review/law.py: fragrance, used of what its certificate allows",
        "rules/positive.py: assimilated Regulation (EC) 1223/2009",
    ),
    "what a record keeps of a batch": ("batch/keeping.py: formula differs from the version in {}",),
    "names of formulas that a job makes": (
        "design/makeup.py: of its parts", "design/price_lists.py: for all prices", "design/shared.py: {} of the base",
    ),
    "states that are compared, and a pattern": (
        "review/answer.py: does not apply", "review/warnings.py: does not apply", "review/cautions.py: not on lips",
        "label/from_label.py: either side of the line",
        r"rules/chemistry.py: (?P<what>.+?) (?P<sign><=|>=) (?P<number>[\d.]+)(?: of (?P<of>.+))?",
    ),
    "what a fault reads and expects, said where the fault is found": (
        "design/explore.py: the figure in an own file, or the ingredient under exclude",
        "design/fewer.py: which other ingredients are next", "design/fewer.py: which {} ingredients are",
        "design/mine.py: {} has no value for this formula", "design/price_moves.py: {} scenarios, spreads {} and {}",
        "design/range.py: {}, which the jars take at {} kg at once; or fewer jars",
        "design/shared.py: one dose in [lines] of the brief, or a formula: how much base there is follows from it",
        'design/sheet.py: a goal over the whole formula, such as lowest = "cost": a sheet cannot follow a mean, or '
        "what bends",
        "design/sheet.py: limits without a bend: a sheet cannot follow this one; take it out of the brief for the "
        "sheet",
        "design/todays_firmness.py: a temperature at which something of today's formula is solid",
        "design/todays_firmness.py: The formula of today, {}, has no firmness to go by: {}.",
        "design/todays_firmness.py: no figure for the {} of {}",
        "design/todays_firmness.py: nothing in it is solid at 20 °C",
        "design/todays_firmness.py: a formula that fats and waxes carry, with figures of what is solid in it",
        "label/declare.py: its declaration names in the column inci of your own table: Aqua 70; Glycerin 30",
        "rules/network.py: {} is carried by {}, not by a network of fat or wax: no firmness is told of it.",
        "rules/network.py: droplets in a gel of water", "rules/network.py: foam and crystals of surfactant",
        "rules/network.py: grains that lie on each other in oil",
        "batch/dealing.py: a batch in which some line can take what rounding leaves: every line is at its limit",
        "batch/dealing.py: the net mass of a jar, {} g, or more", "batch/outcome.py: a batch that is saved: {}",
        "batch/keeping.py: one of them chosen first: on Batch, under what is weighed one thing at a time",
        "batch/keeping.py: none is saved yet", "batch/keeping.py: no saved version has these lines",
        "batch/keeping.py:  `optiform stock versions` lists what is saved.",
        "batch/keeping.py: no version {} is saved",
        "batch/keeping.py: optiform stock receive {} '{} g'",
        "batch/keeping.py: {}: {} g are missing. Save a lot that has them, on Stock or with `{}`.",
        "batch/keeping.py: {} If lot {} has them, whatever the records say: `{}`.",
        "batch/keeping.py: optiform stock correct {} '{} g' --reason 'as weighed'",
        "batch/keeping.py: {}: {}. Save this formula as one first, on Drafts{}.{}",
        "trials/next_trial.py: The question asks for a firmness, and for firmer than another formula. Take one of the "
        "two out.",
        "batch/keeping.py: product and version of one that is saved ({})",
        "trials/between.py: {} to {}, which is what the line {} has", "trials/cells.py: a reading of {} to {} {}",
        "trials/cells.py: between two stands a comma",
        "trials/cells.py: or say in the column excluded why it does not count",
        "trials/cells.py: a formula that fat or wax holds up; of this one no firmness is known: {}",
        "trials/cells.py: a formula with structuring solids at 20 degC whose figures are known",
        "trials/fit.py: a figure that is not known", "trials/fit.py: grains of {} % by volume, which jam",
        "trials/fit.py: no structuring solids", "trials/next_trial.py: a step above 0 g that {} % of {} g can show",
        "trials/weighable.py: a trial in which some line can take what rounding leaves: every line is at its limit",
    ),
}  # fmt: skip


@cache
def names() -> frozenset[str]:
    """Every head, cell, and part of a cell of the shipped tables."""
    rows = [row for path in DATABASE.glob("*.csv") for row in shipped(path.stem)]
    cells = {text for row in rows for pair in row.items() for text in pair}
    return frozenset(part.strip().casefold() for cell in cells for part in (cell, *cell.split(";")))


def is_name(text: str) -> bool:
    """Whether a text is a name that a table or the brief's limits know."""
    if text.strip().casefold() in names():
        return True
    try:
        find_property(text.strip(), "EUR")
    except (BadInput, LookupError, ValueError):
        return False
    return True


def text_of(node: ast.expr) -> str:
    """A literal as it is printed, with {} for what is put in; empty of anything else."""
    if isinstance(node, ast.JoinedStr):
        return "".join(text_of(part) or "{}" for part in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def sentences(node: ast.AST) -> Iterator[str]:
    """Literals of three words and more below a node, but for docstrings, annotations, faults and exceptions."""
    if isinstance(node, ast.Raise) or (isinstance(node, ast.Call) and FAULTS.search(ast.unparse(node.func))):
        return
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return
    if isinstance(node, ast.Constant | ast.JoinedStr):
        text = text_of(node)
        if len(re.findall(r"[A-Za-z]{2,}|\ba\b", text)) >= 3 and " " in text and not is_name(text):
            yield text
    said = [part for part in getattr(node, "values", []) if isinstance(part, ast.Constant)]
    skipped = [*(said if isinstance(node, ast.JoinedStr) else []), *(getattr(node, x, None) for x in TYPES)]
    for part in ast.iter_child_nodes(node):
        if part not in skipped:
            yield from sentences(part)


def told(path: Path) -> list[str]:
    """What a file says, with its name."""
    name = path.relative_to(PACKAGE).as_posix()
    return [f"{name}: {text}" for text in sentences(ast.parse(path.read_text(encoding="utf-8")))]


def test_no_sentence_stands_below_telling() -> None:
    allowed = {text for texts in ALLOWED.values() for text in texts}
    files = [path for folder in FOLDERS for path in sorted((PACKAGE / folder).rglob("*.py"))]
    files = [path for path in files if path.relative_to(PACKAGE).as_posix() not in READERS]
    said = {text for path in files for text in told(path)}
    assert len(files) > 80
    assert said - allowed == set()
    assert allowed - said == set(), "what is gone is allowed no longer"


@pytest.mark.parametrize(
    "line",
    [
        'note = "take less of it"',
        'words = f"{name} is too much for it"',
        'yield Note(f"{a}: {b} and {c} do not go")',
    ],
)
def test_a_sentence_is_seen(line: str) -> None:
    assert len(list(sentences(ast.parse(line)))) == 1


@pytest.mark.parametrize(
    "line",
    [
        'raise BadInput("take less of it")', '"""Take less of it."""', 'x = "solid fat at 20 degC"',
        'inspection.fault("goal", "a figure", "a figure above zero")', "x: 'dict[str, int | None]' = {}",
    ],
)  # fmt: skip
def test_faults_docstrings_and_names_are_no_sentences(line: str) -> None:
    assert list(sentences(ast.parse(line))) == []
