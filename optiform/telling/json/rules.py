"""What goes together and what does not, as plain data."""

from collections.abc import Sequence

from optiform.rules.forms import LEVELS
from optiform.telling.explained import Explained
from optiform.telling.json.basic import evidence
from optiform.telling.json.form import Data, answer, key, many, record, text, texts, word

_RULE = record(
    text("id", "rule.id", "what a brief overrules it by"), text("form"), text("about", "rule.about"),
    key("level", word(*LEVELS), "rule.level"), text("title", "rule.title"),
    text("text", "rule.text", "what happens where it is broken"),
    texts("ways", words="it is kept where one of them holds"),
    texts("kinds", words="of product; with ! in front all but these"),
    texts("areas", words="where it is used; empty: all"),
    texts("exposures", words="to air and light in the pack; empty: all"), evidence(get="rule.evidence"),
    evidence("evidence_of_amounts", "figures"), text("source", "rule.source"), text("note"),
)  # fmt: skip
RULES = answer(["listed"], many("rules", _RULE, lambda of: of))


def rules(explained: Sequence[Explained]) -> Data:
    """The rules that were asked for, each with its source."""
    return RULES.said(explained)
