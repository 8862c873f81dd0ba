"""The report on a given formula."""

from optiform.ingredients.formula import Formula
from optiform.properties.cost import cost
from optiform.review.answer import Checked
from optiform.telling.sections import cautions, closing, grams_of, limits, price_of, rules, share_of, warnings
from optiform.telling.text import paragraph, table


def checked(answer: Checked, currency: str, batch: float) -> str:
    """The report on a given formula."""
    found = answer.report
    kind = {"whole": "percent of the whole", "base": "percent of the base, grains on top"}.get(
        answer.reading.basis, answer.reading.basis
    )
    head = f"{found.formula.name}\n  read as {kind}; total read {answer.reading.total:.6g}"
    sections = [
        head,
        "\n".join(paragraph(note, "") for note in answer.reading.notes),
        _plain_formula(found.formula, currency, batch),
        warnings(found.warnings),
        limits(found.measures),
        rules(found),
        cautions(found),
        closing(),
    ]
    return "\n\n".join(section for section in sections if section)


def _plain_formula(formula: Formula, currency: str, batch: float) -> str:
    total = cost(currency).of(formula)
    rows = [["", "percent", "grams", f"{currency}/kg"]]
    for line in formula.lines:
        price = price_of(line.ingredient, currency)
        spent = f"{line.fraction * price:.3f}" if price is not None else ""
        rows.append(
            [
                f"{line.ingredient.name} ({line.phase})",
                share_of(line),
                grams_of(line, batch),
                spent,
            ]
        )
    rows.append(["total", "100.00", f"{1000 * batch:.1f}", f"{total:.3f}" if total is not None else ""])
    return table(rows, right=[1, 2, 3])
