"""What to work on next: unfinished pieces in the order in which the hours still to go pay best."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.errors import FleetError
from fleetlib.base.money import format_money
from fleetlib.base.said import count, percent
from fleetlib.pay.days_and_space import on_hand
from fleetlib.pay.piece_values import expected_money, finished_pieces, some
from fleetlib.pay.stages import drying, hours_a_week, unknown_drying
from fleetlib.plan.planned import planned
from fleetlib.records.piece import Piece, piece_from_row, said_once
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown, Table
from fleetlib.work.materials import usual_materials

if TYPE_CHECKING:
    from fleetlib.fits import Fits

_DRAWS = 4000
_SEED = 2026
_COLUMNS = [
    "piece",
    "furniture_type",
    "what",
    "finish",
    "hours_spent",
    "hours_left",
    "expected_net",
    "as_it_stands",
    "cost_left",
    "gain",
    "per_hour",
    "days_left",
    "per_place_week",
    "low",
    "high",
    "chance_first",
    "chance_next_better",
]


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class WorkOrder(Shown):
    """Unfinished pieces, the one whose remaining hours pay best first; with a full room, whose place pays best.

    `table` columns: piece, furniture_type, what (the type in the owner's own word), finish, hours_spent,
    hours_left, expected_net (of the plan, once finished), as_it_stands (net salvage value today), cost_left,
    gain (expected_net - as_it_stands - cost_left), per_hour = gain / hours_left, days_left (calendar days until
    its place is free: work, drying, days on sale), per_place_week = gain / (days_left / 7), low and high (8
    times out of 10, of the figure that sets the order), chance_first (that it pays best of all),
    chance_next_better (that the next one down pays more: how often this order is wrong). Money in `currency`;
    without any hours on record per_hour is missing and the order follows the gain. `full`: the settings' places
    are all taken, so per_place_week sets the order.
    """

    table: pd.DataFrame = field(repr=False)
    target: float
    currency: str
    notes: tuple[str, ...] = field(default=(), repr=False)
    full: bool = False

    @property
    def rate(self) -> str:
        """The column that sets the order: per_hour, or per_place_week where places are what is short."""
        return "per_place_week" if self.full else "per_hour"

    @property
    def first_is_poor(self) -> str:
        """What speaks against the hours left of the first piece, "" where they pay the target or are not known."""
        first = self.table.iloc[0] if len(self.table) else None
        if first is None or not first["per_hour"] < self.target:
            return ""
        if first["gain"] <= 0:
            return "finishing it brings no more than selling it as it stands"
        pay = format_money(first["per_hour"], self.currency)
        return f"at about {pay} an hour, under your target of {format_money(self.target, self.currency)}: {_ONLY_WHILE}"

    def shown(self) -> pd.DataFrame:
        """The table as printed."""
        t, c = self.table, self.currency
        ranges = [
            f"{format_money(low, c)} to {format_money(high, c)}" if low == low else "-"
            for low, high in zip(t["low"], t["high"], strict=True)
        ]
        shown = {
            "piece": t["piece"],
            "what": t["what"],
            "hours left": [f"{h:.1f}" if h == h else "-" for h in t["hours_left"]],
            "gain": [format_money(v, c) for v in t["gain"]],
            "an hour": [format_money(v, c) for v in t["per_hour"]],
        }
        if self.full:
            shown["days left"] = [f"{d:.0f}" if d == d else "-" for d in t["days_left"]]
            shown["a place-week"] = [format_money(v, c) for v in t["per_place_week"]]
        shown["8 in 10"] = ranges
        if not self.full:
            shown["next one better"] = [
                "-" if p != p else percent(p) for p in t["chance_next_better"]
            ]
        return said_once(pd.DataFrame(shown))

    def _legend(self) -> str:
        if not self.full:
            return _LEGEND
        return (
            "gain: what the plan expects once it is finished, less what it would fetch as it stands and what it "
            "still costs. days left: until its place is free, through work, drying and sale. a place-week: the "
            "gain over the weeks it still takes a place; your room is full, so this sets the order. 8 in 10: 8 "
            "times out of 10 it lies between these, luck with the buyers apart."
        )

    def sheet(self) -> Sheet:
        """The unfinished pieces in order, and what the columns mean."""
        if self.table.empty:
            return Sheet("", (Said(("No unfinished work is on record.",)), Notes(self.notes)))
        parts = (Table(self.shown()), Notes((self._legend(), *self.notes)))
        return Sheet("What to work on next", parts)


_LEGEND = (
    "gain: what the plan expects once it is finished, less what it would fetch as it stands and what it "
    "still costs. 8 in 10: 8 times out of 10 the hours left pay between these. next one better: the chance "
    "that the piece below would have paid more."
)


# Of hours that pay less than the target, the same wherever it is said.
_ONLY_WHILE = "worth it only while no other work pays more; else sell as it stands"


def what_next(fits: Fits) -> WorkOrder:
    """Rank unfinished work by (expected net - what it fetches as it stands - cost left) / hours left.

    The hours left are those of pieces like it that took longer than the hours already spent; the cost left
    is the usual cost of its materials less what is already spent. What is already paid plays no part.

    Where the room is full (as many pieces on hand as the settings' `places`) an hour is no longer what is
    short: the order is by gain / weeks until the place is free, days_left = hours left at the shop's hours a
    week + days of drying + expected days on sale. A piece gone today would free its place today, so the gain
    over `as_it_stands` is what the place earns.
    """
    flips, settings = fits.records.flips, fits.settings
    finished = finished_pieces(fits.records.events)
    in_work = flips[flips["status"] == "in work"]
    waiting = in_work[in_work["piece"].isin(finished)]
    usual, waits, weekly = usual_materials(flips), drying(fits), hours_a_week(fits)
    full = bool(settings.places) and on_hand(fits) >= settings.places
    rng = np.random.default_rng(_SEED)
    rows, rates, unplanned = [], [], []
    for _, row in in_work[~in_work["piece"].isin(finished)].iterrows():
        piece = piece_from_row(row)
        try:
            waiting_for = waits.days(piece.finish)
            dry = waiting_for if waiting_for == waiting_for else 0.0
            row_made, rate = _one(fits, piece, usual.of(piece), rng, Places(dry, weekly, full))
        except FleetError:
            unplanned.append(str(row["piece"]))
            continue
        rows.append(row_made)
        rates.append(rate)
    table = pd.DataFrame(rows, columns=_COLUMNS)
    if rows:
        known = fits.hours is not None or full
        key = table["per_place_week" if full else "per_hour" if known else "gain"]
        order = np.argsort(-key.to_numpy(), kind="stable")
        table = table.iloc[order].reset_index(drop=True)
        drawn = np.array(rates)[order]
        if known:
            best = np.bincount(drawn.argmax(axis=0), minlength=len(rows)) / drawn.shape[1]
            table["chance_first"] = best
        if known or fits.prices is not None:
            better = (drawn[1:] > drawn[:-1]).mean(axis=1)
            table["chance_next_better"] = np.append(better, math.nan)
    return WorkOrder(
        table=table,
        target=settings.target_hourly_pay,
        currency=settings.currency,
        notes=_notes(fits, table, waiting["piece"].astype(str).tolist(), unplanned, full),
        full=full,
    )


def price_factors(fits: Fits, piece: Piece, rng: np.random.Generator, n: int) -> np.ndarray:
    """`n` draws of (what it sells for) / (the average it would sell for); all 1 without a price fit."""
    if fits.prices is None:
        return np.ones(n)
    drawn = np.asarray(fits.prices.distribution(piece).sample(rng, n), dtype=float)
    return np.asarray(drawn / drawn.mean())


class Places(NamedTuple):
    """What holds a piece's place: days its finish dries, the shop's hours of work a week (nan: unknown), and
    whether every place of the shop is taken."""

    days_drying: float
    hours_a_week: float
    full: bool


def _one(
    fits: Fits,
    piece: Piece,
    materials: float,
    rng: np.random.Generator,
    places: Places,
) -> tuple[dict[str, object], np.ndarray]:
    """The row of one piece and the draws (n,) of the figure that sets the order."""
    case, path = planned(fits, piece)
    net, stands = expected_money(case, path), case.salvage
    spent = piece.hours or 0.0
    cost = max((materials if materials == materials else 0.0) - (piece.materials_cost or 0.0), 0.0)
    gain = net - stands - cost
    factors = price_factors(fits, piece, rng, _DRAWS)
    gains = (net - stands) * factors - cost
    hours = math.nan
    rates = gains
    low = high = math.nan
    left = np.zeros(_DRAWS)
    if fits.hours is not None:
        left = fits.hours.remaining(piece, spent, rng, _DRAWS)
        hours = float(left.mean())
        rates = gains / left
    weekly = places.hours_a_week
    at_work = 7 * left / weekly if weekly == weekly else np.zeros(_DRAWS)
    days = at_work + places.days_drying + 7 * path.expected_weeks
    days_left = max(float(days.mean()), 1.0)
    if places.full:
        rates = gains / (np.maximum(days, 1.0) / 7)
    if places.full or fits.hours is not None:
        low, high = (float(q) for q in np.quantile(rates, [0.1, 0.9]))
    made: dict[str, object] = {
        "piece": piece.piece,
        "furniture_type": piece.furniture_type,
        "what": piece.what,
        "finish": piece.finish,
        "hours_spent": spent,
        "hours_left": hours,
        "expected_net": net,
        "as_it_stands": stands,
        "cost_left": cost,
        "gain": gain,
        "per_hour": gain / hours,
        "days_left": days_left,
        "per_place_week": gain / (days_left / 7),
        "low": low,
        "high": high,
        "chance_first": math.nan,
        "chance_next_better": math.nan,
    }
    return made, rates


def _notes(
    fits: Fits, table: pd.DataFrame, waiting: list[str], unplanned: list[str], full: bool
) -> tuple[str, ...]:
    currency, target = fits.settings.currency, fits.settings.target_hourly_pay
    notes = []
    if full and not table.empty:
        notes.append(
            f"all {fits.settings.places} places are taken: the order is by what each place brings a week, not by pay "
            "per hour"
        )
        notes += unknown_drying(fits, table["finish"].dropna().astype(str).tolist())
    elif fits.hours is None and not table.empty:
        notes.append(
            "too few hours are on record to expect more, so pieces are in order of gain and not of pay per hour"
        )
    if (fits.hours is not None or full) and len(table) > 1:
        first = table.iloc[0]
        notes.append(
            f"{first['piece']} is first; the chance that it really pays best is {percent(first['chance_first'])}"
        )
    poor = table[table["per_hour"] < target]
    if len(poor):
        notes.append(
            f"the hours left pay less than your target of {format_money(target, currency)} for "
            f"{some(poor['piece'].astype(str).tolist())}: {_ONLY_WHILE}"
        )
    if waiting:
        notes.append(
            f"finished and waiting to be listed, which takes no more work: {some(waiting)}"
        )
    if unplanned:
        notes.append(
            f"{count(len(unplanned), 'piece')} cannot be planned for and not ranked: {some(unplanned)}; "
            "a gut price would mend that"
        )
    return tuple(notes)
