"""The currencies fleetlib knows: how each is shown, and by which signs and words people type it.

Codes and minor units are ISO 4217's, signs and grouping CLDR's; the everyday words are common usage, no source.
Any other three-letter code may stand in the settings and is shown behind the amount.
"""

from __future__ import annotations

import re
from typing import NamedTuple


class Currency(NamedTuple):
    """One currency: its sign as fleetlib shows it ("" for the code), decimal places, the signs and words typed for
    it, and whether a plain space groups thousands where it is used."""

    sign: str = ""
    places: int = 2
    typed: tuple[str, ...] = ()
    spaced: bool = False


_DOLLARS = ("$", "dollars", "bucks")
CURRENCIES = {
    "USD": Currency("$", typed=(*_DOLLARS, "us$")),
    "CAD": Currency("$", typed=(*_DOLLARS, "c$", "ca$")),
    "AUD": Currency("$", typed=(*_DOLLARS, "a$", "au$")),
    "NZD": Currency("$", typed=(*_DOLLARS, "nz$")),
    "MXN": Currency("$", typed=("$",)),
    "SGD": Currency(typed=("$",)),
    "HKD": Currency(typed=("$",)),
    "ARS": Currency(typed=("$",)),
    "CLP": Currency(places=0, typed=("$",)),
    "COP": Currency(typed=("$",)),
    "TWD": Currency(typed=("$",)),
    "EUR": Currency("€", typed=("€", "euro", "euros"), spaced=True),
    "GBP": Currency("£", typed=("£", "pounds", "quid")),
    "JPY": Currency("¥", places=0, typed=("¥",)),
    "CNY": Currency(typed=("¥",)),
    "INR": Currency(typed=("₹",)),
    "SEK": Currency(typed=("kr",), spaced=True),
    "NOK": Currency(typed=("kr",), spaced=True),
    "DKK": Currency(typed=("kr",), spaced=True),
    "ISK": Currency(places=0, typed=("kr",)),
    "BRL": Currency(typed=("r$",)),
    "PLN": Currency(typed=("zł",), spaced=True),
    "CHF": Currency(typed=("fr.",)),
    "CZK": Currency(spaced=True),
    "HUF": Currency(spaced=True),
    "ZAR": Currency(spaced=True),
    "KWD": Currency(places=3),
    "BHD": Currency(places=3),
    "OMR": Currency(places=3),
    "TND": Currency(places=3),
    "JOD": Currency(places=3),
    "IQD": Currency(places=3),
    "LYD": Currency(places=3),
}
OTHER = Currency()
# What may be typed for a currency -> the codes it may mean; the settings say which of them is meant.
MEANT_BY: dict[str, frozenset[str]] = {
    typed: frozenset(code for code, c in CURRENCIES.items() if typed in c.typed)
    for typed in dict.fromkeys(t for c in CURRENCIES.values() for t in c.typed)
}
SIGNS = tuple(dict.fromkeys(t for t in MEANT_BY if len(t) == 1))


def known_as(currency: str) -> Currency:
    """How `currency` (a code) is written; a code not listed has two places and no sign."""
    return CURRENCIES.get(currency, OTHER)


def currency_named(token: str) -> str | None:
    """The code that `token` (small letters: a sign, a word or a code) names; "" where several share it, None if
    it names none.

    >>> currency_named("€"), currency_named("$"), currency_named("nok"), currency_named("oak")
    ('EUR', '', 'NOK', None)
    """
    if token.upper() in CURRENCIES:
        return token.upper()
    meant = MEANT_BY.get(token)
    return None if meant is None else next(iter(meant)) if len(meant) == 1 else ""


_WORDS = [t for t in MEANT_BY if t.isalpha()] + [c.lower() for c in CURRENCIES]
NAMES_MONEY = re.compile(
    rf"[{''.join(map(re.escape, SIGNS))}]|\b(?:{'|'.join(map(re.escape, _WORDS))}|dollar|pound)\b"
)
