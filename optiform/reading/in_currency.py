"""A price that is written in one currency: a sign or a word of another is found, never passed over."""

import re

from optiform.reading.units import parse_number

#: What makers write for a currency beside its code, in lower case and without the full stop of a short form.
_WRITTEN = {
    "EUR": ("€", "euro", "euros"), "GBP": ("£", "pound", "pounds"), "USD": ("$", "us$"), "CAD": ("$", "c$", "ca$"),
    "AUD": ("$", "a$", "au$"), "NZD": ("$", "nz$"), "CHF": ("fr", "sfr"), "SEK": ("kr",), "NOK": ("kr",),
    "DKK": ("kr",), "ISK": ("kr",), "PLN": ("zł", "zl"), "CZK": ("kč", "kc"), "HUF": ("ft",), "RON": ("lei",),
    "INR": ("₹", "rs"), "ZAR": ("r",), "JPY": ("¥",), "CNY": ("¥",),
    "MXN": ("$", "mx$"), "SGD": ("$", "s$"), "HKD": ("$", "hk$"), "BRL": ("r$",), "TRY": ("₺", "tl"), "UAH": ("₴",),
    "ILS": ("₪",), "KRW": ("₩",), "THB": ("฿",),
}  # fmt: skip
_SHORT = re.compile(r"\b(s?fr|kr|rs|ft)\.", re.IGNORECASE)  # its full stop is no decimal point


def other_than(currency: str, price: str) -> str:
    """What stands beside the number of a price and is not this currency; empty where nothing is.

    Args:
        currency: the three letters of the one that prices are kept in.
        price: as it was written; a number alone is in that currency.

    Example:
        >>> other_than("EUR", "9.00 zł"), other_than("EUR", "EUR 9"), other_than("CAD", "$9"), other_than("EUR", "$9")
        ('zł', '', '', '$')
    """
    own = (currency.casefold(), *_WRITTEN.get(currency, ()))
    beside = re.sub(r"[\d.,+'/-]", " ", _SHORT.sub(r" \1 ", price)).split()
    return " ".join(word for word in beside if word.casefold() not in own)


def other_named(currency: str, header: str) -> str:
    """As `other_than`, in the words of a column's header: only what is known to name a currency counts there.

    Example:
        >>> other_named("EUR", "£ incl. tax"), other_named("EUR", "eur"), other_named("EUR", "net")
        ('£', '', '')
    """
    names = {name for code, written in _WRITTEN.items() for name in (code.casefold(), *written)}
    return " ".join(word for word in other_than(currency, header).split() if word.casefold() in names)


def number_of(price: str) -> float:
    """The number of a price, whatever currency stands beside it.

    Raises:
        ValueError: with words a user can act on.

    Example:
        >>> number_of("21,00 €"), number_of("kr. 9")
        (21.0, 9.0)
    """
    return parse_number(re.sub(r"[^\d.,+'\s-]+", "¤", _SHORT.sub("¤", price)).strip("¤ "))  # 9€100 is no 9 100
