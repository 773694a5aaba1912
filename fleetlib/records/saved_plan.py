"""A plan as the advice log keeps it, read once for all who look back at it: its asks, its end, its chances."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np

from fleetlib.records.listing_history import AskSteps


class SavedSteps(NamedTuple):
    """The dated asks of a logged plan, the day it ends (None where the log does not say), and its steps as logged."""

    asks: AskSteps
    ends: date | None
    logged: list[dict[str, Any]]


def saved_steps(text: object) -> SavedSteps | None:
    """Read the steps of a logged plan; None when there are none, or they cannot be read."""
    try:
        steps = json.loads(str(text))
        days = tuple(date.fromisoformat(s["from_date"]) for s in steps)
        prices = tuple(float(s["asking_price"]) for s in steps)
        last = steps[-1].get("by_date")
        ends = date.fromisoformat(last) if last else None
    except (ValueError, TypeError, KeyError, IndexError, AttributeError):
        return None
    if not all(np.isfinite(prices)) or list(days) != sorted(days):
        return None
    return SavedSteps(AskSteps(days, prices), ends, steps)


@dataclass(frozen=True, slots=True)
class SavedPlan:
    """The plan in a line of the advice log: its asks, and the chance sold by the end of each step.

    doubt: standard deviation of the log of its daily chances, from the range it gave; 0 where it gave none.
    """

    asks: AskSteps
    ends: tuple[date, ...]
    chances: tuple[float, ...]
    doubt: float = 0.0

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
        ends = tuple(d + by for d in self.ends)
        return SavedPlan(self.asks.moved(by), ends, self.chances, self.doubt)

    def daily_chance(self, day: date, *, start: date) -> float:
        """The chance that it sells on `day` if it is unsold that morning, the plan running from `start` on."""
        before, after = (
            max(1 - self.chance_by(d, start=start), 1e-9) for d in (day, day + timedelta(days=1))
        )
        return 1 - after / before


def saved_plan(text: object, *, horizon_end: date) -> SavedPlan | None:
    """Read the plan of a logged advice; None when there is none or it cannot be read.

    `horizon_end` ends the last step where the log does not say (`by_date`).
    """
    read = saved_steps(text)
    if read is None:
        return None
    try:
        chances = tuple(float(s["chance_sold"]) for s in read.logged)
    except (ValueError, TypeError, KeyError):
        return None
    if not all(np.isfinite(chances)):
        return None
    days = read.asks.days
    ends = (*days[1:], max(read.ends or horizon_end, days[-1] + timedelta(days=1)))
    return SavedPlan(read.asks, ends, chances, _doubt(read.logged[-1]))


def _doubt(step: dict[str, Any]) -> float:
    """From the range of the last chance given, which holds 8 in 10."""
    try:
        low, high = (-float(np.log1p(-float(step[f"chance_{end}"]))) for end in ("low", "high"))
    except (ValueError, TypeError, KeyError):
        return 0.0
    if not 0 < low <= high < np.inf:
        return 0.0
    return float(np.log(high / low)) / (2 * 1.2816)
