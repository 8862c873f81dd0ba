"""A product that is begun, told: how its formula was read, and what to decide next."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Reading
from optiform.telling.check import how_read
from optiform.telling.parts import Column, Section, Sentence, Step, Table, Telling
from optiform.telling.steps import line

FEW = 4  # names in a sentence


def begun(path: Path, brief: Brief, today: Reading | None) -> Telling:
    """A brief that was written: how today's formula was read, what to decide next, and how to go on.

    Args:
        path: of the brief.
        brief: as it reads.
        today: the formula that it names, as it was read.
    """
    sections = [Section("today", "", how_read(today))] if today else []
    sections.append(next_to_decide(brief))
    steps = [Step("The formula it gives", line("design", path)), Step("The same in the browser", line("app", path))]
    if brief.reference is not None:
        formula = path.parent / brief.reference.origin
        steps.append(Step("As it stands today", line("check", formula, "--brief", path)))
    return Telling(f"{path}: a brief to begin with", tuple(sections), Table((Column("decide"),), ()), tuple(steps))


def next_to_decide(brief: Brief) -> Section:
    """What a maker decides next, the most telling first; what is decided already is not asked.

    Example:
        >>> from optiform.brief.new import Start, brief_text
        >>> import tomllib
        >>> from optiform.brief.file import brief_of
        >>> start = Start("Balm", "balm", candidates=("beeswax", "olive oil"), jar="50 g")
        >>> begun = brief_of(Path("brief.toml"), tomllib.loads(brief_text(start)))
        >>> [part.text.partition(":")[0] for part in next_to_decide(begun).parts]
        ['Markets', 'Prices', 'Limits']
    """
    return Section("decide", "To decide next", tuple(Sentence(words, bullet=True) for words in _open(brief)))


def _open(brief: Brief) -> Iterator[str]:
    if not brief.scope.markets:
        yield "Markets: name one, else no law is looked at."
    if lacking := _not_on_shelf(brief):
        yield f"The shelf: your tables lack {_named(lacking)} of today's formula. Give each a row, or it is left out."
    unpriced = [item.name for item in brief.mix.ingredients if item.value("price") is None]
    if unpriced:
        yield f"Prices: add those of {_named(unpriced)}. What has none cannot be compared by cost."
    if not brief.limits and brief.reference is None:
        yield "Limits: say what customers must find in it (firmness, feel, foam). Until then what is usual decides."
    if brief.jar is None:
        yield "The jar: give its net mass, and costs and savings are told per jar."


def _not_on_shelf(brief: Brief) -> list[str]:
    """What today's formula has and no candidate is, nor left out for a reason that the answer gives."""
    known = {item.name for item in brief.mix.ingredients} | {name for name, _ in brief.left_out}
    lines = brief.reference.lines if brief.reference else ()
    return [line.ingredient.name for line in lines if line.ingredient.name not in known]


def _named(names: Sequence[str]) -> str:
    """The first few of some names, and how many more there are."""
    more = f" and {len(names) - FEW} more" if len(names) > FEW else ""
    return f"{'; '.join(names[:FEW])}{more}"
