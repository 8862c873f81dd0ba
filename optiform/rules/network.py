"""Kinds of product that no network of fat or wax carries: firmness and weeping by solids are not told of them."""

from optiform.reading.faults import BadInput, Fault
from optiform.reading.units import with_article

#: What carries a kind instead. Common practice, no source.
CARRIED_BY = {
    "lotion": "droplets in a gel of water",
    "hand and foot cream": "droplets in a gel of water",
    "foaming scrub": "foam and crystals of surfactant",
    "whipped foaming base": "foam and crystals of surfactant",
    "solid cleansing bar": "pressed surfactant",
    "bath salt scrub": "grains that lie on each other in oil",
}


def without_network(kind: str) -> str:
    """Why firmness by the solids of fat and wax says nothing of a kind, in words; empty where it does, or may.

    Example:
        >>> without_network("lotion")
        'A lotion is carried by droplets in a gel of water, not by a network of fat or wax: no firmness is told of it.'
        >>> without_network("balm"), without_network("")
        ('', '')

    Source: none: custom of the trade.
    """
    if kind not in CARRIED_BY:
        return ""
    subject = with_article(kind).capitalize()
    return f"{subject} is carried by {CARRIED_BY[kind]}, not by a network of fat or wax: no firmness is told of it."


def needs_network(file: str, kind: str) -> None:
    """Refuse a job on firmness for a kind that has none.

    Raises:
        BadInput: naming the brief, and why.

    Example:
        >>> needs_network("brief.toml", "balm")

    Source: none: custom of the trade.
    """
    if refusal := without_network(kind):
        raise BadInput([Fault(file, "kind", kind, "a kind with a network of fat or wax", refusal)])
