"""What an hour of work earns, kind by kind: every finished piece counts, sold or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.level import USUAL_LEVEL, check_level
from fleetlib.base.money import format_money
from fleetlib.base.said import percent
from fleetlib.pay.groups import (
    NOT_IN_PAY,
    as_group,
    group_table,
    grouping,
    labelled,
    names_of,
    period,
    sold_within,
    step_table,
    within,
)
from fleetlib.pay.influence import (
    gaps_note,
    hinge_note,
    hinges,
    settled_note,
    single_sale_note,
    usual_hours_range,
)
from fleetlib.pay.notes import counted_notes, selling_notes, supply_notes
from fleetlib.pay.piece_values import piece_values
from fleetlib.pay.ratio import Ratio
from fleetlib.records.schema.columns import STEPS
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table
from fleetlib.work.materials import usual_materials
from fleetlib.work.supplies import share_supplies

if TYPE_CHECKING:
    from fleetlib.fits import Fits

_DOING = {
    "clean": "cleaning",
    "repair": "repairs",
    "sand": "sanding",
    "finish": "finishing",
    "sell": "selling",
}
_FEW_GROUPS = 8  # sentences about single sales and gaps are given for this many groups at most
_MOST_GAPS = 3
_MOST_SHOWN = 20
_SOLD = "How they sold (shares within 30 and 60 days), and the pay after supplies"
_STEPS = "Hours a piece, by step"


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class EarningsTable(Shown):
    """Pay per hands-on hour by group, the best first.

    `table` columns: the grouping columns; pieces (finished ones whose hours and price paid are known), of
    them sold, unsold, withdrawn; all_sold, all_unsold, all_withdrawn (hours known or not); in_work and
    left_out (not in the pay); hours, profit, per_hour, low, high
    (Fieller at `level`; infinite where `unbounded`), per_hour_at_nothing (unsold pieces valued at nothing),
    shrunk (drawn toward all groups where pieces are few) and shrunk_sd, its error; chance_best,
    sold_within_30, sold_within_60 (share of listed pieces, Kaplan-Meier), supplies (their share in money,
    not in the profit), per_hour_after_supplies, compared (in the running for the best), says.

    `steps`: hours a piece in each step of the work, where the records split them. `hinges`: the two or three
    pieces the first place hangs on. `shop`: all groups together. Money in `currency`.
    """

    by: tuple[str, ...]
    table: pd.DataFrame = field(repr=False)
    steps: pd.DataFrame = field(repr=False)
    hinges: pd.DataFrame = field(repr=False)
    shop: Ratio
    level: float
    start: date | None
    end: date | None
    currency: str
    notes: tuple[str, ...] = field(default=(), repr=False)

    def shown(self) -> pd.DataFrame:
        """The pay by group as printed."""
        t = self.table
        return pd.DataFrame(
            {
                self._heading(): names_of(t, self.by),
                "pieces": t["pieces"],
                "hours": t["hours"].round(),
                "an hour": [format_money(v, self.currency) for v in t["per_hour"]],
                f"{self.level * 10:g} in 10": [self._range(row) for row in t.itertuples()],
                "steadied": [format_money(v, self.currency) for v in t["shrunk"]],
                "best": [_percent(v) for v in t["chance_best"]],
            }
        )

    def sold_shown(self) -> pd.DataFrame:
        """How the same groups sold, and what shared supplies leave of the pay, as printed."""
        t = self.table
        return pd.DataFrame(
            {
                self._heading(): names_of(t, self.by),
                "sold": t["all_sold"],
                "unsold": t["all_unsold"],
                "withdrawn": t["all_withdrawn"],
                "in 30 days": [_percent(v) for v in t["sold_within_30"]],
                "in 60 days": [_percent(v) for v in t["sold_within_60"]],
                "after supplies": [
                    format_money(v, self.currency) for v in t["per_hour_after_supplies"]
                ],
            }
        )

    def steps_shown(self) -> pd.DataFrame:
        """Hours a piece in each step, rounded, and the step that takes most."""
        s = self.steps
        made = pd.DataFrame({self._heading(): names_of(s, self.by)})
        for step in STEPS:
            made[_DOING[step]] = [f"{h:.1f}" for h in s[f"hours_{step}"]]
        made["takes most"] = [
            f"{_DOING[step]}, {share:.0%}"
            for step, share in zip(s["most"], s["share"], strict=True)
        ]
        return made

    def sheet(self) -> Sheet:
        """The pay by group, how the groups sold, and where their hours go."""
        return Sheet(
            self._title(),
            (
                Table(self.shown(), most=_MOST_SHOWN),
                Notes((self._legend(), *self.notes)),
                Table(self.sold_shown(), _SOLD, most=_MOST_SHOWN),
                Table(self.steps_shown(), _STEPS, most=_MOST_SHOWN),
            ),
        )

    def _heading(self) -> str:
        words = [c.replace("furniture_type", "type").replace("_", " ") for c in self.by]
        return ", ".join(words) or "whole shop"

    def _title(self) -> str:
        ends = [f"from {self.start}"] if self.start else []
        ends += [f"to {self.end}"] if self.end else []
        span = f", pieces that came to market {' '.join(ends)}" if ends else ""
        return f"Pay per hands-on hour{span}"

    def _legend(self) -> str:
        times = f"{self.level * 10:g}"
        return (
            "an hour: profit of all pieces over all their hours, unsold ones at what their plan expects. "
            f"{times} in 10: {times} times out of 10 the true pay lies between these. steadied: drawn toward "
            "the other groups where pieces are few; the order follows it. best: the chance that this group is "
            "the best of those with at least 3 pieces."
        )

    def _range(self, row: Any) -> str:
        if row.unbounded:
            return "no limit"
        if row.low != row.low or not row.sold:
            return str(row.says)
        return f"{format_money(row.low, self.currency)} to {format_money(row.high, self.currency)}"


def earnings(
    fits: Fits,
    *,
    by: Sequence[str] | str = ("furniture_type",),
    start: date | None = None,
    end: date | None = None,
    level: float = USUAL_LEVEL,
) -> EarningsTable:
    """Pay per hands-on hour of each kind of piece, grouped by columns of words (`by`; none: the whole shop).

    A piece belongs to the day it came to market, so `start` and `end` (both included) choose whole cohorts,
    unsold pieces and all; supplies are those bought in the same days. `level` is the share of the range.

    Raises BadQuestion for a column that does not group, a level outside (0, 1), or days in which nothing
    came to market.
    """
    check_level(level)
    flips, currency = fits.records.flips, fits.settings.currency
    columns = grouping((by,) if isinstance(by, str) else tuple(by), flips)
    first, last = period(start, end)
    valued = piece_values(fits)
    inside = within(valued.frame["came_on"], first, last)
    pieces = labelled(flips, columns).join(valued.frame)[inside]
    if pieces["outcome"].isin(NOT_IN_PAY).all():
        span = (
            f" from {start or 'the first day'} to {end or 'the last'}" if start or end else " yet"
        )
        raise BadQuestion(
            f"Nothing came to market{span}, so there is no pay to work out. Ask for a longer period, or "
            "again once a piece is listed."
        )
    supplies = share_supplies(fits.records.supplies, pieces, start=first, end=last)
    pieces = pieces.assign(supplies=supplies.by_piece)
    table, members = group_table(pieces, columns, level=level)
    past = fits.records.past_sales  # sales whose piece came back tell how fast it sold
    back = past[past["piece"].isin(pieces["piece"])] if len(past) else past
    listed = pd.concat([flips[inside], back]) if len(back) else flips[inside]
    for days in (30, 60):
        table[f"sold_within_{days}"] = sold_within(listed, table, columns, days=days)
    names = names_of(table, columns)
    hanging = hinges(
        [as_group(m) for m in members],
        [m["piece"].astype(str).tolist() for m in members],
        names,
        table["compared"].tolist(),
    )
    undated = int(
        (valued.frame["came_on"].isna() & ~valued.frame["outcome"].isin(NOT_IN_PAY)).sum()
    )
    notes = [
        settled_note(table, names),
        hinge_note(hanging, names[0], currency),
        *selling_notes(table, members, names, currency),
        *[
            single_sale_note(m, n, currency)
            for m, n in zip(members[:_FEW_GROUPS], names, strict=False)
        ],
        *_gap_notes(fits, pieces, columns, names[:_FEW_GROUPS]),
        *counted_notes(pieces, columns, start=start, end=end, undated=undated),
        *supply_notes(
            table, names, total=supplies.total, kept_back=supplies.kept_back, currency=currency
        ),
        *supplies.notes,
        *valued.notes,
        *(fits.hours.notes if fits.hours is not None else ()),
    ]
    everything = as_group(pd.concat(members))
    return EarningsTable(
        by=columns,
        table=table,
        steps=step_table(flips.loc[pieces.index[~pieces["outcome"].isin(NOT_IN_PAY)]], columns),
        hinges=hanging,
        shop=everything.ratio(level),
        level=level,
        start=start,
        end=end,
        currency=currency,
        notes=tuple(n for n in notes if n),
    )


def _gap_notes(
    fits: Fits, pieces: pd.DataFrame, columns: tuple[str, ...], names: list[str]
) -> list[str]:
    """The groups whose pay could change most if missing hours and materials were filled in."""
    finished = pieces[~pieces["outcome"].isin(NOT_IN_PAY)]
    flips = fits.records.flips.loc[finished.index]
    usual = usual_materials(fits.records.flips)
    costs = [
        usual.cost(t, f) for t, f in zip(flips["furniture_type"], flips["finish"], strict=True)
    ]
    finished = finished.assign(usual_materials=costs)
    lacking = flips[flips["hours"].isna()]
    hours = usual_hours_range(fits.hours, fits.records.flips, wanted=lacking)
    labels = pd.Series(names_of(finished, columns), index=finished.index)
    said = []
    for name in names:
        part = finished[labels == name]
        said.append(gaps_note(part, name, usual_hours=hours, currency=fits.settings.currency))
    said.sort(key=lambda change_and_words: -change_and_words[0])
    return [words for _, words in said if words][:_MOST_GAPS]


def _percent(share: float) -> str:
    return "-" if share != share else percent(share)
