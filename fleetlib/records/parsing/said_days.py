"""Days as they are said: today, yesterday, 3 days ago, a weekday. One reader for the lines and the forms."""

from __future__ import annotations

import re
from datetime import date, timedelta

from fleetlib.base.settings import WEEKDAYS
from fleetlib.records.parsing.numbers import Cell

_AGO = re.compile(r"(\d{1,3}) days? ago")
_WEEKDAY = re.compile(r"(?:(last|on) )?([a-z]{3,})\.?")


def said_day(text: str, today: date) -> Cell | None:
    """The day that `text` says, as an ISO day in a Cell; None where it says none in this way.

    A weekday, whole or its first letters from three on, is the latest such day before today. Said on that very
    weekday it could be either of two days, and is refused: `today` and `last friday` are each one.
    """
    word = " ".join(text.casefold().split())
    if word in ("today", "yesterday"):
        return _back(today, int(word == "yesterday"))
    if ago := _AGO.fullmatch(word):
        return _back(today, int(ago[1]))
    found = _WEEKDAY.fullmatch(word)
    named = [d for d in WEEKDAYS if found and d.casefold().startswith(found[2])]
    if not found or not named:
        return None
    back = (today.weekday() - WEEKDAYS.index(named[0])) % 7
    if back == 0 and found[1] != "last":
        last = f"last {named[0].casefold()}"
        return Cell(None, f'could be today or a week ago: write "today" or "{last}"', refused=True)
    return _back(today, back or 7)


def _back(today: date, days: int) -> Cell:
    return Cell((today - timedelta(days)).isoformat(), "a day as said")
