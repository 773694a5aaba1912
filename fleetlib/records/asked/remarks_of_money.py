"""Amounts that a remark tells of: a price that came down, delivery paid, a second sale, a deposit.

As with other remarks nothing is used until it is answered. Each is filed under the column that the answer fills.
Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.said import day_said
from fleetlib.base.settings import Settings
from fleetlib.records.asked.cells import RIGHT
from fleetlib.records.asked.question import Option
from fleetlib.records.parsing.amounts import read_money
from fleetlib.records.parsing.dates import MONTHS
from fleetlib.records.parsing.near_days import day_in
from fleetlib.records.parsing.numbers import plain, shown

_UNITS = r"%|/|inch|hours|miles?|grit|(?:x|cm|mm|ft|h|hrs?|days?|weeks?|months?|km|st|nd|rd|th|in(?! [a-z]))\b"
_A = rf"(?<![\d/.,])[$€£]? ?\d(?:[\d.,']*\d)?(?![\d.,']*\d| ?(?:{_UNITS}))(?: ?[$€£])?"
# The day behind an amount: 6/4, Jan, 4 March, March 4th.
_BY_NAME = rf"(?:\d\d? )?\b(?:{MONTHS})\b\.?(?: \d\d?(?:st|nd|rd|th)?\b)?"
_WHEN = rf"(?: (?:(?:on|in|from|since) )?(?:\d\d?/\d\d?(?:/\d{{2,4}})?|{_BY_NAME}))"
_CUT = re.compile(
    r"\b(?:dropped|drop|reduced|lowered|price (?:cut|drop)|(?<!sanded )(?<!stripped )(?<!planed )down|(?:now|re)"
    r" ?(?:asking|listed (?:at|for))|asking now|baissée?s?|baisses?|descendu|reduziert|gesenkt|runter)\b"
    rf"(?P<gap>[^\d$€£]{{0,24}}?)(?:from {_A},? (?:to )?)?"
    rf"(?P<all>{_A}(?:{_WHEN}?(?:,? (?:and|then|puis|et|und|dann)|,) ?(?:to )?{_A})*)"
)
_BY = re.compile(
    r" ?(?:(?:it|price) ?)?(?:by ?)?"
)  # between "dropped" and how much, where it says no "to"
_HOW_OFTEN = {
    "twice": 2,
    "two times": 2,
    "three times": 3,
    "3 times": 3,
    "2 times": 2,
    "3x": 3,
    "2x": 2,
}
_TIMES = re.compile(rf" ?({'|'.join(_HOW_OFTEN)})\b")
_ONCE = re.compile(
    rf"\b(?:was|were|started (?:at|out at)|start(?:ed)? price|first asked|originally|vorher|war|avant)\b:? (?P<a>{_A})"
)
_NO_CUT = re.compile(r"\b(?:off|by|paid|pays|deposit|for|miles|away|rest|hold)\b")
_DELIVERY = r"(?:deliver\w*|shipping|petrol|gas money|livraison|livrée?|lieferung|geliefert|haul\w*|drop ?off)"
_DELIVERED = (
    re.compile(rf"\b{_DELIVERY}\b[^\d.;]{{0,16}}?(?P<amount>{_A})"),
    re.compile(rf"(?P<amount>{_A})[^\d.;]{{0,10}}?\b{_DELIVERY}\b"),
)
_WITHIN = re.compile(r"\bincl|\bof that\b|\bcompris|\binbegriffen|\binklusive|\bpart of\b")
_DAY = r"(?P<{}>\d\d?[/.-]\d\d?|\d\d? [a-z]{{3,9}}|[a-z]{{3,9}} \d\d?)"
_AGAIN = re.compile(
    r"\b(?:re-?sold(?: it| them)?|sold (?:it |them )?(?:again|to (?:a |the |my )?second buyer))(?: on)?"
    rf"(?: {_DAY.format('before')})?,?(?: for| at)? (?P<amount>{_A})"
    rf"(?:,? on {_DAY.format('after')})?"
)
_DEPOSIT = re.compile(
    rf"\b(?:put|paid|left|gave|took) (?P<a>{_A}) down\b|(?P<b>{_A}) (?:deposit|down\b|to hold|acompte|anzahlung)"
    rf"|\b(?:deposit|acompte|anzahlung)(?: of| paid:?| von| de)? (?P<c>{_A})"
)
_FIGURE = re.compile(r"\d")
_SECOND = re.compile(r"(\d+(?:\.\d+)?)(?: on (\d{4}-\d\d-\d\d))?")


class Told(NamedTuple):
    """What a remark may tell: the column that an answer fills, what is asked, the answers, what else may be typed."""

    column: str
    said: str
    options: tuple[Option, ...]
    free: str = ""


def told_of(row: Mapping[Any, Any], settings: Settings, as_of: date) -> Iterator[Told]:
    """The prices that the note of a row may tell of and the row does not."""
    if not _FIGURE.search(plain(str(row["notes"]))):
        return
    cuts = cuts_told(row, settings)
    if cuts:
        first = f"yes: {cuts[0]} is the last price you asked"
        more = tuple(Option(f"no, {c} is", c) for c in cuts[1:])
        none = Option(
            "neither: no price of yours" if more else "no, it is no price of yours", RIGHT
        )
        yield Told(
            "last_asking_price",
            "Did your price come down?",
            (Option(first, cuts[0]), *more, none),
            "the last price you asked",
        )
    once = _asked_once(row, settings)
    if once:
        asked = shown(float(row["asking_price"]))
        yield Told(
            "asking_price",
            "Did you ask that at first?",
            (
                Option(f"yes: first {once}, then {asked}", once),
                Option("no, it is no price of yours", RIGHT),
            ),
            "the first price you asked",
        )
    delivery, price = _delivery(row, settings), row["sale_price"]
    if delivery:
        left, within = f"{price - float(delivery):g}", _WITHIN.search(plain(str(row["notes"])))
        top = Option(f"{delivery} was paid on top of {price:g}", delivery)
        inside = Option(f"it is within the {price:g}: {left} for the piece", f"{delivery} within")
        none = Option("neither", RIGHT)
        both = (inside, top) if within else (top, inside)
        yield Told("delivery_charged", "Did the buyer pay for delivery?", (*both, none))
    again = second_sale(row, settings, as_of)
    if again:
        none = Option("nothing of that: it is sold, as the row says", RIGHT)
        yield Told("notes", "Is the second sale the one that counts?", (*again, none))


def cuts_told(row: Mapping[Any, Any], settings: Settings) -> list[str]:
    """The prices below the first one that a note says were asked later, the last first; none that the row holds."""
    asked, last, got = (
        _number(row[c]) for c in ("asking_price", "last_asking_price", "sale_price")
    )
    found: list[float] = []
    down_by: list[float] = []
    note = plain(str(row["notes"]))
    for match in _CUT.finditer(note):
        amounts = _amounts(re.sub(_WHEN, "", match["all"]), settings)
        if not _NO_CUT.search(match["gap"]):
            found += amounts
        if asked is not None and _BY.fullmatch(match["gap"]) and max(amounts) <= 0.2 * asked:
            twice = _TIMES.match(note, match.end())
            down_by += amounts * (_HOW_OFTEN[twice[1]] if twice else 1)
    if asked is not None and down_by:
        found.append(asked - sum(down_by))  # "dropped 10 then 10 more", "dropped 25 twice"
    lower = [
        a for a in found if asked is None or 0.2 * asked < a < asked
    ]  # far below is no price of it
    if (
        not lower
        or last in lower
        or (set(lower) == {got} and not down_by)
        or (last is not None and last < min(lower))
    ):
        return []
    return list(dict.fromkeys(shown(a) for a in reversed(lower)))


def _asked_once(row: Mapping[Any, Any], settings: Settings) -> str:
    """The price above the only one of a row that a note says it was asked at before; "" for none."""
    asked = _number(row["asking_price"])
    if asked is None or _number(row["last_asking_price"]) is not None:
        return ""
    typed = [m["a"] for m in _ONCE.finditer(plain(str(row["notes"])))]
    above = [a for t in typed for a in _amounts(t, settings) if asked < a <= _MOST_OFF * asked]
    return shown(max(above)) if above else ""


_MOST_OFF = 3.0  # times the ask: more was paid for it when new, or is a year


def _delivery(row: Mapping[Any, Any], settings: Settings) -> str:
    """What a note says of delivery for a piece that was sold, where the row says nothing of it; "" for nothing."""
    price = _number(row["sale_price"])
    if price is None or _number(row["delivery_charged"]) is not None:
        return ""
    note = plain(str(row["notes"]))
    match = next((m for p in _DELIVERED if (m := p.search(note))), None)
    amounts = _amounts(match["amount"], settings) if match else []
    return shown(amounts[0]) if amounts and 0 < amounts[0] < price else ""


def second_sale(row: Mapping[Any, Any], settings: Settings, as_of: date) -> tuple[Option, ...]:
    """The sale that a note names after the one of the row: its price, and each day that it may have been on."""
    note, first = plain(str(row["notes"])), row["sold_on"]
    match = _AGAIN.search(note)
    amounts = _amounts(match["amount"], settings) if match else []
    if not match or not amounts or pd.isna(first):
        return ()
    start = date.fromisoformat(str(first)[:10])
    typed, days = match["before"] or match["after"] or "", set[date]()
    orders = (settings.date_order,) if settings.date_order else ("month first", "day first")
    for order in orders if typed else ():
        both = [day_in(typed, str(start.year + k), order=order, as_of=as_of) for k in (0, 1)]
        days.update([d for d in both if d and d >= start][:1])
    amount = shown(amounts[0])
    if not days:
        return (Option(f"yes: sold again for {amount}, on a day not known", amount),)
    return tuple(
        Option(f"yes: sold again for {amount} on {day_said(d)}", f"{amount} on {d}")
        for d in sorted(days)
    )


def second_sale_answered(meaning: str) -> tuple[float, np.datetime64] | None:
    """The price and the day ("not a time" where not known) of a second sale, by what was answered."""
    match = _SECOND.fullmatch(meaning.strip())
    return (float(match[1]), np.datetime64(match[2] or "NaT", "ns")) if match else None


def deposits_not_logged(flips: pd.DataFrame, logged: pd.DataFrame, settings: Settings) -> list[str]:
    """A note on the pieces on hand whose remark tells of a deposit that the log does not hold; at most one."""
    held = set(logged.loc[logged["event"].eq("deposit"), "piece"].astype(str).str.casefold())
    rows = flips[flips["notes"].notna() & ~flips["status"].isin(["sold", "withdrawn"])]
    found = []
    for line, piece, note in rows[["line", "piece", "notes"]].itertuples(index=False, name=None):
        match = _DEPOSIT.search(plain(str(note)))
        amounts = _amounts(next(g for g in match.groups() if g), settings) if match else []
        if amounts and str(piece).casefold() not in held:
            found.append((line, piece, note, shown(amounts[0])))
    if not found:
        return []
    said = "; ".join(f'line {line}, {piece}: "{note}"' for line, piece, note, _ in found[:_MOST])
    more = f"; and {len(found) - _MOST} more" if len(found) > _MOST else ""
    _, piece, _, amount = found[0]
    return [
        f"Notes that tell of a deposit on a piece on hand, which counts for nothing until it is logged ({said}{more}): "
        f'fleetlib log "deposit {piece} {amount}"'
    ]


_MOST = 4


def _amounts(text: str, settings: Settings) -> list[float]:
    typed = [m.group().strip() for m in re.finditer(_A, text)]
    cells = read_money(typed, currency=settings.currency) if typed else []
    return [float(c.value) for c in cells if c.value and not c.refused]


def _number(value: Any) -> float | None:
    return None if value is None or value != value else float(value)
