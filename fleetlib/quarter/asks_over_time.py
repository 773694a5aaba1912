"""The asking price in force on any day: as a saved plan wanted it, and as it really was."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd


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
        if self.on(since) <= price + 0.005:
            return since
        for day, ask in zip(self.days, self.prices, strict=True):
            if since < day <= until and ask <= price + 0.005:
                return day
        return None

    def moved(self, by: timedelta) -> AskSteps:
        """The same steps, later by `by`."""
        return AskSteps(tuple(d + by for d in self.days), self.prices)


@dataclass(frozen=True, slots=True)
class SavedPlan:
    """The plan in a line of the advice log: its asks, and the chance sold by the end of each step."""

    asks: AskSteps
    ends: tuple[date, ...]
    chances: tuple[float, ...]

    def chance_by(self, day: date, *, start: date) -> float:
        """The chance that it is sold by `day`, from `start` on; even in log of the chance unsold in between."""
        known = [(start, 0.0), *zip(self.ends, self.chances, strict=True)]
        if day >= known[-1][0]:
            return float(known[-1][1])
        at = [float((d - start).days) for d, _ in known]
        left = [float(np.log(max(1 - c, 1e-9))) for _, c in known]
        return float(abs(np.expm1(np.interp((day - start).days, at, left))))

    def moved(self, by: timedelta) -> SavedPlan:
        """The same plan, later by `by`."""
        return SavedPlan(self.asks.moved(by), tuple(d + by for d in self.ends), self.chances)


def saved_plan(text: object, *, horizon_end: date) -> SavedPlan | None:
    """Read the plan of a logged advice; None when there is none or it cannot be read.

    `horizon_end` ends the last step where the log does not say (`by_date`).
    """
    try:
        steps = json.loads(str(text))
        days = tuple(date.fromisoformat(s["from_date"]) for s in steps)
        prices = tuple(float(s["asking_price"]) for s in steps)
        chances = tuple(float(s["chance_sold"]) for s in steps)
        last = steps[-1].get("by_date")
        end = date.fromisoformat(last) if last else horizon_end
    except (ValueError, TypeError, KeyError, IndexError, AttributeError):
        return None
    if not all(np.isfinite([*prices, *chances])) or list(days) != sorted(days):
        return None
    ends = (*days[1:], max(end, days[-1] + timedelta(days=1)))
    return SavedPlan(AskSteps(days, prices), ends, chances)


def real_asks(row: pd.Series, events: pd.DataFrame) -> AskSteps | None:
    """What was really asked for the piece on `row` of flips, from the day it was listed.

    None where it was never listed or its changes are not dated (only a first and a last price on record).
    """
    if pd.isna(row["listed_on"]):
        return None
    listed = row["listed_on"].date()
    mine = events["piece"].str.casefold() == str(row["piece"]).casefold()
    asked = events[
        mine & events["event"].isin(["asking_price", "relisted"]) & (events["amount"] > 0)
    ]
    steps = {listed: float(row["asking_price"])} if pd.notna(row["asking_price"]) else {}
    for on, amount in zip(asked["on"], asked["amount"], strict=True):
        steps[max(on.date(), listed)] = float(amount)
    if not steps:
        return None
    last = row["last_asking_price"]
    if len(asked) == 0 and pd.notna(last) and abs(last - row["asking_price"]) > 0.005:
        return None
    days = sorted(steps)
    return AskSteps(tuple(days), tuple(steps[d] for d in days))
