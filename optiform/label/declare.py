"""The draft of a label's ingredient list for one market, with what a person has to settle before it is printed."""

import datetime
from collections.abc import Hashable, Iterator, Sequence

from optiform.ingredients.formula import Formula
from optiform.label.allergens import AllergenContent, allergen_contents, limit_checks, without_list
from optiform.label.items import Item, label_items
from optiform.label.net_content import NetContent
from optiform.label.order import Entry, label_list, parts_of
from optiform.label.questions import allergen_warnings, colour_warnings, open_order, own_questions
from optiform.properties.base import Mix, Vector, fractions
from optiform.reading.answer import Answer
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning, RuleCheck
from optiform.review.cautions import cautions
from optiform.review.chemistry import clashes
from optiform.review.facts import Stated
from optiform.review.law import broken, rule_checks, unjudged_parts
from optiform.review.law import statements as supplier_statements
from optiform.review.measures import Setting
from optiform.rules.duties import Duty, duties
from optiform.rules.law import HARD, Scope

NOWHERE = Setting()  #: a formula of no brief, of which no more is known


@frozen
class Declaration(Answer):
    """A draft for a market, a use, an area and a date.

    Attributes:
        warnings: what to settle before anything is printed, as facts.
        due: rules that ask for words on the label at this content.
        statements: rules of the market that bring wording, and those whose maxima and entries have conditions.
        precautions: the usual cautions of use and sale.
        rules: what the list was made by.
        decisions: what a person decides.
        notes: what reading the formula changed.
        duties: what the law of the US and its states asks beside limits on substances.
        papers: statements of suppliers, to be kept at hand where a rule asks for them.
        overruled: what the formula breaks of the rules that its brief overrules.
    """

    formula: str
    market: str
    use: str
    area: str
    date: datetime.date
    entries: tuple[Entry, ...]
    allergen_details: tuple[AllergenContent, ...]
    without_allergen_list: tuple[str, ...]
    net: NetContent | None
    warnings: tuple[Hashable, ...]
    due: tuple[RuleCheck, ...]
    statements: tuple[RuleCheck, ...]
    precautions: tuple[str, ...]
    rules: tuple[Item, ...]
    decisions: tuple[Item, ...]
    notes: tuple[str, ...]
    duties: tuple[Duty, ...] = ()
    papers: tuple[Stated, ...] = ()
    overruled: tuple[FormulaWarning, ...] = ()

    @property
    def declaration(self) -> tuple[str, ...]:
        """The names in order, as printed."""
        return tuple(entry.name for entry in self.entries)

    @property
    def allergens(self) -> tuple[str, ...]:
        """The names declared as allergens, in the list's order."""
        return tuple(entry.name for entry in self.entries if entry.allergen)

    @property
    def allergens_known(self) -> bool:
        """Whether every fragrance and essential oil in use has its supplier's list in the maker's table."""
        return not self.without_allergen_list

    @property
    def free_from(self) -> int | None:
        """Place (from 1) of the first name that may stand in any order; None where there is none."""
        return next((k for k, entry in enumerate(self.entries, 1) if entry.free and not entry.colourant), None)

    @property
    def colourants_from(self) -> int | None:
        """Place (from 1) of the first colourant; None where there is none."""
        return next((k for k, entry in enumerate(self.entries, 1) if entry.colourant), None)

    @property
    def text(self) -> str:
        """The list as a label prints it."""
        return f"Ingredients: {', '.join(self.declaration)}"


def declare(
    formula: Formula, scope: Scope, net: NetContent | None = None, notes: Sequence[str] = (),
    setting: Setting = NOWHERE,
) -> Declaration:  # fmt: skip
    """The draft for the one market of `scope`; `notes` say what reading the formula changed.

    `setting`: what product it is, and what its brief overrules.

    Raises:
        BadInput: an ingredient in use that declares nothing, each of them named.
    """
    (market,) = scope.markets
    _all_named(formula)
    parts, details, silent = parts_of(formula, market), allergen_contents(formula, scope), without_list(formula)
    entries = label_list(parts, details, market)
    mix, x = Mix.of(formula), fractions(formula)
    checks = tuple(rule_checks(mix, x, scope))
    unkept = [rule for rule in checks if rule.kind != "label"]  # what a label has to say is due, no fault
    over = dict.fromkeys([*broken(unkept), *broken(tuple(limit_checks(details, scope)))])
    return Declaration(
        formula=formula.name,
        market=market,
        use=scope.use,
        area=scope.area,
        date=scope.date,
        entries=entries,
        allergen_details=details,
        without_allergen_list=silent,
        net=net,
        warnings=(
            *allergen_warnings(details, silent, market),
            *over,
            *(point.fact for point in unjudged_parts(mix, x, scope) if point.fact),
            *colour_warnings(formula, parts, scope),
        ),
        due=tuple(rule for rule in checks if rule.kind == "label" and not rule.kept),
        statements=tuple(rule for rule in checks if rule.note and (rule.kind in (*HARD, "no entry") or not rule.kept)),
        precautions=tuple(_precautions(mix, x, scope, setting.kind)),
        rules=tuple(label_items(formula, market, "rule")),
        decisions=(
            *open_order(entries, market),
            *own_questions(formula, parts, entries, details, market),
            *label_items(formula, market, "decision"),
        ),
        notes=tuple(notes),
        duties=duties(market),
        papers=tuple(supplier_statements(mix, x, scope)),
        overruled=tuple(warning for warning in clashes(formula, setting) if warning.overruled),
    )


def _all_named(formula: Formula) -> None:
    """A list with a name missing would look complete."""
    used = dict.fromkeys(line.ingredient for line in formula.lines if line.fraction > 0)
    bare = [item.name for item in used if not item.constituents]
    expected = "its declaration names in the column inci of your own table: Aqua 70; Glycerin 30"
    if bare:
        raise BadInput([Fault(formula.name, f"ingredient {name}", "no declaration names", expected) for name in bare])


def _precautions(mix: Mix, x: Vector, scope: Scope, kind: str) -> Iterator[str]:
    """The usual cautions of use and sale; those of making belong to the batch sheet."""
    yield from (caution.text for caution in cautions(mix, x, scope, kind) if caution.where in ("using", "selling"))
