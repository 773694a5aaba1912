"""How a price came down, as a column of cuts says it: by how much (`-30, -50`, `-10%`) or to what (`a 360, a 330`).

The words are those of several languages, from memory; common practice, no source.
"""

from __future__ import annotations

import re
from itertools import pairwise

from fleetlib.records.parsing.numbers import plain

OFF = "off"  # the unit of a heading over amounts that were taken off the price, each off the one before
_N = r"\d+(?:[.,]\d{1,2})?"
_MONEY = rf"[$€£]? ?{_N}(?: ?[$€£])?"
_WORDS = r"(?:off|less|down|menos|moins|weniger|in meno|minder|menor)"
_ONE_OFF = re.compile(
    rf"(?:(?P<sign>-|{_WORDS}) ?)?[$€£]? ?-?(?P<n>{_N})(?: ?[$€£])? ?(?P<percent>%)?(?: ?(?P<word>{_WORDS})\b)?"
    r"(?P<beside>(?: (?!to\b|or\b|and\b)[^\W\d_]+)*)"
)
_TO = r"(?:to|down to|now|a|à|auf|naar|till)"
_ONE_TO = re.compile(rf"(?:{_TO} )?(?P<amount>{_MONEY})")
_BEGINS = re.compile(rf"{_TO} [$€£]?\d")
_NEXT = re.compile(r" ?(?:[;>]|->|,(?= ?[^\d])|, |/(?= ?-)|\b(?:and )?then\b) ?| (?=-)")


def _offs(text: str) -> list[re.Match[str]]:
    """The parts of a text that each may say how much was taken off; none where one of them cannot."""
    found = [_ONE_OFF.fullmatch(p.strip()) for p in _NEXT.split(plain(text)) if p.strip()]
    return [m for m in found if m] if all(found) else []


def says_off(text: str) -> bool:
    """Whether a text says by a sign, a word or a percentage that each of its amounts was taken off.

    >>> says_off("-30, -50"), says_off("10% menos en octubre"), says_off("30, 50"), says_off("a 360")
    (True, True, False, False)
    """
    parts = _offs(text)
    body = plain(text)
    signed = [m["sign"] or m["word"] or m["percent"] or "-" in m.group() for m in parts]
    return bool(parts) and all(signed) and not body.endswith("-")


def says_to(text: str) -> bool:
    """Whether a text names by a word the prices that were asked one after the other: `a 360, a 330`."""
    return last_named(text) != text


def last_named(text: str) -> str:
    """The last of the prices that a text says were asked one after the other; any other text as it is.

    >>> last_named("a 360, a 330"), last_named("to 265"), last_named("a 120, a 130")
    ('330', '265', 'a 120, a 130')
    """
    body = plain(text)
    if not _BEGINS.match(body):
        return text
    found = [_ONE_TO.fullmatch(p.strip()) for p in _NEXT.split(body) if p.strip()]
    amounts = [m["amount"] for m in found if m]
    values = [_number(a) for a in amounts]
    falls = all(a > b for a, b in pairwise(values))
    return amounts[-1].strip() if len(amounts) == len(found) and falls else text


def price_after(text: str, asked: float) -> float | None:
    """The price left of `asked` after what the text says was taken off, each off the one before; None where it says
    nothing of the kind or nothing would be left.

    >>> price_after("-30, -50", 680), price_after("-10%", 270), price_after("700", 680)
    (600.0, 243.0, None)
    """
    left = float(asked)
    parts = _offs(text)
    for part in parts:
        n = _number(part["n"])
        left -= left * n / 100 if part["percent"] else n
    return round(left, 2) if parts and left > 0 else None


def _number(text: str) -> float:
    return float(re.sub(r"[^\d.]", "", text.replace(",", ".")))
