"""The answer to a brief."""

from math import isfinite

from optiform.brief.brief import Brief
from optiform.design.answer import Binding, Change, Designed, Impossible
from optiform.design.unsure import words_of
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import PHASES
from optiform.program.certificate import TOLERANCE, Certificate
from optiform.properties.cost import cost
from optiform.telling.sections import (
    CLASH,
    cautions,
    closing,
    grams_of,
    left_out,
    limits,
    price_of,
    repairs_head,
    rules,
    share_of,
    warnings,
)
from optiform.telling.text import number, outward, paragraph, table

MOST_ENTRIES = 8
SAME_POINTS = 1e-4  # % of the whole: 1 mg in 1 kg, far below any scale


def designed(answer: Designed) -> str:
    """The whole answer to a brief."""
    brief = answer.brief
    sections = [
        _title(brief),
        _formula(answer.report.formula, brief),
        _saving(answer),
        warnings(answer.report.warnings),
        limits(answer.report.measures),
        _unsure(answer),
        _why(answer),
        _unused(answer),
        _tie(answer),
        rules(answer.report),
        cautions(answer.report),
        closing(),
        f"  {checked(answer.certificate)}",
    ]
    return "\n\n".join(section for section in sections if section)


def _title(brief: Brief) -> str:
    scope = brief.scope
    law = "no market given: no legal limits"
    if scope.markets:
        law = f"{' and '.join(scope.markets)} limits as on {scope.date}"
    kind = brief.kind or "kind of product not given"
    facts = f"{kind}, {scope.use}, {scope.area}; {law}; batch {number(brief.batch)} kg"
    return f"{brief.title}\n  {brief.goal.words} | {facts}"


def _formula(formula: Formula, brief: Brief) -> str:
    prices, today = cost(brief.currency), brief.reference
    total = prices.of(formula)
    header = ["", "percent", "grams", f"{brief.currency}/kg", "of cost", *(["today"] if today else [])]
    rows = [header]
    for phase in PHASES:
        lines = [line for line in formula.lines if line.phase == phase]
        gone = [line for line in today.lines if line.phase == phase] if today else []
        if lines:
            rows.append([phase, f"{100 * sum(line.fraction for line in lines):.2f}", *[""] * (len(header) - 2)])
        for line in lines:
            spent = price_of(line.ingredient, brief.currency)
            part = line.fraction * spent if spent is not None else None
            cells = [
                f"  {line.ingredient.name}",
                share_of(line),
                grams_of(line, brief.batch),
                f"{part:.3f}" if part is not None else "",
                f"{100 * part / total:.0f} %" if part is not None and total else "",
            ]
            rows.append(cells + ([_was(today, line.ingredient.name)] if today else []))
        names = {line.ingredient.name for line in lines}
        for line in gone:
            if line.ingredient.name not in names and formula.fraction(line.ingredient.name) == 0:
                rows.append([f"  {line.ingredient.name}", "-", "-", "", "", share_of(line)])
    totals = ["total", "100.00", f"{1000 * brief.batch:.1f}", f"{total:.3f}" if total is not None else "", "", ""]
    rows.append(totals[: len(header)])
    return table(rows, right=range(1, len(header)))


def _was(today: Formula, name: str) -> str:
    before = today.fraction(name)
    return f"{100 * before:.2f}" if before else "-"


def _saving(answer: Designed) -> str:
    unit = f"{answer.brief.currency}/kg"
    now = cost(answer.brief.currency).of(answer.report.formula)
    lines = []
    unpriced = [
        line.ingredient.name
        for line in answer.report.formula.lines
        if price_of(line.ingredient, answer.brief.currency) is None
    ]
    if unpriced:
        lines.append(f"No cost: no price in {unit} for {', '.join(unpriced)}.")
    if now is not None:
        batch = now * answer.brief.batch
        lines.append(f"Ingredients cost {now:.3f} {unit}, {batch:.2f} {answer.brief.currency} for the batch.")
    today = answer.brief.reference
    if today and now is not None and (before := cost(answer.brief.currency).of(today)):
        gain = before - now
        change = f"{abs(gain):.3f} {unit} ({100 * abs(gain) / before:.1f} %) {'less' if gain >= 0 else 'more'}"
        lines.append(f"That is {change} than today's formula, {before:.3f} {unit}.")
    goal = answer.brief.goal
    if goal.formula is not None:
        lines.append(_changed(answer.objective, goal.formula.name))
    elif goal.wanted is not None and goal.wanted.name != "cost":
        lines.append(f"Goal: {goal.words} = {_with_unit(number(answer.objective), goal.wanted.unit)}.")
        if goal.direction == "highest" and not goal.wanted.brought(answer.brief.mix):
            lines.append(f"No candidate brings any {goal.wanted.name}: every formula is as good for this goal.")
    return "\n".join([*(f"  {line}" for line in lines), *left_out(answer.brief)])


def _changed(points: float, name: str) -> str:
    if points < SAME_POINTS:
        return f"Nothing changes against {name}."
    return f"{number(points)} % of the whole changes hands against {name}."


def _with_unit(figure: str, unit: str) -> str:
    return figure if unit in ("", "-") else f"{figure} {unit}"


def _repaired(change: Change) -> str:
    return _with_unit(outward(change.demand.side, change.target), change.demand.unit)


def _unsure(answer: Designed) -> str:
    return paragraph(words_of(answer.unsure, answer.brief.goal), "") if answer.unsure else ""


def _why(answer: Designed) -> str:
    """What binds, dearest first: the gain from one unit looser, and the span of targets that price holds on."""
    rows = [["Why this one: these limits hold it", "one unit looser gains", "while the target is between"]]
    for bound in sorted(answer.binding, key=lambda b: -b.price):
        ends = [number(end, 3) if end is not None else "..." for end in (bound.valid_from, bound.valid_to)]
        dearer = _dearer(bound)
        rows.append(
            [bound.demand.words, f"{number(bound.price, 3)} {bound.price_unit}{dearer}", f"{ends[0]} and {ends[1]}"]
        )
    return "\n".join(filter(None, [table(rows) if len(rows) > 1 else "", _unpriced(answer)]))


def _unpriced(answer: Designed) -> str:
    if not answer.unpriced:
        return ""
    words = "; ".join(demand.words for demand in answer.unpriced)
    return paragraph(f"Only just met too, but rounding leaves open what easing it would save: {words}.", "")


def _dearer(bound: Binding) -> str:
    """The price on the tighter side, where it is another one, or why there is none."""
    if bound.tighter is None:
        return " (cannot be tighter)" if bound.tighter_proven else " (whether it can be tighter is not proven)"
    if abs(bound.tighter - bound.price) <= 1e-6 * (1 + bound.price):
        return ""
    return f" (tighter costs {number(bound.tighter, 3)})"


def _unused(answer: Designed) -> str:
    """Candidates left at nothing, those nearest to entering first."""
    priced = [entry for entry in answer.entries if entry.price is not None and entry.below is not None]
    priced.sort(key=lambda entry: (entry.price or 0) / (entry.below or 1))
    unit = f"{answer.brief.currency}/kg"
    rows = [["Not used, and why", f"{unit} now", "would enter below"]]
    rows += [[e.ingredient, f"{e.price:.2f}", f"{e.below:.2f}"] for e in priced[:MOST_ENTRIES]]
    never = [entry.ingredient for entry in answer.entries if entry.below is None]
    notes = []
    if len(priced) > MOST_ENTRIES:
        notes.append(f"  and {len(priced) - MOST_ENTRIES} more, further from entering (--json lists all)")
    if not all(entry.whole for entry in answer.entries):
        notes.append(paragraph("These prices hold near this formula; far from it a candidate may pay at more.", ""))
    if never and priced:
        notes.append(paragraph(f"at no price within these limits: {', '.join(never)}", ""))
    return "\n".join([table(rows, right=[1, 2]), *notes]) if priced else ""


def _tie(answer: Designed) -> str:
    if answer.tie is not None:
        lines = ", ".join(f"{line.ingredient.name} {share_of(line)}" for line in answer.tie.lines)
        return paragraph(f"Another formula is exactly as good: {lines}.", "")
    bends = "A limit or the goal of this brief bends (it is no straight sum over the lines)"
    if answer.gap is not None and isfinite(answer.gap):
        gap = f"no formula is better by more than {number(max(answer.gap, 1e-9), 2)} {_goal_unit(answer)}".rstrip()
        proven = "best near itself, not best of all" if answer.local else "best of all"
        return paragraph(f"{bends}: this formula is proven {proven}: {gap}.", "")
    if answer.local:
        return paragraph(
            f"{bends}: this is the best formula found from several starts, proven best near itself, not proven best of "
            "all.",
            "",
        )
    return "  No other formula reaches the same goal: the answer is the only one."


def _goal_unit(answer: Designed) -> str:
    return answer.brief.goal.unit.strip("-")


def checked(certificate: Certificate) -> str:
    """How well the proof of an optimum closes."""
    return (
        f"Checked: gap {certificate.gap:.1e}, breach {certificate.primal:.1e}, duals {certificate.dual:.1e}, "
        f"slackness {certificate.complementarity:.1e} (each below {TOLERANCE:.0e})."
    )


def impossible(answer: Impossible) -> str:
    """Why no formula fits, and what would make one fit."""
    lines = [_title(answer.brief), ""]
    if not answer.decided:
        lines.append(paragraph(f"Not decided: {answer.reason}.", ""))
        lines.append(
            paragraph("A narrower brief helps: pin a line that should not move, or give a limit more room.", "")
        )
        return "\n".join(lines)
    if answer.reason:
        lines.append(paragraph(f"No formula was found: {answer.reason}.", ""))
    if answer.reason and not answer.conflict:
        return "\n".join(lines)
    lines.append(paragraph(f"No formula can meet this brief. {CLASH}", ""))
    lines += [paragraph(demand.words) for demand in answer.conflict]
    if not answer.conflict:
        lines.append(paragraph("the candidates cannot sum to 100 %"))
    if answer.repairs:
        lines += ["", f"  {repairs_head(len(answer.repairs))}"]
        for changes in answer.repairs:
            words = [f"{change.demand.words} -> {_repaired(change)}" for change in changes]
            lines.append(paragraph(" together with ".join(words)))
    else:
        lines += [
            "",
            "  No change of the brief's own limits alone makes it possible; look at its candidates and the law.",
        ]
    lines += ["", *left_out(answer.brief)]
    if answer.certificate is not None:
        lines += ["", f"  Checked: the proof that nothing fits closes (gap {answer.certificate.gap:.1e})."]
    return "\n".join(lines)
