"""What a limit costs over its whole range, what is nearly as good, and what if prices or figures are wrong."""

from optiform.design.explore import Alternatives, TradeOff
from optiform.design.price_moves import PriceUncertainty, Rival
from optiform.design.protect import AtWorst, Protected
from optiform.review.rounding import capped
from optiform.telling.design import closeness
from optiform.telling.sections import closing, warnings
from optiform.telling.text import amount, number, paragraph, table


def trade_off(found: TradeOff) -> str:
    """The curve by its break points, each a formula, and the price between them."""
    unit = "" if found.unit == "-" else f" {found.unit}"
    head = f"{found.brief.title}\n  {found.brief.goal.words} against {found.words} ... {found.unit}"
    if found.fits is None:
        return f"{head}\n\n  Nothing fits from {found.asked[0]:g} to {found.asked[1]:g}{unit}."
    rows = [[f"{found.words}", found.value_unit, "what changes there"]]
    before: dict[str, float] = {}
    for corner in found.corners:
        now = {line.ingredient.name: 100 * line.fraction for line in corner.formula.lines}
        rows.append([f"{number(corner.target)}{unit}", number(corner.value), _enters(before, now)])
        before = now
    prices = [["between", found.price_unit]]
    prices += [
        [f"{number(s.start)} and {number(s.end)}{unit}", " to ".join(dict.fromkeys(number(p, 3) for p in s.prices))]
        for s in found.stretches
    ]
    parts = [head, table(rows, right=[1]), table(prices)]
    if found.fits != found.asked:
        parts.append(
            paragraph(f"Something fits only from {number(found.fits[0])} to {number(found.fits[1])}{unit}.", "")
        )
    if found.today is not None:
        parts.append(paragraph(f"The brief asks for {number(found.today)}{unit}.", ""))
    return "\n\n".join([*parts, *(paragraph(note, "") for note in found.notes), _checked(found.residual)])


def _enters(before: dict[str, float], now: dict[str, float]) -> str:
    """Which ingredients come in and go out at a break point."""
    comes = [name for name in now if name not in before]
    goes = [name for name in before if name not in now]
    if not before:
        return "starts here"
    return "; ".join([*(f"{name} comes in" for name in comes), *(f"{name} goes" for name in goes)]) or "shares only"


def _checked(residual: float) -> str:
    return f"  Checked: worst residual of all proofs {residual:.1e}."


def alternatives(found: Alternatives) -> str:
    """The leeway of each candidate, and formulas as unlike as possible."""
    worse = f"{number(found.slack, 3)} {found.unit}"
    head = f"{found.brief.title}\n  everything within {found.percent:g} % of the best {found.brief.goal.words}: {worse}"
    rows = [["% of the whole", "least", "best", "most"]]
    rows += [[r.ingredient, *(f"{v:.2f}" for v in (r.low, r.best, r.high))] for r in found.leeway if r.high > 5e-3]
    never = [row.ingredient for row in found.leeway if row.high <= 5e-3]
    names = list(dict.fromkeys(line.ingredient.name for option in found.options for line in option.formula.lines))
    columns = [["formulas as unlike as possible", *(f"no. {k}" for k in range(1, len(found.options) + 1))]]
    columns.append([found.unit, *(number(option.value) for option in found.options)])
    columns.append(["points from the best", *(f"{option.from_best:.1f}" for option in found.options)])
    firm = {
        line.ingredient.name for option in found.options for line in option.formula.lines if capped(line.ingredient)
    }
    columns += [
        [name, *(amount(100 * option.formula.fraction(name), capped=name in firm) for option in found.options)]
        for name in names
    ]
    parts = [head, table(rows, right=[1, 2, 3]), table(columns, right=range(1, len(columns[0])))]
    if never:
        parts.append(paragraph(f"Of no use within that: {', '.join(never)}.", ""))
    return "\n\n".join([*parts, *(paragraph(note, "") for note in found.notes), _checked(found.residual)])


def price_uncertainty(found: PriceUncertainty) -> str:
    """How often each formula stays the cheapest, and what sticking to it may cost."""
    unit = f"{found.brief.currency}/kg"
    head = f"{found.brief.title}\n  {found.scenarios} price lists: {found.model}"
    rows = [["formula", "cheapest in", unit, "90 % between", "regret", "95 % below"]]
    others = [rival for rival in found.rivals if not _same(rival, found.chosen)]
    named = [("the answer", found.chosen), *((f"rival {k}", rival) for k, rival in enumerate(others, 1))]
    if not any(_same(found.least_regret, rival) for _, rival in named):
        named.append(("least regret", found.least_regret))
    rows += [_rival(name, rival) for name, rival in named]
    best = " to ".join(f"{end:.3f}" for end in found.best_band)
    told = [
        f"Chosen anew at every price list, 90 % of the costs lie between {best} {unit}.",
        f"{found.distinct} formulas are the cheapest somewhere. Regret is the cost above the cheapest of each list.",
        *found.notes,
    ]
    differ = [_differs(name, found.chosen, rival) for name, rival in named[1:]]
    checked = f"  Checked: worst proven gap of any price list {found.gap:.1e}; the solver ran {found.solved} times."
    return "\n\n".join([head, table(rows, right=range(1, 6)), *differ, *(paragraph(t, "") for t in told), checked])


def _same(first: Rival, second: Rival) -> bool:
    """Whether two formulas differ by less than a scale shows."""
    names = {line.ingredient.name for line in (*first.formula.lines, *second.formula.lines)}
    return all(abs(first.formula.fraction(name) - second.formula.fraction(name)) < 1e-5 for name in names)


def _rival(name: str, rival: Rival) -> list[str]:
    band = " to ".join(f"{end:.3f}" for end in rival.cost_band)
    return [
        name,
        f"{100 * rival.share:.1f} %",
        f"{rival.typical:.3f}",
        band,
        f"{rival.regret:.4f}",
        f"{rival.regret_95:.4f}",
    ]


def _differs(name: str, chosen: Rival, rival: Rival) -> str:
    names = dict.fromkeys(line.ingredient.name for line in (*chosen.formula.lines, *rival.formula.lines))
    pairs = [(item, 100 * chosen.formula.fraction(item), 100 * rival.formula.fraction(item)) for item in names]
    moved = [f"{item} {a:.2f} -> {b:.2f}" for item, a, b in pairs if abs(a - b) > 5e-3]
    return paragraph(f"{name}: {', '.join(moved)}.")


def protected(found: Protected) -> str:
    """The formula whose limits hold although figures are wrong, and what that costs."""
    unit = found.brief.goal.wanted.unit if found.brief.goal.wanted else "% moved"
    head = (
        f"{found.brief.title}\n  {found.words}: {number(found.objective)} {unit}, {number(found.price, 3)} {unit} more"
    )
    names = dict.fromkeys(
        line.ingredient.name for line in (*found.report.formula.lines, *found.unprotected.report.formula.lines)
    )
    rows = [["% of the whole", "unprotected", "protected"]]
    for name in names:
        pair = (100 * formula.fraction(name) for formula in (found.unprotected.report.formula, found.report.formula))
        rows.append([name, *(f"{value:.2f}" for value in pair)])
    limits = [["limit", "typical", "at worst", "unprotected at worst"], *(_at_worst(each) for each in found.limits)]
    notes = "\n".join(paragraph(note[0].upper() + note[1:] + ".", "") for note in found.notes)
    parts = [head, table(rows, right=[1, 2]), table(limits, right=[1, 2, 3]) if found.limits else "", notes]
    parts += [warnings(found.report.warnings), f"  {closeness(found.certificate)}", closing()]
    return "\n\n".join(part for part in parts if part)


def _at_worst(each: AtWorst) -> list[str]:
    values = [number(v) if v is not None else "-" for v in (each.value, each.worst, each.before)]
    return [each.demand.words, *values[:2], values[2] + (" misses" if each.broken_before else "")]
