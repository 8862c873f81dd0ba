"""What several answers have in common: formulas, limits, proofs, figures, warnings."""

from math import isfinite
from typing import NamedTuple, get_args

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence
from optiform.properties.cost import cost
from optiform.review.answer import ABOUT, FormulaWarning, State, heaviest_first
from optiform.rules.forms import LEVELS
from optiform.telling.json.form import (
    FIGURE,
    LACKING,
    NUMBER,
    Get,
    Getter,
    Key,
    Many,
    Named,
    Shared,
    getter,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    truth,
    whole,
    word,
)  # fmt: skip

EVIDENCE = Shared("evidence", word(*Evidence), "How sure: read at the source, from memory, custom, worked out, yours.")
OF_WHOLE, POINTS = "% of the whole", "% points"


def evidence(name: str = "evidence", get: Get = "", null: bool = False) -> Key:
    """A key with how sure something is."""
    return key(name, EVIDENCE, get, null=null)


# -- formulas ----------------------------------------------------------------------------------------------------------

_LINE = (
    text("ingredient", "line.ingredient.name"),
    text("inci", "line.ingredient.inci"),
    text("phase", "line.phase"),
    number("percent", lambda costed: 100 * costed.line.fraction, "of the whole"),
)
LINE = Shared("line", record(*_LINE), "A line of a formula.")
COSTED_LINE = Shared(
    "costed_line",
    record(
        *_LINE,
        number("grams", words="in the batch"),
        number("cost", words="in 1 kg of the product, in its currency; null without a price", null=True),
        number("cost_share", words="% of the cost", null=True),
    ),
    "A line of a formula with what it costs.",
)
FORMULA = Shared("formula", Many(LINE), "The lines of a formula.")
COSTED_FORMULA = Shared("costed_formula", Many(COSTED_LINE), "The lines of a formula with what they cost.")


class Costed(NamedTuple):
    """A line with its grams in a batch, what it costs in 1 kg, and its share of that in %."""

    line: Line
    grams: float = 0.0
    cost: float | None = None
    cost_share: float | None = None


def _costed(of: Formula | None, currency: str, batch: float) -> list[Costed] | None:
    if of is None:
        return None
    total, rows = cost(currency).of(of), []
    for line in of.lines:
        price = line.ingredient.price_in(currency)
        spent = line.fraction * price.figure if price else None
        share = 100 * spent / total if spent is not None and total else None
        rows.append(Costed(line, 1000 * batch * line.fraction, spent, share))
    return rows


def formula(name: str = "formula", get: Get = "", null: bool = False) -> Key:
    """A key with the lines of a formula."""
    made = getter(get or name)
    return key(name, FORMULA, lambda of: None if (f := made(of)) is None else map(Costed, f.lines), null=null)


def costed_formula(name: str, get: Get, brief: Get, words: str = "", null: bool = False) -> Key:
    """A key with the lines of a formula and what they cost; `brief` gives what says the currency and the batch."""
    made, asked = getter(get), getter(brief)
    return key(
        name, COSTED_FORMULA, lambda of: _costed(made(of), asked(of).currency, asked(of).batch or 1.0), words, null
    )


def costed(get: Get, brief: Get) -> tuple[Key, Key]:
    """Keys with a formula and what 1 kg of it costs."""
    made, asked = getter(get), getter(brief)
    unit = per_kg(brief)
    return (
        costed_formula("formula", get, brief),
        quantity("cost", unit, lambda of: cost(asked(of).currency).of(made(of))),
    )


def money(brief: Get = "brief") -> Getter:
    """What gives the currency of an answer."""
    asked = getter(brief)
    return lambda of: str(asked(of).currency)


def per_kg(brief: Get = "brief") -> Getter:
    """What gives its currency for a kilogram."""
    asked = money(brief)
    return lambda of: f"{asked(of)}/kg"


CHANGE = Shared(
    "change",
    record(
        text("ingredient"), number("before", words=OF_WHOLE), number("after", words=OF_WHOLE),
        number("change", "points", POINTS),
    ),
    "A line before and after.",
)  # fmt: skip
CARRIER = Shared(
    "carrier",
    record(text("ingredient", lambda pair: pair[0]), number("percent", lambda pair: pair[1], "of the whole")),
)
REASON = Shared(
    "reason",
    record(text("ingredient", lambda pair: pair[0]), text("reason", lambda pair: pair[1])),
    "An ingredient and why.",
)

# -- limits and proofs -------------------------------------------------------------------------------------------------

SIDE = word("low", "high")


def demand_keys(at: str = "") -> tuple[Key, ...]:
    """The keys of one side of a limit; `at` is where in a value it stands."""
    way = f"{at}." if at else ""
    return (
        text("limit", f"{way}name", "what is limited"), key("side", SIDE, f"{way}side"),
        number("target", f"{way}target"), text("unit", f"{way}unit"), text("kind", f"{way}kind"),
        text("words", f"{way}words"),
    )  # fmt: skip


DEMAND = Shared("demand", record(*demand_keys()), "One side of a limit.")


def _left(proof: object) -> object:
    gap = getattr(proof, "left", None)
    return gap if gap is not None and isfinite(gap) else LACKING


class Scoped(NamedTuple):
    """A proof, of what it is one, and by how much another formula could be better."""

    proof: object
    scope: str
    left: float | None


def _proven(name: str) -> Getter:
    return lambda of: getattr(getattr(of, "proof", of), name)


CERTIFICATE = Shared(
    "certificate",
    record(
        *(number(name, _proven(name)) for name in ("gap", "primal", "dual", "complementarity")),
        truth("holds", _proven("holds")),
        key("scope", word("all", "near this formula"), lambda of: getattr(of, "scope", LACKING), may_lack=True),
        number("left", _left, "by how much another formula could be better, in the goal's unit", may_lack=True),
    ),
    "The residuals of a proof.",
)  # fmt: skip


def product_proof(unit: Get) -> Shared:
    """A proof that no other choice is better than a bound, in a unit."""
    return Shared(
        "product_proof",
        record(
            quantity("value", unit, "value"), quantity("bound", unit, "bound"), number("gap"),
            key("certificate", CERTIFICATE),
            whole("open_lines", lambda of: getattr(of, "open_lines", LACKING), may_lack=True),
        ),
        "No other choice is better than the bound.",
    )  # fmt: skip


def itself(of: object) -> object:
    """The value that a record is of, for a key that is worked out of the whole."""
    return of


# -- figures -----------------------------------------------------------------------------------------------------------


def figure_keys(at: Get) -> tuple[Key, ...]:
    """The keys of a figure and its range; `at` is where in a value it stands."""
    got = getter(at)
    return tuple(key(name, FIGURE, _of(got, name)) for name in ("low", "typical", "high"))


def _of(got: Getter, name: str) -> Getter:
    return lambda of: getattr(got(of), name)


BAND = Shared("band", record(*figure_keys(itself)), "A figure with its range.")
BAND_AT = Shared(
    "band_at",
    record(
        quantity("temperature", "°C", lambda pair: pair[0]),
        *figure_keys(lambda pair: pair[1]),
    ),
    "A figure with its range at a temperature.",
)


def band(name: str, get: Get = "", null: bool = False) -> Key:
    """A key with a figure and its range."""
    return key(name, BAND, get, null=null)


def bands(name: str, get: Get = "") -> Key:
    """A key with a figure and its range at each temperature."""
    at = getter(get or name)
    return many(name, BAND_AT, lambda of: at(of).items())


def value_keys(at: Get = itself) -> tuple[Key, ...]:
    """The keys of a figure of a table, with its range and its source; `at` is where in a value it stands."""
    got = getter(at)
    return (
        *figure_keys(at), text("unit", _of(got, "unit")), text("source", _of(got, "source")),
        evidence(get=_of(got, "evidence")), text("note", _of(got, "note")),
    )  # fmt: skip


# -- what is found of a formula ----------------------------------------------------------------------------------------

WARNING = Shared(
    "warning",
    record(
        key("about", word(*ABOUT)), key("level", word(*LEVELS)), texts("lines", words="the ingredients at fault"),
        text("text", itself), text("rule", words="the id of what says so"), evidence(),
        text("source", words="an id of sources.csv; empty where there is none"),
    ),
    "stop: made like this it fails or is not allowed; mind: an experienced maker would look at it; note: unusual, no "
    "harm.",
)  # fmt: skip
WARNINGS = Shared("warnings", Many(WARNING))
WHERE = word("making", "using", "selling")
CAUTION = Shared("caution", record(key("where", WHERE), text("text")))
KEEPS = Shared(
    "keeps",
    record(
        truth("law", "keeps_law", "limits and certificates of the tables, for the markets given; null where something "
              "was not looked up", null=True),
        truth("limits", "keeps_limits", "of the brief; null without one, or where a value is not known", null=True),
    ),
    "Whether law and limits are kept.",
)  # fmt: skip
_PAIR = "with every figure at its low and at its high end"
MEASURED = Shared(
    "measured",
    record(
        number("value", null=True), key("state", word(*get_args(State))), text("unit"),
        text("basis", words="what it is a part of"), number("low", words="limit", null=True),
        number("high", words="limit", null=True), evidence(),
        key("span", Many(NUMBER, count=2), words=_PAIR, null=True),
        texts("lacking", words="ingredients without the figure"), text("note"),
        key("bar", Many(NUMBER, count=3), words="start, end and value of a bar from 0 to 1", null=True),
    ),
    "A property of a formula.",
)  # fmt: skip
RULE = Shared(
    "rule",
    record(
        text("id"), text("group"), text("expressed_as"), number("content"), number("limit", null=True),
        text("unit", lambda _: "%"), text("market"), text("kind"), text("reference"), evidence(), truth("kept"),
        text("note"),
    ),
    "A rule on constituents, and what the formula contains of them.",
)  # fmt: skip


STATED = Shared(
    "supplier_statement",
    record(
        text("ingredient"), text("condition"), text("statement", "paper", "day or file of it, as the maker wrote it"),
        truth("needed", lambda of: bool(of.rules), "whether a rule of the markets asks for it"),
        many("rules", record(*map(text, ("market", "reference", "group", "note")))),
    ),
    "A condition of law on what is bought that its supplier confirms.",
)  # fmt: skip


def as_read(words: str) -> FormulaWarning:
    """What reading a formula changed of it, as a warning."""
    return FormulaWarning("total", "note", words, "as-read", evidence=Evidence.OWN)


def warnings(get: Get = "warnings") -> Key:
    """A key with warnings, every stop first."""
    got = getter(get)
    return key("warnings", WARNINGS, lambda of: heaviest_first(got(of) or ()))


def report_keys(at: str, remarks: Getter = lambda _: []) -> tuple[Key, ...]:
    """The keys of a formula looked at from every side; `at` is where the report stands in a value.

    `remarks` gives what is to be said before the warnings, on how the formula was read.
    """
    found = getter(at)
    return (
        key("properties", Named(MEASURED), lambda of: {measured.name: measured for measured in found(of).measures}),
        many("rules", RULE, f"{at}.rules"),
        key("warnings", WARNINGS, lambda of: [*remarks(of), *heaviest_first(found(of).warnings)]),
        many("supplier_statements", STATED, f"{at}.statements"),
        many("cautions", CAUTION, f"{at}.cautions"),
    )


def today() -> tuple[Key, ...]:
    """The keys of today's formula in an answer around it: lines, cost and warnings."""
    return (*costed("today.formula", "brief"), warnings("today.warnings"))


TODAY = Shared("today", record(*today()), "Today's formula.")
