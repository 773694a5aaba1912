"""How a count, a share and a day are said, in one way everywhere and whatever the machine's language.

What a person types and what stands in files are other matters: those days are ISO 8601, as 2026-10-09.
"""

from __future__ import annotations

import re
from datetime import date

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LAST_DIGITS = 1e-12


def percent(share: float) -> str:
    """A share of 1 in per cent: `62%`; short of certain `>99%` and `<1%`, and never `-0%`.

    Shares that add up to 1 but for the last digit are certain: which way that falls hangs on the processor.
    """
    if 0.995 <= share < 1 - _LAST_DIGITS:
        return ">99%"
    if _LAST_DIGITS < share < 0.005:
        return "<1%"
    said = f"{100 * share:.0f}%"
    return "0%" if said == "-0%" else said


def change(per_cent: float, unit: str = "%") -> str:
    """A change in per cent with its sign: `+36%`, `-2%`; what rounds to nothing is `0%`, never `-0%`."""
    said = f"{per_cent:+.0f}"
    return f"0{unit}" if said in ("+0", "-0") else f"{said}{unit}"


def count(n: int, what: str) -> str:
    """`1 sale`, `3 sales`."""
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def pieces_said(n: int) -> str:
    """`1 piece`, `3 pieces`."""
    return count(n, "piece")


def a_or_an(word: str) -> str:
    """`a` before a dresser and a utility cart, `an` before an armoire."""
    return "an" if _SAID_WITH_AN.match(word) else "a"


_SAID_WITH_AN = re.compile(r"(?!one\b|once\b|eu|u(?:ni|se|su|ti))[aeiou]", re.IGNORECASE)


def day_said(day: date, *, year: bool = True, weekday: bool = False) -> str:
    """A day: `9 Oct 2026`; `9 Oct` without its year, `Fri 9 Oct 2026` with its weekday."""
    named = f"{_DAYS[day.weekday()]} " if weekday else ""
    return f"{named}{day.day} {_MONTHS[day.month - 1]}{f' {day.year}' if year else ''}"
