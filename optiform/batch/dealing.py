"""A batch in whole steps of the scale: what is weighed so that the jars come out, and which part gets what."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, inf

from optiform.batch.apportion import NoRoom, apportion
from optiform.batch.doses import highest, lowest
from optiform.batch.making import Making, Part
from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula, Line
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen

Counted = tuple[tuple[Line, int], ...]


@frozen
class Plan:
    """Masses in g, exact. `jar` and `fill` are None where no jar is known; `sizes` are steps of the parts."""

    step: Fraction
    planned: Fraction
    keeps: Fraction
    steps: int
    sizes: tuple[int, ...]
    jar: Fraction | None
    fill: Fraction | None

    def grams(self, steps: int) -> Decimal:
        """So many steps in g, exactly."""
        step = self.step.numerator if self.step.denominator == 1 else float(self.step)
        return steps * Decimal(str(step))

    def jars(self, steps: int) -> tuple[int | None, float | None]:
        """How many jars so many weighed steps fill after the loss, and the g left over."""
        if self.fill is None:
            return None, None
        out = steps * self.step * self.keeps
        return floor(out / self.fill), float(out % self.fill)


def _exact(number: float) -> Fraction:
    return Fraction(str(round(number, 9)))


def plan_batch(brief: Brief, making: Making, grams: float | None = None, jars: int | None = None) -> Plan:
    """How much is weighed so that so many g, or so many jars, come out: more by the loss, up to a whole step.

    Raises:
        BadInput: jars without a net mass, a fill below it, or less than a step.
    """
    step, keeps = Fraction(str(brief.step)), 1 - _exact(making.loss)
    jar = _exact(making.jar) if making.jar else _exact(1000 * brief.jar) if brief.jar else None
    fill = _exact(making.fill) if making.fill else jar
    counted = grams is None and (jars is not None or making.counted)
    _inspect(jar, fill, counted)
    weights = [part.weight for part in making.parts]
    if counted and fill is not None:
        each = _jars(weights, jars)
        sizes = [ceil(count * fill / keeps / step) for count in each]
        plan = Plan(step, sum(each) * fill, keeps, sum(sizes), tuple(sizes) if weights else (), jar, fill)
    else:
        planned = _exact(1000 * brief.batch if grams is None else grams)
        steps = ceil(planned / keeps / step) if making.loss else round(planned / step)
        plan = Plan(step, planned, keeps, steps, apportion(weights, steps) if weights else (), jar, fill)
    if plan.steps < 1 or min(plan.sizes, default=1) < 1:
        read = f"{float(plan.planned):g} g"
        raise BadInput([Fault("batch", "mass", read, f"a step of the scale, {float(step):g} g, for each part")])
    return plan


def _jars(weights: Sequence[float], jars: int | None) -> Sequence[int]:
    """Jars of each part, or of the whole where there are no parts."""
    if jars is None:
        return [round(weight) for weight in weights]
    return apportion(weights, jars) if weights else [jars]


def _inspect(jar: Fraction | None, fill: Fraction | None, counted: bool) -> None:
    if counted and fill is None:
        raise BadInput([Fault("batch", "jars", "no jar", "a key jar in the brief or the making file: its net mass")])
    if jar is not None and fill is not None and fill < jar:
        expected = f"the net mass of a jar, {float(jar):g} g, or more"
        raise BadInput([Fault("batch", "fill", f"{float(fill):g} g", expected)])


@frozen
class Dealt:
    """A formula in steps. `shared` are the lines of the common mass; a part has its own lines and a portion of it."""

    total: int
    shared: Counted
    own: tuple[Counted, ...] = ()
    portions: tuple[int, ...] = ()

    def part_total(self, k: int) -> int:
        """Steps of a part."""
        return self.portions[k] + sum(steps for _, steps in self.own[k])


# -- steps of the scale ------------------------------------------------------------------------------------------------


def varied(parts: Sequence[Part]) -> set[str]:
    """Names of the lines that some part has of its own, or goes without."""
    own = {line.ingredient.name for part in parts for line in part.lines}
    return own | {name for part in parts for name in part.instead_of}


def part_formula(formula: Formula, part: Part, parts: Sequence[Part]) -> Formula:
    """The whole formula of a part.

    A line that any part names, as its own or as one it goes without, is no longer common: each part has it as its own
    says, not at all, or as the formula says. All other lines keep their proportions and fill up to the whole.
    """
    own = {line.ingredient.name: line for line in part.lines}
    kept = [x for x in formula.lines if x.ingredient.name in varied(parts) - set(own) - set(part.instead_of)]
    mine = [*kept, *(Line(x.ingredient, x.fraction, x.phase) for x in part.lines if x.fraction > 0)]
    common = [x for x in formula.lines if x.ingredient.name not in varied(parts)]
    scale = (1 - sum(x.fraction for x in mine)) / (sum(x.fraction for x in common) or 1.0)
    return Formula(part.name, (*(replace(x, fraction=x.fraction * scale) for x in common), *mine))


def deal(formula: Formula, brief: Brief, making: Making, plan: Plan) -> Dealt:
    """A formula in steps of the scale.

    Raises:
        BadInput: parts that have nothing in common, or every line at its limit.
    """
    try:
        return _parted(formula, brief, making.parts, plan) if making.parts else _whole(formula, brief, plan)
    except NoRoom:
        expected = "a batch in which some line can take what rounding leaves: every line is at its limit"
        raise BadInput([Fault("batch", "mass", f"{float(plan.steps * plan.step):g} g", expected)]) from None


def _whole(formula: Formula, brief: Brief, plan: Plan) -> Dealt:
    shares = [line.fraction for line in formula.lines]
    most, least = highest(formula, brief) * plan.steps, lowest(formula, brief) * plan.steps
    steps = apportion(shares, plan.steps, list(most), list(least))
    return Dealt(plan.steps, tuple(zip(formula.lines, steps, strict=True)))


def _parted(formula: Formula, brief: Brief, parts: Sequence[Part], plan: Plan) -> Dealt:
    """First each part: a portion of the common mass and its own lines. Then the lines of the common mass.

    A common line gets no more steps than any part allows, and no fewer than any needs: its share of a portion is its
    share of the common mass.
    """
    common = [x for x in formula.lines if x.ingredient.name not in varied(parts) and x.phase != "grains"]
    if not common:
        raise BadInput([Fault("batch", "[[part]]", "parts with nothing in common", "lines that all parts share")])
    shared = {_key(line) for line in common}
    own, portions, rooms, needs = [], [], [[inf] * len(common)], [[0.0] * len(common)]
    for part, size in zip(parts, plan.sizes, strict=True):
        blend = part_formula(formula, part, parts)
        if any(line.fraction <= 0 for line in blend.lines):
            raise BadInput([Fault("batch", f"[[part]] {part.name}", "own lines of 100 % or more", "room for the rest")])
        most = dict(zip(map(_key, blend.lines), highest(blend, brief) * size, strict=True))
        least = dict(zip(map(_key, blend.lines), lowest(blend, brief) * size, strict=True))
        mine = [line for line in blend.lines if _key(line) not in shared]
        portion, *steps = apportion(
            [1 - sum(line.fraction for line in mine), *(line.fraction for line in mine)],
            size,
            [inf, *(most[_key(line)] for line in mine)],
            [0.0, *(least[_key(line)] for line in mine)],
        )
        own.append(tuple(zip(mine, steps, strict=True)))
        portions.append(portion)
        rooms.append([most[_key(line)] / max(portion, 1) for line in common])
        needs.append([least[_key(line)] / max(portion, 1) for line in common])
    total = sum(portions)
    caps = [total * min(room) for room in zip(*rooms, strict=True)]
    floors = [total * max(need) for need in zip(*needs, strict=True)]
    counts = apportion([x.fraction for x in common], total, caps, floors)
    return Dealt(plan.steps, tuple(zip(common, counts, strict=True)), tuple(own), tuple(portions))


def _key(line: Line) -> tuple[str, str]:
    return line.ingredient.name, line.phase


def weighed(name: str, dealt: Dealt) -> Formula:
    """The formula that the steps make, all parts together."""
    counts: dict[tuple[str, str], tuple[Line, int]] = {}
    for line, steps in (*dealt.shared, *(each for own in dealt.own for each in own)):
        key = _key(line)
        counts[key] = line, steps + (counts[key][1] if key in counts else 0)
    return Formula(name, tuple(replace(line, fraction=n / dealt.total) for line, n in counts.values() if n))


def weighed_part(name: str, dealt: Dealt, k: int) -> Formula:
    """The formula that the steps make of one part."""
    total, shared = dealt.part_total(k), sum(steps for _, steps in dealt.shared)
    common = [(line, steps * dealt.portions[k] / shared) for line, steps in dealt.shared]
    return Formula(name, tuple(replace(line, fraction=n / total) for line, n in (*common, *dealt.own[k]) if n))
