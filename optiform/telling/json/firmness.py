"""How firm the formulas of an answer are, as plain data: the same that its telling says in one sentence."""

from collections.abc import Callable, Iterable, Mapping

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.telling.json.basic import band
from optiform.telling.json.form import Key, many, record, text
from optiform.trials.firm import Fitted, beside_today

_FIRM = record(
    text("option", lambda pair: pair[0]), band("firmness", lambda pair: pair[1] and pair[1].band, null=True)
)  # fmt: skip


def firmness(formulas: Callable[..., Mapping[str, Formula]], fitted: Fitted | None) -> Key:
    """A key with the firmness of each formula of an answer that has its brief.

    Args:
        formulas: those of an answer, by what they are called in it.
        fitted: the scale fitted to the maker's own readings.
    """

    def firms(answer: object) -> object:
        brief: Brief = answer.brief  # type: ignore[attr-defined]
        return beside_today(brief, formulas(answer), fitted).items()

    words = "of each formula at 20 °C, today's being 100; empty where fat and wax do not carry the product"
    return many("firmness", _FIRM, firms, words)


def numbered(formulas: Iterable[Formula]) -> dict[str, Formula]:
    """Formulas by the number of their option.

    Example:
        >>> numbered([])
        {}
    """
    return {f"option {number}": formula for number, formula in enumerate(formulas, 1)}
