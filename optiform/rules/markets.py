"""Where a product is sold, and whose law holds there: a state of the US adds its own to the federal one."""

#: States of the US whose own law is in the tables, by the word for their market.
STATES = {
    "US-CA": "California",
    "US-CO": "Colorado",
    "US-CT": "Connecticut",
    "US-MD": "Maryland",
    "US-ME": "Maine",
    "US-MN": "Minnesota",
    "US-NY": "New York",
    "US-OR": "Oregon",
    "US-VT": "Vermont",
    "US-WA": "Washington",
}
MARKETS = ("EU", "GB", "US", *STATES)


def country(market: str) -> str:
    """The market whose names and order a label follows: a state follows its country.

    Example:
        >>> country("US-VT"), country("GB")
        ('US', 'GB')

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return market.partition("-")[0]


def jurisdictions(market: str) -> tuple[str, ...]:
    """Whose law holds in a market, the wider one first.

    Example:
        >>> jurisdictions("US-VT"), jurisdictions("EU")
        (('US', 'US-VT'), ('EU',))

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return (country(market), market) if market in STATES else (market,)


def named(market: str) -> str:
    """A market in words.

    Example:
        >>> named("US-VT"), named("EU")
        ('Vermont (US-VT)', 'EU')

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return f"{STATES[market]} ({market})" if market in STATES else market
