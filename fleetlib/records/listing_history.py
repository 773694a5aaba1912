"""One piece's time on the market, from its dated events: the days it was up, what was asked, who came.

Every room that needs a listing's history takes it from here: the selling time learns from it, the plan starts
from it, the review holds a saved plan against it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.records.piece import Piece
from fleetlib.records.rows_by_name import once_of

OPEN_OFFER_DAYS = 7  # an offer older than this is taken to be gone
_CENT = 0.005
_SETS_A_PRICE = ("asking_price", "relisted")
_OFF, _ON = ("paused", "withdrawn"), "relisted"

Dated = tuple[tuple[date, float], ...]


@dataclass(frozen=True, slots=True)
class AskSteps:
    """Asking prices from dated days on: `days` ascending, `prices` in money, same length, at least one."""

    days: tuple[date, ...]
    prices: tuple[float, ...]

    def on(self, day: date) -> float:
        """The ask in force on `day`; before the first day, the first one."""
        held = [p for d, p in zip(self.days, self.prices, strict=True) if d <= day]
        return held[-1] if held else self.prices[0]

    def first_at_most(self, price: float, *, since: date, until: date) -> date | None:
        """The first day from `since` to `until` on which the ask was at most `price` (within a cent)."""
        if self.on(since) <= price + _CENT:
            return since
        for day, ask in zip(self.days, self.prices, strict=True):
            if since < day <= until and ask <= price + _CENT:
                return day
        return None

    def moved(self, by: timedelta) -> AskSteps:
        """The same steps, later by `by`."""
        return AskSteps(tuple(d + by for d in self.days), self.prices)


@dataclass(frozen=True, slots=True)
class ListingEvents:
    """The dated events of one piece that tell of its listing, each by day.

    prices: asks above nothing; marks: (day, it went off the market), False where it came back; offers: with 0
    where the amount is not known; enquiries: their days; refusals: each day an offer was refused, and how many
    offers stood in the log before it.
    """

    prices: Dated = ()
    marks: tuple[tuple[date, bool], ...] = ()
    offers: Dated = ()
    enquiries: tuple[date, ...] = ()
    refusals: tuple[tuple[date, int], ...] = ()

    def until(self, day: date) -> ListingEvents:
        """What was known on `day`."""
        return ListingEvents(
            tuple(p for p in self.prices if p[0] <= day),
            tuple(m for m in self.marks if m[0] <= day),
            tuple(o for o in self.offers if o[0] <= day),
            tuple(e for e in self.enquiries if e <= day),
            tuple(r for r in self.refusals if r[0] <= day),
        )

    def is_off_market(self, listed: date, day: date) -> bool:
        """It is taken down on `day`, having been listed on `listed`."""
        since = [off for on, off in self.marks if listed <= on <= day]
        return bool(since and since[-1])

    def days_on_market(self, listed: date, day: date) -> int:
        """Days from the first listing to `day`, without the days it was taken down between; never under 0."""
        off_since, away = None, 0
        for on, off in (*self.marks, (day, False)):
            if on < listed or on > day:
                continue
            if off and off_since is None:
                off_since = on
            elif not off and off_since is not None:
                away += (on - off_since).days
                off_since = None
        return max((day - listed).days - away, 0)

    def asks(self, listed: date, first: float | None) -> AskSteps | None:
        """The asks from `listed` on; None where no price is known.

        `first` is the first asking price on record. Without one the first dated price counts from the listing
        day; a price dated before the listing says nothing where there is a first one. The last of a day counts.
        """
        if first is None:
            later = [amount for day, amount in self.prices if day >= listed]
            first = later[0] if later else self.prices[-1][1] if self.prices else None
        if first is None:
            return None
        steps = {listed: float(first)}
        steps |= {day: amount for day, amount in self.prices if day >= listed}
        return AskSteps(tuple(steps), tuple(steps.values()))


def listing_events(events: pd.DataFrame | None) -> dict[str, ListingEvents]:
    """The events of each piece, by its name in small letters; events without a day tell nothing."""
    found: dict[str, list[tuple[date, str, float]]] = {}
    if events is not None and len(events):
        known = events[events["on"].notna()].sort_values("on", kind="stable")
        columns = (known[c] for c in ("on", "piece", "event", "amount"))
        for on, piece, event, amount in zip(*columns, strict=True):
            row = (on.date(), str(event), float(amount) if amount == amount else 0.0)
            found.setdefault(str(piece).casefold(), []).append(row)
    return {piece: _sorted_out(rows) for piece, rows in found.items()}


def events_of_piece(events: pd.DataFrame | None, name: str | None) -> ListingEvents:
    """The events of the piece called `name`, whatever the case."""
    if events is None or not len(events) or not name:
        return ListingEvents()
    return once_of(events, listing_events).get(name.casefold(), ListingEvents())


def _sorted_out(rows: list[tuple[date, str, float]]) -> ListingEvents:
    return ListingEvents(
        prices=tuple((day, a) for day, event, a in rows if event in _SETS_A_PRICE and a > 0),
        marks=tuple((day, event in _OFF) for day, event, _ in rows if event in (*_OFF, _ON)),
        offers=tuple((day, a) for day, event, a in rows if event == "offer"),
        enquiries=tuple(day for day, event, _ in rows if event == "enquiry"),
        refusals=tuple(
            (day, sum(event == "offer" for _, event, _ in rows[:k]))
            for k, (day, event, _) in enumerate(rows)
            if event == "offer_refused"
        ),
    )


def real_asks(row: pd.Series | Mapping[str, Any], events: pd.DataFrame | None) -> AskSteps | None:
    """What was really asked for the piece on `row` of flips, from the day it was listed.

    None where it was never listed or its changes are not dated (only a first and a last price on record).
    """
    if pd.isna(row["listed_on"]):
        return None
    own = events_of_piece(events, str(row["piece"]))
    first, last = row["asking_price"], row["last_asking_price"]
    if not own.prices and pd.notna(last) and abs(last - first) > _CENT:
        return None
    return own.asks(row["listed_on"].date(), None if pd.isna(first) else float(first))


@dataclass(frozen=True, eq=False, slots=True)
class ListedSoFar:
    """One listing as it stands on a day.

    days        days on the market so far, days taken down not counted
    asks        the prices tried, first to last, in money; `since` (same length) the day on the market from
                which each was asked
    markdowns   how many times the ask came down
    last_change the day of the last change of the ask (the listing day if none)
    paused      it is off the market on that day
    offer       the latest offer of the last 7 days that was not refused, money, with its day; or None
    enquiries   how many enquiries are logged, `offers` how many offers
    """

    listed_on: date
    days: int
    asks: tuple[float, ...]
    since: tuple[int, ...]
    markdowns: int
    last_change: date
    paused: bool
    offer: tuple[date, float] | None
    enquiries: int
    offers: int

    @property
    def ask(self) -> float:
        """The ask now in force."""
        return self.asks[-1]


def listed_so_far(piece: Piece, events: pd.DataFrame | None, as_of: date) -> ListedSoFar | None:
    """The listing of `piece` as it stands on `as_of`; None for a piece not listed by then.

    Dated changes of the ask come from the events. Without any, an ask that went from a first to a last
    price is taken to have come down in equal per-cent steps, a week each. A piece that is asked for but has no
    listing day counts as listed on `as_of`: its ask is known to buyers, how long it sat is not.
    """
    listed = piece.listed_on
    if listed is None and (piece.asking_price or piece.last_asking_price):
        listed = as_of
    if listed is None or listed > as_of:
        return None
    every = events_of_piece(events, piece.piece)
    own = every.until(as_of)
    days = own.days_on_market(listed, as_of)
    tried = _undated(piece, listed, every, as_of, days) or _dated(piece, listed, own)
    if tried is None:
        return None
    asks, since, last_change, fell = tried
    answered = max((before for _, before in own.refusals), default=0)
    fresh = [
        o for o in own.offers[answered:] if (as_of - o[0]).days <= OPEN_OFFER_DAYS and o[1] > 0
    ]
    return ListedSoFar(
        listed_on=listed,
        days=days,
        asks=asks,
        since=since,
        markdowns=fell,
        last_change=last_change,
        paused=own.is_off_market(listed, as_of),
        offer=fresh[-1] if fresh else None,
        enquiries=len(own.enquiries),
        offers=len(own.offers),
    )


# The prices tried, the day on the market from which each was, the day of the last change, the markdowns.
_Tried = tuple[tuple[float, ...], tuple[int, ...], date, int]


def _dated(piece: Piece, listed: date, own: ListingEvents) -> _Tried | None:
    """The asks by their dated changes; a first price alone counts from the listing on."""
    first = piece.asking_price or piece.last_asking_price
    if piece.listed_on is None and own.prices:
        first = own.prices[-1][1]
    elif piece.asking_price is None and any(day >= listed for day, _ in own.prices):
        first = None
    steps = own.asks(listed, first)
    if steps is None:
        return None
    asks, since, last_change = [steps.prices[0]], [0], listed
    for day, amount in zip(steps.days[1:], steps.prices[1:], strict=True):
        if not np.isclose(amount, asks[-1]):
            asks.append(amount)
            since.append(own.days_on_market(listed, day))
            last_change = day
    return tuple(asks), tuple(since), last_change, int((np.diff(asks) < 0).sum())


def _undated(
    piece: Piece, listed: date, every: ListingEvents, as_of: date, days: int
) -> _Tried | None:
    """The asks of a piece with a first and a last price and no dated change; None for any other.

    With a dated change, on that day or later, the undated last ask says nothing about what went before.
    """
    first, last = piece.asking_price, piece.last_asking_price
    if piece.listed_on is None and any(day <= as_of for day, _ in every.prices):
        return None
    if any(day >= listed for day, _ in every.prices):
        return None
    if not first or last is None or np.isclose(last, first):
        return None
    weeks = max(days // 7, 1)
    asks = [float(first * (last / first) ** (k / weeks)) for k in range(weeks)]
    since = tuple(min(7 * k, days) for k in range(weeks + 1))
    changed = as_of - timedelta(days=days - since[-1])
    return (*asks, float(last)), since, changed, int(last < first)
