"""Parts of tellings that are still plain text; what is told in parts takes report.py and unused.py instead."""

from collections.abc import Sequence

from optiform.brief.brief import Brief
from optiform.telling.report import NOT_A_RELEASE as NOT_A_RELEASE
from optiform.telling.report import PROCESS as PROCESS
from optiform.telling.text import paragraph
from optiform.telling.unused import kind_words


def warnings(texts: Sequence[str]) -> str:
    """What a maker should know before weighing."""
    return "\n".join(["  Warnings", *map(paragraph, texts)]) if texts else ""


def kind_rules(brief: Brief) -> list[str]:
    """Candidates that the kind of product is made without."""
    return [paragraph(line, "") for line in kind_words(brief)]


def closing() -> str:
    """What no calculation settles."""
    return paragraph(PROCESS, "") + "\n" + paragraph(NOT_A_RELEASE, "")
