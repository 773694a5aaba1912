"""What the saved advice said, against what happened: prices, chances, and markdowns taken late or never."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import percent, pieces_said
from fleetlib.fits import Fits
from fleetlib.pay.promised import promises_kept
from fleetlib.quarter.adherence import judge
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table

_TOO_SOON = timedelta(days=7)
_PIECE_COLUMNS = (
    "piece", "advised_on", "outcome", "on", "sale_price", "low", "high", "level", "inside", "chance_sold", "days",
    "expected", "variance", "doubt", "counted", "cost",
)  # fmt: skip
_MARKDOWN_COLUMNS = (
    "piece",
    "planned_on",
    "planned_price",
    "asked_on",
    "asked_price",
    "days_late",
    "says",
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Hindsight(Shown):
    """Saved advice graded over `start` to `end`.

    table: one row per advised piece that was on the market in that time: piece, advised_on, outcome (sold,
    withdrawn, unsold), on (the day it left), sale_price, low, high, level (the range then given), inside
    (1, 0, or missing while unsold), days (on which it was up, unsold, and asked as planned: only these are graded),
    chance_sold (what the plans gave for a sale on one of them), expected, variance, doubt (the plans' daily chances
    added up, the variance of sold less expected as known beforehand, and what one standard deviation of the plans'
    own doubt moves it by), counted (1 where it sold on one of these days), cost (what leaving the plan cost in
    expectation; below 0 a gain; missing where asks are not dated).
    markdowns: one row per markdown the plan wanted in that time: piece, planned_on, planned_price, asked_on,
    asked_price (in force on the planned day), days_late, says (on time, late, never, due now, not needed).
    """

    start: date
    end: date
    currency: str
    table: pd.DataFrame
    markdowns: pd.DataFrame
    notes: tuple[str, ...] = ()

    @property
    def expected_sold(self) -> float:
        """How many sales the plans expected on the graded days: their daily chances added up."""
        return float(self.table["expected"].sum())

    @property
    def sold(self) -> int:
        """How many came on those days."""
        return int(self.table["counted"].sum())

    @property
    def spread(self) -> float:
        """Standard deviation of sold less expected: luck, piece by piece, and the doubt that all pieces share."""
        return float(np.sqrt(self.table["variance"].sum() + self.table["doubt"].sum() ** 2))

    @property
    def z(self) -> float:
        """(sold - expected) / spread; NaN where nothing was graded."""
        return (self.sold - self.expected_sold) / self.spread if self.spread > 0 else float("nan")

    @property
    def cost(self) -> float:
        """What markdowns taken late or never cost in expectation, money; 0 where none were."""
        return float(self.table["cost"].sum())

    def sentences(self) -> tuple[str, ...]:
        """The findings in words."""
        if self.table.empty:
            return (
                "No saved advice covers this time, so there is nothing to hold against what happened.",
            )
        graded = self.table[self.table["days"] > 0]
        said = [
            f"On the days that {pieces_said(len(graded))} with saved advice stood unsold at the planned ask, the plans "
            f"gave {self.expected_sold:.1f} sales in all, give or take {self.spread:.1f}; {self.sold} came"
            f"{_verdict(self.z)}."
            if len(graded)
            else "No piece stood at the ask that its saved advice planned, so its chances cannot be graded."
        ]
        priced = self.table[self.table["inside"].notna()]
        if len(priced):
            inside, level = int(priced["inside"].sum()), priced["level"].mean()
            said.append(
                f"{inside} of {pieces_said(len(priced))} sold inside the range then given (a good range holds "
                f"{level:.0%})."
            )
        says = self.markdowns["says"]
        late, never = int((says == "late").sum()), int((says == "never").sum())
        if len(self.markdowns):
            timely, idle = int((says == "on time").sum()), int((says == "not needed").sum())
            due = int((says == "due now").sum())
            still = f", {due} {'is' if due == 1 else 'are'} due now" if due else ""
            said.append(
                f"Of {len(self.markdowns)} planned markdowns {timely} came on time, {late} late, {never} never; {idle} "
                f"were not needed{still}."
            )
        if late + never:
            money = format_money(max(self.cost, 0), self.currency)
            said.append(
                f"Late and missing markdowns cost about {money} in expectation: what the plans would have brought "
                "less what these asks could be expected to bring."
            )
        return tuple(said)

    def shown(self) -> pd.DataFrame:
        """The pieces as printed."""
        t, c = self.table, self.currency
        ranges = [
            "-" if low != low else f"{format_money(low, c)} to {format_money(high, c)}"
            for low, high in zip(t["low"], t["high"], strict=True)
        ]
        return pd.DataFrame(
            {
                "piece": t["piece"],
                "advised": t["advised_on"],
                "range given": ranges,
                "chance sold": [percent(v) for v in t["chance_sold"]],
                "what happened": [
                    f"sold for {format_money(p, c)}" if o == "sold" else o
                    for o, p in zip(t["outcome"], t["sale_price"], strict=True)
                ],
                "leaving the plan cost": [format_money(v, c) for v in t["cost"]],
            }
        )

    def markdowns_shown(self) -> pd.DataFrame:
        """The planned markdowns as printed."""
        m, c = self.markdowns, self.currency
        return pd.DataFrame(
            {
                "piece": m["piece"],
                "planned for": m["planned_on"],
                "to": [format_money(v, c) for v in m["planned_price"]],
                "asked that day": [format_money(v, c) for v in m["asked_price"]],
                "came down on": ["-" if pd.isna(d) else d.date() for d in m["asked_on"]],
                "how it went": [
                    f"{s}, {d:.0f} days" if s == "late" else s
                    for s, d in zip(m["says"], m["days_late"], strict=True)
                ],
            }
        )

    def sheet(self) -> Sheet:
        """The findings, then the pieces and the markdowns they rest on."""
        return Sheet(
            "What the plans said, and what happened",
            (
                Notes(self.sentences()),
                Table(self.shown()),
                Table(self.markdowns_shown()),
                Notes(self.notes),
            ),
        )


def hindsight(fits: Fits, *, start: date, end: date) -> Hindsight:
    """Hold the saved advice against what happened from `start` to `end` (both included).

    A piece is judged by the last advice saved before `start`, else by the first one saved after. Its
    markdowns are judged by whichever advice was the latest on their day. The cost is worked out under
    today's models, as seen when the advice was saved: the worth of keeping to the plan from `start` on, less
    that of the asks really made until `end` and the plan after. So the costs of successive periods add up.
    """
    records = fits.records
    end = min(end, fits.as_of)
    log = records.advice_log
    rows: list[dict[str, Any]] = []
    marks: list[dict[str, Any]] = []
    lost = undated = fresh = 0
    named = records.flips["piece"].str.casefold()
    for name, group in log[log["date"] <= pd.Timestamp(end)].groupby(
        log["piece"].str.casefold(), sort=True
    ):
        found = records.flips[named == name]
        if len(found) != 1:
            lost += 1
            continue
        judged = judge(fits, found.iloc[0], group.sort_values("date", kind="stable"), start, end)
        if judged is None:
            continue
        if end - judged.since < _TOO_SOON:
            fresh += 1
            continue
        rows.append(judged.row)
        marks += judged.markdowns
        undated += not judged.dated
    notes = []
    if lost:
        notes.append(f"{pieces_said(lost)} with saved advice cannot be told apart in the records.")
    if fresh:
        verb = "was" if fresh == 1 else "were"
        notes.append(
            f"{pieces_said(fresh)} {verb} first advised on or listed in the last week of this time: too soon to grade."
        )
    if undated:
        notes.append(
            f"{pieces_said(undated)} have no dated asking prices, so nobody can say whether the markdowns were taken. "
            "Log each new asking price on its day."
        )
    kept = promises_kept(fits).sentence(fits.settings.currency)
    if kept and rows:
        notes.append(f"{kept[0].upper()}{kept[1:]}.")
    return Hindsight(
        start=start,
        end=end,
        currency=fits.settings.currency,
        table=_frame(rows, _PIECE_COLUMNS),
        markdowns=_frame(marks, _MARKDOWN_COLUMNS),
        notes=tuple(notes),
    )


def _verdict(z: float) -> str:
    if not abs(z) > 1.64:  # which luck alone passes 1 time in 10
        return ", within what luck allows"
    return f", clearly {'more' if z > 0 else 'fewer'} than luck allows"


def _frame(rows: list[dict[str, Any]], columns: tuple[str, ...]) -> pd.DataFrame:
    made = pd.DataFrame(rows, columns=list(columns))
    days = [c for c in columns if c in ("advised_on", "on", "planned_on", "asked_on")]
    words = [c for c in columns if c in ("piece", "outcome", "says")]
    for column in columns:
        if column in days:
            made[column] = pd.to_datetime(made[column])
        else:
            made[column] = made[column].astype("str" if column in words else "float64")
    return made
