"""Calendar days: how long pieces stand at each stage, and how long a finish keeps them waiting."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.pay.piece_values import some
from fleetlib.records.log.apply_events import step_of
from fleetlib.selling.kaplan_meier import DaysToSell, days_to_sell, survival_curve

if TYPE_CHECKING:
    from fleetlib.fits import Fits

FEWEST = 3  # pieces under which a middle and a range say too little
_YEAR = 365
_TENTHS = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class StageDays:
    """One stage in calendar days: `low`, `mid` and `high` are passed by 1, 5 and 9 of 10 pieces.

    `pieces` counts all, `over` those that have left the stage. NaN: not reached on record, or too few.
    """

    stage: str
    pieces: int
    over: int
    low: float
    mid: float
    high: float


def stage_days(fits: Fits) -> list[StageDays]:
    """Bought to ready, ready to listed, bought to listed, listed to sold, bought to gone, in calendar days.

    Ready is the day the log calls the work finished. A piece still at a stage counts for the days it has stood
    there (Kaplan-Meier, `selling.kaplan_meier`); leaving it out would make every stage look shorter. A piece
    withdrawn ends the time to sell unsold, and is gone.
    """
    flips, today = fits.records.first_listed, pd.Timestamp(fits.as_of)
    ready = ready_days(fits)
    bought, listed = flips["bought_on"], flips["listed_on"]
    gone = flips["sold_on"].fillna(flips["withdrawn_on"])
    in_work = flips["status"].eq("in work")
    open_end = ~flips["status"].isin(("sold", "withdrawn"))
    return [
        _stage("bought to ready", bought, ready, still=in_work & ready.isna(), today=today),
        _stage("ready to listed", ready, listed, still=in_work & ready.notna(), today=today),
        _stage("bought to listed", bought, listed, still=in_work, today=today),
        _of_curve("listed to sold", days_to_sell(fits.records.listings)),
        _stage("bought to gone", bought, gone, still=open_end, today=today),
    ]


def ready_days(fits: Fits) -> pd.Series:
    """The day the log first calls each flip finished, on the index of the flips; NaT where it never does."""
    flips, events = fits.records.flips, fits.records.events
    done = events[events["event"] == "finished"]
    first = pd.to_datetime(done["on"]).groupby(done["piece"].astype(str)).min()
    days = [first.get(name, pd.NaT) for name in flips["piece"].astype(str)]
    return pd.Series(days, index=flips.index, dtype="datetime64[ns]")


def _stage(
    name: str, start: pd.Series, end: pd.Series, *, still: pd.Series, today: pd.Timestamp
) -> StageDays:
    """A stage from the day it began to the day it ended, or to `today` for those `still` in it."""
    over = end.notna() & ~still
    days = (end.where(over, today) - start).dt.days.clip(lower=0).to_numpy(float)
    counted = (start.notna() & (over | still)).to_numpy()
    return _of_curve(name, survival_curve(days[counted], sold=over.to_numpy()[counted]))


def _of_curve(name: str, curve: DaysToSell) -> StageDays:
    ends = [math.nan] * 3
    if curve.sold >= FEWEST:
        ends = [_passed(curve, share) for share in _TENTHS]
    return StageDays(name, curve.listings, curve.sold, *ends)


def _passed(curve: DaysToSell, share: float) -> float:
    """The day by which `share` have left; NaN where it was not reached. Half a day is the day itself."""
    reached = curve.table.loc[curve.table["unsold"] <= 1 - share + 1e-12, "days"]
    return float(np.floor(reached.iloc[0])) if len(reached) else math.nan


def waiting_days(fits: Fits) -> pd.DataFrame:
    """Days each logged piece waited while its finish dried: piece, finish, days.

    They are the calendar days between the first logged hour of the step "finish" and the day the piece is
    called finished, on which no work on it was logged, both ends left out.
    """
    flips, events = fits.records.flips, fits.records.events
    finish_of = dict(zip(flips["piece"].astype(str), flips["finish"], strict=True))
    names = events["piece"].astype(str)
    over = names.isin(names[events["event"] == "finished"])  # the others never waited to an end
    rows = []
    for name, theirs in events[over].groupby(names[over], sort=True):
        worked = theirs[theirs["event"] == "hours"]
        steps = worked["note"].map(lambda n: step_of(n) if isinstance(n, str) else "")
        begun, done = worked.loc[steps == "finish", "on"], theirs.loc[theirs["event"] == "finished"]
        if begun.empty or done.empty or name not in finish_of or pd.isna(finish_of[name]):
            continue
        first, last = pd.Timestamp(begun.min()), pd.Timestamp(done["on"].min())
        if last < first:
            continue
        days = pd.to_datetime(worked["on"])
        between = days[(days > first) & (days < last)].dt.normalize().nunique()
        rows.append((name, str(finish_of[name]), max((last - first).days - 1, 0) - between))
    return pd.DataFrame(rows, columns=["piece", "finish", "days"])


@dataclass(frozen=True, slots=True)
class Drying:
    """Days of waiting by finish: as logged where 3 pieces or more tell, else the owner's figure, else unknown.

    `logged`: finish -> (pieces, middle of their days); `own`: finish -> days from the settings.
    """

    logged: Mapping[str, tuple[int, float]]
    own: Mapping[str, float]

    def days(self, finish: str | None) -> float:
        """Days `finish` keeps a piece waiting; NaN where neither the log nor the settings say."""
        word = finish or ""
        pieces, mid = self.logged.get(word, (0, math.nan))
        return mid if pieces >= FEWEST else float(self.own.get(word, math.nan))

    def whose(self, finish: str) -> str:
        """Where the figure for `finish` comes from, in words."""
        pieces, _ = self.logged.get(finish, (0, math.nan))
        if pieces >= FEWEST:
            return f"{pieces} logged"
        return "your figure" if finish in self.own else "too few to say"


def drying(fits: Fits) -> Drying:
    """What the log and the settings say about the days a finish dries."""
    waited = waiting_days(fits)
    groups = waited.groupby("finish", sort=True)["days"]
    logged = {str(f): (len(part), float(part.median())) for f, part in groups}
    return Drying(logged, fits.settings.drying_days)


def hours_a_week(fits: Fits) -> float:
    """Hands-on hours a week over the year up to the shop's day; NaN where none are on record.

    Hours are counted on the day a piece came to market, and those in unfinished pieces as well; a record
    shorter than a year is divided by its own length.
    """
    flips, today = fits.records.first_listed, pd.Timestamp(fits.as_of)
    came = flips["listed_on"].fillna(flips["sold_on"]).fillna(flips["withdrawn_on"])
    recent = (came > today - pd.Timedelta(days=_YEAR)) | flips["status"].eq("in work")
    first = flips["bought_on"].fillna(came).min()
    hours = float(flips.loc[recent, "hours"].sum())
    if not hours > 0 or pd.isna(first):
        return math.nan
    days = min(_YEAR, max((today - first).days, 7))
    return float(hours / (days / 7))


def unknown_drying(fits: Fits, finishes: list[str]) -> list[str]:
    """A note naming the `finishes` whose drying nobody has told; none where all are known."""
    known = drying(fits)
    lacking = sorted({f for f in finishes if known.days(f) != known.days(f)})
    if not lacking:
        return []
    return [
        f"how long {some([f.replace('_', ' ') for f in lacking])} dries is not known and counted as no time; "
        "[drying_days] in settings.toml would tell"
    ]
