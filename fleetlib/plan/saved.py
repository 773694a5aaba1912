"""A saved plan is kept: it changes only for one that is better by more than the doubt (and a hundredth), saying why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.plan.case import Case
from fleetlib.plan.solver.path import PricePath
from fleetlib.records.listing_history import AskSteps
from fleetlib.records.rows_by_name import rows_named
from fleetlib.records.saved_plan import saved_steps

if TYPE_CHECKING:
    from fleetlib.fits import Fits


WORTH_CHANGING = 0.01  # of the expected net: for less a plan is not changed, however sure (our own line, no source)


@dataclass(frozen=True, slots=True)
class Saved:
    """The plan last saved for a piece: the day, its dated asks, and the day it ends."""

    on: date
    steps: AskSteps
    ends: date

    @property
    def asks(self) -> tuple[float, ...]:
        """Its asks in order, in money."""
        return self.steps.prices

    def from_day(self, begin: date) -> Saved:
        """The same plan, begun on `begin` where it would have begun before; saved when it was."""
        by = max(begin - self.steps.days[0], timedelta())
        return Saved(self.on, self.steps.moved(by), self.ends + by)


def last_saved(log: pd.DataFrame | None, piece: str | None, as_of: date) -> Saved | None:
    """The plan of the last advice saved for `piece` by `as_of`; None without any that can be read."""
    if log is None or not len(log) or not piece or "plan" not in log:
        return None
    mine = log.iloc[rows_named(log, piece)]
    mine = mine[pd.to_datetime(mine["date"]) <= pd.Timestamp(as_of)]
    for row in mine.sort_values("date", kind="stable").iloc[::-1].itertuples():
        read = saved_steps(row.plan)
        if read is not None and read.ends is not None and min(read.asks.prices) > 0:
            return Saved(pd.Timestamp(str(row.date)).date(), read.asks, read.ends)
    return None


def kept_or_changed(fits: Fits, case: Case, path: PricePath) -> tuple[PricePath, tuple[str, ...]]:
    """The rest of the saved plan, unless `path` brings more by more than its doubt; with the sentence to say.

    A plan saved before the listing begins on the day of listing, or today for a piece not listed yet. `path` and no
    sentence where nothing is saved, or its end has come.
    """
    saved = last_saved(fits.records.advice_log, case.piece.piece, case.as_of)
    if saved is None:
        return path, ()
    saved = saved.from_day(case.as_of if case.so_far is None else case.so_far.listed_on)
    asks = _rest(case, saved)
    if not len(asks):
        return path, ()
    kept = case.as_path(asks)
    if np.array_equal(kept.prices, path.prices):
        return path, ()
    gain, doubt = case.gain_and_doubt(path, kept)
    sure = (
        "" if len(case.draws) < 2 else f", and that is unsure by {_money(case, doubt)} either way"
    )
    if gain <= max(doubt, WORTH_CHANGING * abs(kept.expected_net)):
        return kept, (
            f"This is the plan saved on {day_said(saved.on)}, kept: planned anew today it would bring about "
            f"{_money(case, max(gain, 0.0))} more{sure}.",
        )
    was = _money(case, saved.steps.on(case.as_of))
    return path, (
        f"Changed from the plan saved on {day_said(saved.on)} ({was} now): this one is expected to bring "
        f"{_money(case, gain)} more{sure}. What is new: {_what_is_new(fits, case, saved)}.",
    )


def _rest(case: Case, saved: Saved) -> np.ndarray:
    """The asks of the saved plan in the periods of today's, never above the ask in force; empty once it has ended."""
    begins = [day for day in case.dates[:-1] if day < saved.ends]
    asks = np.array([saved.steps.on(day) for day in begins])
    if case.so_far is not None and len(asks):
        now = case.so_far.ask
        if saved.steps.on(case.as_of) < now and case.as_of not in saved.steps.days:
            asks[0] = now  # a markdown is overdue: it is made on the next day for it
        asks = np.minimum(asks, now)
    return np.asarray(np.minimum.accumulate(asks)) if len(asks) else asks


def _what_is_new(fits: Fits, case: Case, saved: Saved) -> str:
    new = []
    so_far = case.so_far
    if so_far is not None and so_far.offer is not None and so_far.offer[0] >= saved.on:
        new.append(f"an offer of {_money(case, so_far.offer[1])}")
    if so_far is not None and abs(so_far.ask - saved.steps.on(case.as_of)) > 0.005:
        new.append(f"its ask is {_money(case, so_far.ask)}, not what that plan said")
    flips = fits.records.flips
    if flips is not None and "sold_on" in flips:
        sold = int((pd.to_datetime(flips["sold_on"]) >= pd.Timestamp(saved.on)).sum())
        if sold:
            new.append(f"{sold} {'sale' if sold == 1 else 'sales'} since")
    return (
        ", ".join(new)
        or "a setting, an answer, what was entered for it, or a newer version of the kit"
    )


def _money(case: Case, amount: float) -> str:
    return format_money(amount, case.settings.currency)
