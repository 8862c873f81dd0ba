"""Rules of what goes together, as plain data."""

from collections.abc import Sequence

from optiform.reading.plain import answered
from optiform.rules.explained import Explained
from optiform.telling.json.basic import Data


def rules(explained: Sequence[Explained]) -> Data:
    """The rules that were asked for, each with its source."""
    return answered("listed", rules=[_rule(each) for each in explained])


def _rule(of: Explained) -> Data:
    return {
        "id": of.rule.id,
        "form": of.form,
        "about": of.rule.about,
        "level": of.rule.level,
        "title": of.rule.title,
        "text": of.rule.text,
        "ways": list(of.ways),
        "kinds": list(of.kinds),
        "evidence": str(of.rule.evidence),
        "evidence_of_amounts": str(of.figures),
        "source": of.rule.source,
        "note": of.note,
    }
