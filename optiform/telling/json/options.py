"""Options around today's formula as plain data: cheaper, in place of an ingredient, firmer or softer."""

from optiform.design.cheaper import CheaperOptions
from optiform.design.substitute import Substitutes
from optiform.design.texture import Texture
from optiform.telling.json.basic import (
    CARRIER,
    CERTIFICATE,
    CHANGE,
    DEMAND,
    KEEPS,
    REASON,
    TODAY,
    bands,
    evidence,
    formula,
    today,
    warnings,
)  # fmt: skip
from optiform.telling.json.design import IMPOSSIBLE
from optiform.telling.json.firmness import firmness, numbered
from optiform.telling.json.form import (
    Data,
    Either,
    Record,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    truth,
    whole,
)  # fmt: skip
from optiform.trials.firm import Fitted

_TITLE = text("title", "brief.title")
_TODAY = key("today", TODAY, lambda of: of)


_HELD = record(text("property", "name"), number("value"), number("tolerance"))
_NOT_HELD = record(text("property", "name"), texts("lacking", words="ingredients without the figure"))


def cheaper_form(money: str, fitted: Fitted | None = None) -> Either:
    """Formulas that cost less, the fewest changed lines first; or why there is none."""
    option = record(
        whole("lines_changed", "lines"), formula(get="report.formula"), quantity("cost", f"{money}/kg"),
        quantity("saving", f"{money}/kg"), quantity("saving_per_jar", money), many("changes", CHANGE, "moves"),
        many("stops", DEMAND, words="what keeps it from saving more"), key("keeps", KEEPS, "report"),
        warnings("report.warnings"), number("left", "gap", "relative distance to the proven bound"),
        key("certificate", CERTIFICATE),
        text("spreading", "thickness", "how thick the oils that come in are against those that go", null=True),
    )  # fmt: skip
    options = answer(
        ["answered", "undecided"],
        _TITLE, _TODAY, text("balance"), many("held", _HELD), many("not_held", _NOT_HELD),
        many("gone", REASON), many("options", option, "rungs"),
        firmness(lambda of: numbered(choice.report.formula for choice in of.rungs), fitted),
        truth("decided"), text("note"),
        status=lambda of: "answered" if of.rungs or of.decided else "undecided",
    )  # fmt: skip
    return Either((options, IMPOSSIBLE), lambda of: int(not isinstance(of, CheaperOptions)))


def cheaper(answer: CheaperOptions, fitted: Fitted | None = None) -> Data:
    """Formulas that cost less, or why there is none; firmness on the scale that is `fitted`."""
    said: Data = cheaper_form(answer.brief.currency, fitted).said(answer.impossible or answer)
    return said


_SHIFT = record(text("property", "name"), text("unit"), number("before"), number("after"), number("distance"))


_AT_DOSE = record(
    text("which"), number("percent", "dose"), number("per_100_of_oil_phase", "per_oil", null=True),
    number("hlb_difference", null=True), texts("missed", "broken"), evidence(),
)  # fmt: skip


_ALONG = record(text("ingredient", "item.name"), number("percent"), text("of"), text("rule", "rule.id"))


def substitute_form(money: str, fitted: Fitted | None = None) -> Record:
    """What can stand in for missing ingredients, the nearest first."""
    option = record(
        many("in_its_place", CARRIER, "parts"),
        many("comes_along", _ALONG, "along", words="what a rule asks for beside it"),
        formula(), truth("close"), number("distance"),
        key("moves_most", _SHIFT, "worst"), many("shifts", _SHIFT), texts("new_names"), texts("new_cautions"),
        texts("new_warnings"),
        texts("melting_together", "eutectics"), texts("missed", "broken"),
        quantity("cost", f"{money}/kg"), quantity("cost_change", f"{money}/kg"),
        many("doses", _AT_DOSE, words="of a single emulsifier: least usual, proposed, most usual"),
    )  # fmt: skip
    return answer(
        ["answered"],
        _TITLE, _TODAY, texts("missing"), many("not_held", _NOT_HELD), many("options", option, "swaps"),
        firmness(lambda of: numbered(choice.formula for choice in of.swaps), fitted),
        key("purchase", option, null=True),
        many("without_figures", REASON), truth("any_close"),
    )  # fmt: skip


def substitute(answer: Substitutes, fitted: Fitted | None = None) -> Data:
    """What can stand in for missing ingredients, the nearest first; firmness on the scale that is `fitted`."""
    return substitute_form(answer.brief.currency, fitted).said(answer)


_TEXTURED = record(
    whole("lines_changed", "lines"), number("points_moved", "points"), formula(), many("changes", CHANGE, "moves"),
    bands("firmness"), truth("brings_in", "new"),
)  # fmt: skip
_SEASON = record(
    key("winter", _TEXTURED), key("summer", _TEXTURED), many("common", CARRIER), number("points_apart", "apart")
)
TEXTURE = answer(
    ["answered", "infeasible", "undecided"],
    _TITLE,
    key("today", record(*today(), bands("firmness", "before")), lambda of: of),
    quantity("temperature", "°C"),
    *map(number, ("wanted", "cold_most", "hot_least")),
    many("options", _TEXTURED, "courses"),
    key("furthest", _TEXTURED, null=True),
    key("season", _SEASON, null=True),
    texts("in_the_way", lambda of: (getattr(x, "words", x) for x in of.in_the_way)),
    text("note"),
    text("rests_on"),
    status=lambda of: "undecided" if not of.decided else "answered" if of.reached else "infeasible",
)


def texture(answer: Texture) -> Data:
    """Formulas as firm as wanted, the least moved first; or how far it goes."""
    return TEXTURE.said(answer)
