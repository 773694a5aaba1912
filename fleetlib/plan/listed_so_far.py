"""What has happened to a piece since it was listed: days on the market, prices tried, offers, enquiries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.records.piece import Piece
from fleetlib.selling.hazard import Hazard

OPEN_OFFER_DAYS = 7  # an offer older than this is taken to be gone


@dataclass(frozen=True, eq=False, slots=True)
class ListedSoFar:
    """One listing as it stands on a day.

    days        days on the market so far, days taken down not counted
    asks        the prices tried, first to last, in money; `since` (same length) the day on the market from
                which each was asked
    markdowns   how many times the ask came down
    last_change the day of the last change of the ask (the listing day if none)
    paused      it is off the market on that day
    offer       the latest offer of the last 7 days, money, with its day; or None
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

    def log_exposure(self, hazard: Hazard) -> float:
        """log X of the days gone by unsold at the prices tried (see plan/solver/value.py)."""
        if self.days <= 0:
            return -np.inf
        days = np.append(np.minimum(self.since, self.days), self.days).astype(float)
        used = np.diff(days) > 0
        if not used.any():
            return -np.inf
        rates = hazard.log_rate(np.array(self.asks)[used])
        edges = days[np.append(used, True)]
        return float(np.logaddexp.reduce(rates + hazard.log_stretch(edges)))


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
    every = _own_events(piece, events)
    own = [e for e in every if e[0] <= as_of]
    away, paused = _days_away(own, listed)
    every_price = [
        (day, amount)
        for day, event, amount in every
        if event in ("asking_price", "relisted") and amount > 0
    ]
    priced = [(day, amount) for day, amount in every_price if day <= as_of]
    changes = [(day, amount) for day, amount in priced if day >= listed]
    undated_start = piece.listed_on is None and bool(priced)
    first = priced[-1][1] if undated_start else piece.asking_price
    first = first or (changes[0][1] if changes else None)
    first = first or piece.last_asking_price
    if first is None:
        return None
    days = max((as_of - listed).days - away(as_of), 0)
    asks, since, last_change = [float(first)], [0], listed
    for day, amount in changes:
        if not np.isclose(amount, asks[-1]):
            asks.append(float(amount))
            since.append(max((day - listed).days - away(day), 0))
            last_change = day
    # With a dated change, on that day or later, the undated last ask says nothing about what went before.
    dated = bool(changes) or undated_start or len(every_price) > len(priced)
    last = None if dated else piece.last_asking_price
    fell = int((np.diff(asks) < 0).sum())
    if last is not None and not np.isclose(last, first):
        weeks = max(days // 7, 1)
        asks = [float(first * (last / first) ** (k / weeks)) for k in range(weeks + 1)]
        since = [min(7 * k, days) for k in range(weeks + 1)]
        asks[-1] = float(last)
        last_change = as_of - timedelta(days=days - since[-1])
        fell = int(last < first)
    offers = [(day, amount) for day, event, amount in own if event == "offer"]
    fresh = [o for o in offers if (as_of - o[0]).days <= OPEN_OFFER_DAYS and o[1] > 0]
    return ListedSoFar(
        listed_on=listed,
        days=days,
        asks=tuple(asks),
        since=tuple(since),
        markdowns=fell,
        last_change=last_change,
        paused=paused,
        offer=fresh[-1] if fresh else None,
        enquiries=sum(event == "enquiry" for _, event, _ in own),
        offers=len(offers),
    )


def _own_events(piece: Piece, events: pd.DataFrame | None) -> list[tuple[date, str, float]]:
    """All events of the piece, before and after the day in question, by day."""
    if events is None or not len(events) or not piece.piece:
        return []
    same = events["piece"].astype(str).str.casefold() == piece.piece.casefold()
    mine = events[same & events["on"].notna()].sort_values("on", kind="stable")
    return [
        (pd.Timestamp(on).date(), str(event), float(amount) if amount == amount else 0.0)
        for on, event, amount in zip(mine["on"], mine["event"], mine["amount"], strict=True)
    ]


def _days_away(own: list[tuple[date, str, float]], listed: date) -> tuple[Any, bool]:
    """A function giving the days off the market up to a day, and whether it is off the market now."""
    gone: list[tuple[date, date | None]] = []
    off: date | None = None
    for day, event, _ in own:
        if day < listed:
            continue
        if event in ("paused", "withdrawn") and off is None:
            off = day
        elif event == "relisted" and off is not None:
            gone.append((off, day))
            off = None
    if off is not None:
        gone.append((off, None))

    def away(day: date) -> int:
        return sum(max((min(b or day, day) - a).days, 0) for a, b in gone if a < day)

    return away, off is not None
