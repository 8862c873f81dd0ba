"""What one point more of each line would do: what it costs, all else solved again, and what it does to firmness."""

from collections.abc import Iterator
from contextlib import suppress

import numpy as np

from optiform.brief.goal import Lowest
from optiform.design.design import Best
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand, constant, program_at
from optiform.program.certificate import NotCertified
from optiform.program.linear import Program
from optiform.program.live import Live
from optiform.properties.base import Mix, Terms, Vector, fractions
from optiform.properties.firmness import REFERENCE_TEMPERATURE, packed, state
from optiform.properties.tangent_planes import Model
from optiform.reading.frozen import frozen
from optiform.rules.network import without_network

POINT = 1.0  # % of the jar
OWN = ("line", "advice", "usual")  # what gives way where its own line is to grow


@frozen
class Lever:
    """One line of a formula.

    Attributes:
        ingredient: its name.
        cost: what one point more of it adds to the goal, in the goal's unit (money per kg), the other lines solved
            again within the limits, in the way the answer keeps them. None where no formula has a point more, or the
            goal is not the cost.
        firmness: by how many % it changes firmness at 20 °C, the others making room in proportion. None where no
            firmness is known.
    """

    ingredient: str
    cost: float | None
    firmness: float | None


def levers(best: Best) -> tuple[Lever, ...]:
    """One for each line of the best formula for a brief, in its order.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.design.design import best
        >>> from optiform.reading.paths import DEMO
        >>> known = levers(best(read_brief(DEMO / "brief.toml")))
        >>> wax = next(lever for lever in known if lever.ingredient == "emulsifying wax NF")
        >>> wax.cost > 0, wax.firmness > 0  # it costs more than what it takes the place of, and it sets hard
        (True, True)
    """
    formula = best.formula
    costs, firmness = _costs(best), stiffening(formula, best.brief.kind)
    return tuple(
        Lever(name, costs.get(name), firmness.get(name)) for name in (line.ingredient.name for line in formula.lines)
    )


def stiffening(formula: Formula, kind: str = "") -> dict[str, float]:
    """By how many % one point more of each line changes firmness at 20 °C, the others making room in proportion.

    Empty where no firmness is known.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> {name: round(change) for name, change in stiffening(mixed({"cocoa butter": 50, "olive oil": 50})).items()}
        {'cocoa butter': 5, 'olive oil': -5}
    """
    try:
        here = state(formula, REFERENCE_TEMPERATURE)
    except ValueError:  # the grains jam
        return {}
    if without_network(kind) or here is None or here.solids[1] <= 0:
        return {}
    mix, x = Mix.of(formula), fractions(formula)
    model = Model(mix, formula, REFERENCE_TEMPERATURE, packed(formula).typical)
    return {
        line.ingredient.name: model.value(_more(x, j)) - 100
        for j, line in enumerate(formula.lines)
        if line.fraction < 1 - POINT / 100
    }


def _more(x: Vector, column: int) -> Vector:
    """One point more of a line, the others in proportion less."""
    grown: Vector = x * (1 - POINT / 100 / (1 - x[column]))
    grown[column] = x[column] + POINT / 100
    return grown


def _costs(best: Best) -> dict[str, float]:
    goal = best.brief.goal
    if not isinstance(goal, Lowest) or goal.wanted.name != "cost":
        return {}
    with suppress(NotCertified):
        return dict(_forced(best))
    return {}


def _forced(best: Best) -> Iterator[tuple[str, float]]:
    """The lines that can have a point more, each with what it adds to the cost."""
    program, rows = _program(best)
    live = Live(program)
    live.solve()
    if live.optimum is None:
        return
    before = live.optimum.value
    for name, row in rows.items():
        own = [k for k, each in enumerate(program.rows) if each.key is not None and _caps(best, each.key, name)]
        here = 100 * best.formula.fraction(name)
        moves = {row: here + POINT} | {k: max(0.0, here + POINT - program.rows[k].target) for k in own}
        for k, change in moves.items():
            live.move(k, change)
        if live.solve() and live.optimum is not None:
            yield name, (live.optimum.value - before) / best.solution.scale
        for k in moves:
            live.move(k, 0.0)


def _caps(best: Best, key: int, name: str) -> bool:
    """Whether a row's demand holds a line down for no other reason than that the maker or a habit says so."""
    if key >= len(best.asked):
        return False
    demand = best.asked[key]
    return demand.name == name and demand.side == "high" and demand.kind in OWN


def _program(best: Best) -> tuple[Program, dict[str, int]]:
    """The answer's program with a row more for each of its lines, "at least nothing", which can be moved."""
    names = [item.name for item in best.brief.mix.ingredients]
    lines = [line.ingredient.name for line in best.formula.lines]
    floors = [
        Demand(name, "%", "low", 0.0, "line", constant(Terms.exact(100.0 * (np.array(names) == name))))
        for name in lines
    ]
    frame = best.solution.program.with_rows([row for row in best.solution.program.rows if row.key is None])
    demands = [demand.held(best.solution.x) for demand in best.asked]
    program = program_at(frame, [*demands, *floors], best.solution.x)
    first = len(program.rows) - len(floors)
    return program, {name: first + k for k, name in enumerate(lines)}
