"""How fast oils turn rancid, as a rank by their fatty acids. It ranks; it predicts no time."""

from collections.abc import Mapping

#: Relative rate of oxidation by fatty acid, C18:2 as 1. Common practice; C18:1 : C18:2 : C18:3 as 0.02 : 1 : 2.
RATES = {"C18:1": 0.02, "C18:2": 1.0, "C18:3": 2.0}


def oxidation_index(acids: Mapping[str, float]) -> float:
    """0.02 C18:1 + C18:2 + 2 C18:3, from mass % of all fatty acids. From 0 to 200; the higher, the sooner rancid.

    Common practice, no source of its own. Against nine published induction times it ranks five of six oils in order
    (olive is the outlier) and three of three; natural antioxidants can outweigh it several times.

    Args:
        acids: % of all fatty acids, by name such as `C18:2`.

    Example:
        >>> round(oxidation_index({"C18:1": 28, "C18:2": 60, "C18:3": 0.5}), 2)
        61.56

    Source: none: custom of the trade.
    """
    return sum(rate * acids.get(acid, 0.0) for acid, rate in RATES.items())
