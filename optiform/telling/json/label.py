"""A draft of a declaration, and what a label can stand for, as plain data."""

from collections.abc import Iterable

from optiform.label.allergens import AllergenContent
from optiform.label.declare import Declaration
from optiform.label.from_label import LabelRanges, NoComposition
from optiform.label.items import Item
from optiform.label.net_content import NetContent
from optiform.label.order import Entry
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, certificate, figure


def declared(of: Declaration) -> Data:
    """The draft for a market, a use, an area and a date."""
    return answered(
        "drafted",
        formula=of.formula,
        market=of.market,
        use=of.use,
        area=of.area,
        date=of.date.isoformat(),
        text=of.text,
        declaration=list(of.declaration),
        entries=[_entry(entry) for entry in of.entries],
        free_from=of.free_from,
        colourants_from=of.colourants_from,
        allergens=list(of.allergens),
        allergens_known=of.allergens_known,
        allergen_details=[_allergen(content) for content in of.allergen_details],
        without_allergen_list=list(of.without_allergen_list),
        net=_net(of.net) if of.net else None,
        to_settle=[str(warning) for warning in of.warnings],
        statements=[*of.due, *of.statements],
        precautions=list(of.precautions),
        rules=_items(of.rules),
        decisions=_items(of.decisions),
        notes=list(of.notes),
    )


def _entry(of: Entry) -> Data:
    return {
        "name": of.name,
        "percent": of.percent,
        "least": of.least,
        "most": of.most,
        "colourant": of.colourant,
        "allergen": of.allergen,
        "free": of.free,
        "carriers": _carriers(of.carriers),
        "source": of.source,
        "evidence": str(of.evidence),
        "shares_evidence": str(of.shares_known),
    }


def _allergen(of: AllergenContent) -> Data:
    return {
        "name": of.name,
        "members": list(of.members),
        "percent": of.percent,
        "least": of.least,
        "threshold": figure(of.threshold),
        "listed": of.listed,
        "declared": of.declared,
        "prohibited": of.prohibited,
        "carriers": _carriers(of.carriers),
        "shares_evidence": str(of.known),
        "reference": of.reference,
        "source": of.source,
        "evidence": str(of.evidence),
        "note": of.note,
    }


def _carriers(of: Iterable[tuple[str, float]]) -> list[Data]:
    return [{"ingredient": name, "percent": percent} for name, percent in of]


def _net(of: NetContent) -> Data:
    tolerance = of.tolerance
    return {
        "words": of.words,
        "metric": float(of.metric),
        "unit": of.unit,
        "ounces": figure(of.ounces),
        "tolerance": {
            "error": float(tolerance.error),
            "first": float(tolerance.first),
            "second": float(tolerance.second),
            "source": tolerance.source,
            "evidence": str(tolerance.evidence),
        }
        if tolerance
        else None,
        "note": of.note,
    }


def _items(of: Iterable[Item]) -> list[Data]:
    return [
        {
            "about": item.about,
            "text": item.text,
            "source": item.source,
            "evidence": str(item.evidence) if item.evidence else None,
        }
        for item in of
    ]


def from_label(of: LabelRanges | NoComposition) -> Data:
    """What each name on a label can have; or why no composition has these names in this order."""
    if isinstance(of, NoComposition):
        return answered(
            "infeasible",
            conflict=list(of.conflict),
            certificate=certificate(of.certificate),
            notes=list(of.notes),
        )
    return answered(
        "ranges",
        ranges=[
            {
                "inci": row.inci,
                "low": row.low,
                "high": row.high,
                "centre": row.centre,
                "place": row.place,
                "caps": list(row.caps),
            }
            for row in of.ranges
        ],
        first_below=list(of.first_below),
        centre_for=of.centre_for,
        residual=of.residual,
        notes=list(of.notes),
    )
