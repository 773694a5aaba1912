"""Three things worth doing next, each worked out from the shop's own numbers and ranked by what it is worth.

Every candidate below looks at the figures of the review and either finds something, with a worth in money
and the pieces behind it, or finds nothing. The three worth most are given; gaps in the records, whose
worth nobody can know, fill the places left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from scipy.special import ndtr

from fleetlib.base.errors import FleetError
from fleetlib.base.money import format_money
from fleetlib.base.said import count, day_said, percent
from fleetlib.fits import Fits
from fleetlib.pay.earnings import EarningsTable, earnings
from fleetlib.pay.work_order import WorkOrder, what_next
from fleetlib.quarter.hindsight import Hindsight
from fleetlib.trust.backtest import from_the_others

MOST = 3
_WEEK = 7
_LEAST_WORTH = 1.0
_FEWEST_OF_A_TYPE = 3
_LIKELY = 0.75  # less than three to one is no reason to change what one does; our own choice


@dataclass(frozen=True, eq=False, slots=True)
class NextStep:
    """One thing to do: what (a sentence), why (the numbers it stands on), worth (money; NaN where nobody
    can know), pieces (the ones it is about: piece and one figure each)."""

    what: str
    why: str
    worth: float
    pieces: pd.DataFrame = field(repr=False)

    def __str__(self) -> str:
        return f"{self.what} {self.why}"


def next_steps(
    fits: Fits, *, ageing: pd.DataFrame, past: Hindsight, sold: pd.DataFrame
) -> tuple[NextStep, ...]:
    """The three things, worth most first. `ageing` is today's list, `past` the graded advice of the quarter,
    `sold` the rows of flips sold in it."""
    found = [
        _come_down(fits, ageing),
        _let_go(fits, ageing),
        _finish_first(fits),
        _move_hours(fits, sold),
        _keep_to_dates(fits, past),
        _ask_more(fits, sold),
    ]
    worthy = [s for s in found if s is not None and s.worth >= _LEAST_WORTH]
    worthy.sort(key=lambda s: -s.worth)
    gaps = [_hours_missing(sold), _own_price_missing(fits), _costs_missing(sold), _vary_asks(fits)]
    return tuple([*worthy, *[g for g in gaps if g is not None]][:MOST])


def _money(fits: Fits, amount: float) -> str:
    return format_money(amount, fits.settings.currency)


def _names(pieces: pd.Series) -> str:
    names = [str(p) for p in pieces]
    shown = ", ".join(names[:4])
    return shown if len(names) <= 4 else f"{shown} and {len(names) - 4} more"


def _come_down(fits: Fits, ageing: pd.DataFrame) -> NextStep | None:
    """Asking prices that today's plan lowers now or within a week, against holding them."""
    soon = pd.Timestamp(fits.as_of) + pd.Timedelta(days=_WEEK)
    now = ageing["plan_price"] < ageing["asking_price"] - 0.005
    due = now | (ageing["next_on"] <= soon)
    some = ageing[~ageing["let_go"] & due & (ageing["gain_over_holding"] > 0)]
    if some.empty:
        return None
    worth = float(some["gain_over_holding"].sum())
    some = some.assign(
        to=some["plan_price"].where(now[some.index], some["next_price"]),
        on=some["next_on"].where(~now[some.index]),
    )
    top = some.sort_values("gain_over_holding", ascending=False, kind="stable")
    steps = ", ".join(
        f"{p} to {_money(fits, v)} {'now' if pd.isna(d) else f'on {day_said(d)}'}"
        for p, v, d in zip(top["piece"], top["to"], top["on"], strict=True)
    )
    return NextStep(
        what=f"Bring {'this ask' if len(top) == 1 else f'these {len(top)} asks'} down: {steps}.",
        why=f"Following the plans is expected to bring {_money(fits, worth)} more than holding today's asks.",
        worth=worth,
        pieces=top[["piece", "asking_price", "to", "gain_over_holding"]].reset_index(drop=True),
    )


def _let_go(fits: Fits, ageing: pd.DataFrame) -> NextStep | None:
    """Pieces for which no asking price is worth waiting for."""
    some = ageing[ageing["let_go"] & (ageing["gain_over_holding"] > 0)]
    if some.empty:
        return None
    worth = float(some["gain_over_holding"].sum())
    return NextStep(
        what=f"Let {_names(some['piece'])} go for what {'it fetches' if len(some) == 1 else 'they fetch'} today.",
        why=f"Holding the asks is expected to bring {_money(fits, worth)} less, once the cost of waiting is off.",
        worth=worth,
        pieces=some[["piece", "asking_price", "expected_net", "gain_over_holding"]].reset_index(
            drop=True
        ),
    )


def _finish_first(fits: Fits) -> NextStep | None:
    """The unfinished piece whose hours left pay best, against taking the unfinished ones as they come."""
    try:
        order: WorkOrder = what_next(fits)
    except FleetError:
        return None
    table = order.table
    if fits.hours is None or len(table) < 2:
        return None
    first, rest = table.iloc[0], table.iloc[1:]
    takes = table["days_left"] / 7 if order.full else table["hours_left"]
    usual = float(rest["gain"].sum() / takes.iloc[1:].sum())
    ahead = float(first[order.rate]) - usual
    worth = ahead * float(takes.iloc[0])
    brings = (
        f"Your room is full, and its place brings about {_money(fits, first[order.rate])} a week"
        if order.full
        else f"Its {first['hours_left']:.1f} hours left bring about {_money(fits, first[order.rate])} an hour"
    )
    others = count(len(rest), "unfinished piece").removeprefix("1 ")
    return NextStep(
        what=f"Finish {first['piece']} first.",
        why=(
            f"{brings}, the other {others} {_money(fits, usual)}; the chance that it really pays best is "
            f"{percent(first['chance_first'])}."
        ),
        worth=worth,
        pieces=table[["piece", "hours_left", "gain", order.rate]],
    )


def _move_hours(fits: Fits, sold: pd.DataFrame) -> NextStep | None:
    """Hours of the type that pays least, had they gone into the one that pays most, where that is likely more."""
    try:
        paid: EarningsTable = earnings(fits, by=("furniture_type",))
    except FleetError:
        return None
    enough = paid.table[(paid.table["pieces"] >= _FEWEST_OF_A_TYPE) & paid.table["shrunk"].notna()]
    if len(enough) < 2:
        return None
    best = enough.iloc[int(np.argmax(enough["shrunk"].to_numpy()))]
    spent = sold.groupby("furniture_type")["hours"].sum()
    here = enough[enough["furniture_type"].map(spent).fillna(0) > 0]
    here = here[here["shrunk"] < best["shrunk"]]
    if here.empty:
        return None
    worst = here.iloc[int(np.argmin(here["shrunk"].to_numpy()))]
    apart = math.hypot(best["shrunk_sd"], worst["shrunk_sd"])
    chance = float(ndtr((best["shrunk"] - worst["shrunk"]) / apart)) if apart > 0 else math.nan
    if not chance >= _LIKELY:
        return None
    hours = float(spent[worst["furniture_type"]])
    good, poor = (str(t["furniture_type"]).replace("_", " ") for t in (best, worst))
    pieces = sold.loc[
        sold["furniture_type"] == worst["furniture_type"], ["piece", "hours", "profit"]
    ]
    return NextStep(
        what=f"Put hours into {good} pieces before {poor} ones.",
        why=(
            f"Over all your pieces an hour brought about {_money(fits, best['shrunk'])} against "
            f"{_money(fits, worst['shrunk'])} (steadied; the chance that it truly is more is "
            f"{percent(chance)}), and {hours:.1f} hours of what sold this quarter were {poor}."
        ),
        worth=hours * float(best["shrunk"] - worst["shrunk"]),
        pieces=pieces.reset_index(drop=True),
    )


def _keep_to_dates(fits: Fits, past: Hindsight) -> NextStep | None:
    """Planned markdowns that came late or never."""
    missed = past.markdowns[past.markdowns["says"].isin(["late", "never"])]
    if missed.empty or not past.cost > 0:
        return None
    late = int((missed["says"] == "late").sum())
    return NextStep(
        what="Put the plans' dates in your calendar and change the asks on them.",
        why=(
            f"{late} planned markdowns came late and {len(missed) - late} never "
            f"({_names(missed['piece'].drop_duplicates())}); that cost about {_money(fits, past.cost)} in expectation."
        ),
        worth=past.cost,
        pieces=missed[["piece", "planned_on", "planned_price", "says"]].reset_index(drop=True),
    )


def _ask_more(fits: Fits, sold: pd.DataFrame) -> NextStep | None:
    """Pieces gone within a week that together, those above their estimate too, went for clearly too little.

    Clearly: the net shortfall is 1.28 times its own spread, which chance alone passes 1 time in 10.
    """
    if fits.prices is None or sold.empty:
        return None
    estimates = from_the_others(fits.prices)["estimate"].to_numpy()
    checked = pd.Series(estimates, index=fits.prices.sales.index)  # by row: two may bear one name
    quick = sold[(sold["days_listed"] <= _WEEK) & sold.index.isin(checked.index)]
    quick = quick.assign(estimate=checked)
    under = quick[quick["sale_price"] < quick["estimate"]]
    short = (quick["estimate"] - quick["sale_price"]).to_numpy(float)
    worth = float(short.sum())
    if len(under) < 2 or worth <= 1.28 * float(np.sqrt((short**2).sum())):
        return None
    share = worth / float(under["sale_price"].sum())
    return NextStep(
        what=f"Start pieces like {_names(under['piece'])} about {share:.0%} higher and let the plan come down.",
        why=(
            f"{len(quick)} of {len(sold)} pieces sold within a week, {len(under)} of them for less than your other "
            f"sales say: {_money(fits, worth)} together, net of those that went for more."
        ),
        worth=worth,
        pieces=under[["piece", "days_listed", "sale_price", "estimate"]].reset_index(drop=True),
    )


def _hours_missing(sold: pd.DataFrame) -> NextStep | None:
    missing = sold[~(sold["hours"] > 0)]
    if missing.empty:
        return None
    return NextStep(
        what="Write down the hours of every piece.",
        why=(
            f"{len(missing)} of the {len(sold)} pieces sold have none, so pay per hour stands on the other "
            f"{len(sold) - len(missing)}."
        ),
        worth=float("nan"),
        pieces=missing[["piece"]].reset_index(drop=True),
    )


def _own_price_missing(fits: Fits) -> NextStep | None:
    flips = fits.records.flips
    in_work = flips[flips["status"] == "in work"]
    missing = in_work[in_work["gut_price"].isna()]
    if missing.empty:
        return None
    return NextStep(
        what=f"Write down your own price for {_names(missing['piece'])} before you look at any advice.",
        why=(
            f"{_part(len(missing), len(in_work), 'unfinished')} no gut_price; it tells the plan what the records "
            "cannot see."
        ),
        worth=float("nan"),
        pieces=missing[["piece"]].reset_index(drop=True),
    )


def _costs_missing(sold: pd.DataFrame) -> NextStep | None:
    missing = sold[sold["buy_price"].isna() | sold["materials_cost"].isna()]
    if missing.empty:
        return None
    return NextStep(
        what="Fill in what was paid and used.",
        why=(
            f"{_part(len(missing), len(sold), 'sold')} no buy price or no materials cost on record, so their "
            "profit looks higher than it was."
        ),
        worth=float("nan"),
        pieces=missing[["piece"]].reset_index(drop=True),
    )


def _vary_asks(fits: Fits) -> NextStep | None:
    learned = fits.selling.learned
    if learned == "learned":
        return None
    share = float(np.clip(fits.selling.information, 0, 1))
    return NextStep(
        what="Try a few asking prices higher and a few lower than you would.",
        why=(
            f"How strongly price moves your sales is {learned}: {share:.0%} of it comes from your own listings so far. "
            "It takes about a hundred listings until most of it does, as this kit models it."
        ),
        worth=float("nan"),
        pieces=pd.DataFrame({"piece": pd.Series(dtype="str")}),
    )


def _part(some: int, of: int, which: str) -> str:
    """`2 of 9 unfinished pieces have`, `Your one sold piece has`."""
    if of == 1:
        return f"Your one {which} piece has"
    return f"{some} of {of} {which} pieces {'has' if some == 1 else 'have'}"
