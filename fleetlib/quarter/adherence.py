"""One piece with saved advice: which plan was in force, which markdowns were taken, what leaving it cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.errors import FleetError
from fleetlib.fits import Fits
from fleetlib.plan.case import case_for
from fleetlib.records.listing_history import AskSteps, ListingEvents, events_of_piece, real_asks
from fleetlib.records.piece import piece_from_row
from fleetlib.records.saved_plan import SavedPlan, saved_plan

DAYS_OF_GRACE = 7  # a markdown up to this many days after its date is on time
AS_PLANNED = 0.05  # an ask within this share of the planned one counts as planned


@dataclass(frozen=True, slots=True)
class Judged:
    """One piece's line and its planned markdowns, as in `Hindsight`; `dated` is False where asks are not."""

    row: dict[str, Any]
    markdowns: list[dict[str, Any]]
    dated: bool
    since: date


@dataclass(frozen=True, slots=True)
class _InForce:
    """A saved plan and the days on which it was the latest, `since` to `until`, both included."""

    plan: SavedPlan
    since: date
    until: date


class _Graded(NamedTuple):
    """The days of one piece on which its plan's chance of a sale can be graded.

    days: how many; expected: the daily chances added up; chance: of a sale on one of them; variance: of sold less
    expected, as known beforehand; doubt: what sold less expected is off by when the daily chances are off by one
    standard deviation; last: the last of the days.
    """

    days: int
    expected: float
    variance: float
    doubt: float
    chance: float
    last: date | None


class _Window(NamedTuple):
    """The days looked at, `start` to `end`; the piece was there `until`, and is `gone` if it left within them."""

    start: date
    until: date
    end: date
    gone: bool


def judge(fits: Fits, row: pd.Series, log: pd.DataFrame, start: date, end: date) -> Judged | None:
    """Hold the advice in `log` (one piece, oldest first) against the piece on `row` of flips.

    None for a piece that was not on the market between `start` and `end`, or without a readable plan.
    """
    left = row["sold_on"] if pd.notna(row["sold_on"]) else row["withdrawn_on"]
    gone = bool(pd.notna(left) and left.date() <= end)
    until = left.date() if gone else end
    if pd.isna(row["listed_on"]) or row["listed_on"].date() > end or until < start:
        return None
    plans = _in_force(log, row["listed_on"].date(), until, start, fits.settings.horizon_weeks)
    if not plans:
        return None
    asks = real_asks(row, fits.records.events)
    first = plans[0]
    said = log[log["date"] <= pd.Timestamp(first.since)].iloc[-1]
    sold = gone and pd.notna(row["sold_on"])
    price = float(row["sale_price"]) if sold else float("nan")
    own = events_of_piece(fits.records.events, str(row["piece"]))
    last = end if sold or not gone else until - timedelta(days=1)
    graded = _graded(plans, asks, (row["listed_on"].date(), own), (start, last), sold)
    marks = [] if asks is None else _markdowns(row, plans, asks, _Window(start, until, end, gone))
    cost = float("nan")
    if asks is not None:
        missed = [m["says"] in ("late", "never") for m in marks]
        cost = _cost(fits, row, plans, asks, start) if any(missed) else 0.0
    return Judged(
        row={
            "piece": row["piece"],
            "advised_on": said["date"],
            "outcome": ("sold" if sold else "withdrawn") if gone else "unsold",
            "on": left if gone else pd.NaT,
            "sale_price": price,
            "low": said["low"],
            "high": said["high"],
            "level": said["level"],
            "inside": float(said["low"] <= price <= said["high"])
            if sold and pd.notna(said["low"]) and pd.notna(price)
            else float("nan"),
            "chance_sold": graded.chance,
            "days": graded.days,
            "expected": graded.expected,
            "variance": graded.variance,
            "doubt": graded.doubt,
            "counted": float(sold and graded.last == until),
            "cost": cost,
        },
        markdowns=marks,
        dated=asks is not None,
        since=first.since,
    )


def _graded(
    plans: list[_InForce],
    asks: AskSteps | None,
    listing: tuple[date, ListingEvents],
    days_between: tuple[date, date],
    sold: bool,
) -> _Graded:
    """What the plans in force promised of the days it was up, unsold, and asked as planned.

    Day by day: whether it sells on a day, given that it is unsold that morning, is all a plan says of that day,
    so pieces withdrawn, sold before, planned anew or asked otherwise need no guess about what might have been
    (the expected number is the compensator of the count of sales: Aalen, Borgan and Gjessing 2008, chapter 2). The
    variance is its expected value at the outset, for a piece `sold` up to the end of its last plan's days: one
    taken from what happened would be small just where many sold early.
    """
    listed, own = listing
    days, expected, variance, doubt, last = 0, 0.0, 0.0, 0.0, None
    stays, gone = 1.0, 0.0
    for force in plans:
        first, end = max(days_between[0], force.since), days_between[1]
        if force.until < end and not (force is plans[-1] and sold):
            end = force.until
        for day in (first + timedelta(days=k) for k in range((end - first).days + 1)):
            there = day <= force.until
            planned = force.plan.asks.on(day)
            off = asks is not None and abs(np.log(asks.on(day) / planned)) > AS_PLANNED
            if there and (off or own.is_off_market(listed, day)):
                continue
            chance = force.plan.daily_chance(day, start=force.since)
            variance += stays * chance * (1 - chance)
            doubt += stays * chance * force.plan.doubt
            stays *= 1 - chance
            if there:
                days, last, expected, gone = days + 1, day, expected + chance, 1 - stays
    return _Graded(days, expected, variance, doubt, gone, last)


def _in_force(
    log: pd.DataFrame, listed: date, until: date, start: date, horizon_weeks: int
) -> list[_InForce]:
    """The readable plans that counted: the last one saved by `start` (or the first after) and all later ones.

    A plan made before the piece was listed runs from the day it was listed.
    """
    found: list[tuple[date, SavedPlan]] = []
    for on, text in zip(log["date"], log["plan"], strict=True):
        saved = on.date()
        plan = saved_plan(text, horizon_end=saved + timedelta(weeks=horizon_weeks))
        if plan is None or saved > until:
            continue
        since = max(saved, listed)
        found = [f for f in found if f[0] < since]  # of several on one day the last counts
        found.append((since, plan.moved(since - saved)))
    before = [f for f in found if f[0] <= start]
    found = found[len(before) - 1 :] if before else found
    ends = [f[0] - timedelta(days=1) for f in found[1:]] + [until]
    return [_InForce(p, s, e) for (s, p), e in zip(found, ends, strict=True)]


def _markdowns(
    row: pd.Series,
    plans: list[_InForce],
    asks: AskSteps,
    window: _Window,
) -> list[dict[str, Any]]:
    start, until, end, gone = window
    made: list[dict[str, Any]] = []
    for force in plans:
        made = _not_planned_anew(made, force.since)
        late = [m["planned_price"] for m in made if m["says"] in ("late", "never")]
        late = [p for p in late if asks.on(force.since) > p]
        steps = zip(force.plan.asks.days[1:], force.plan.asks.prices[1:], strict=True)
        for day, price in steps:
            if not start <= day <= end or not force.since <= day:
                continue
            if late and price >= min(late):
                continue  # the markdown that is late already, planned anew: counted once
            if day > force.until and until != force.until:
                continue  # a later plan had taken its place
            taken = asks.first_at_most(price, since=force.since, until=until)
            says = _says(day, taken, until, gone=gone)
            made.append(
                {
                    "piece": row["piece"],
                    "planned_on": day,
                    "planned_price": price,
                    "asked_on": taken if taken is not None else pd.NaT,
                    "asked_price": asks.on(min(day, until)),
                    "days_late": float((taken - day).days)
                    if says == "late" and taken
                    else float("nan"),
                    "says": says,
                }
            )
    return made


def _not_planned_anew(made: list[dict[str, Any]], since: date) -> list[dict[str, Any]]:
    """`made` without what a plan of the day `since` took the place of before it was late."""

    def stands(mark: dict[str, Any]) -> bool:
        taken = mark["asked_on"]
        if not pd.isna(taken) and taken < since:
            return True
        return bool(since > mark["planned_on"] + timedelta(days=DAYS_OF_GRACE))

    return [m for m in made if stands(m)]


def _says(day: date, taken: date | None, until: date, *, gone: bool) -> str:
    grace = day + timedelta(days=DAYS_OF_GRACE)
    if taken is not None and taken <= grace:
        return "on time"
    if gone and until <= grace:
        return "not needed"
    if taken is not None:
        return "late"
    return "due now" if until < grace else "never"


def _cost(fits: Fits, row: pd.Series, plans: list[_InForce], asks: AskSteps, start: date) -> float:
    """What not keeping to the plans from `start` on cost in expectation, money, over the plans in force."""
    total = 0.0
    for force in plans:
        try:
            case = case_for(fits, piece_from_row(row), force.since)
        except FleetError:
            return float("nan")
        kept, left = (
            case.worth(_real_then_planned(case.dates[:-1], force.plan.asks, asks, since))
            for since in (max(start, force.since), force.until + timedelta(days=1))
        )
        total += kept.expected_net - left.expected_net
    return float(total)


def _real_then_planned(
    begins: tuple[date, ...], planned: AskSteps, real: AskSteps, since: date
) -> np.ndarray:
    """The ask of each period: the real one before `since`, then the plan, never back up."""
    before = real.on(since - timedelta(days=1)) if any(d < since for d in begins) else np.inf
    return np.array([real.on(d) if d < since else min(before, planned.on(d)) for d in begins])
