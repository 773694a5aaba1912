"""Which of this week's finds to buy: the set that earns most beyond the target pay, within a budget."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion, FleetError
from fleetlib.base.money import format_money
from fleetlib.base.noted import coded
from fleetlib.base.said import count, percent
from fleetlib.buying.best_set import best_set, steadied_worth
from fleetlib.buying.find_value import value_find, whose_target
from fleetlib.records.cleaning.changes import left_out
from fleetlib.records.cleaning.clean import read_finds
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table
from fleetlib.work.materials import UsualMaterials, usual_materials

if TYPE_CHECKING:
    from fleetlib.fits import Fits

CANNOT = "cannot be judged"
_NUMBERS = (
    "asked",
    "highest_price",
    "profit",
    "hours",
    "per_hour",
    "outlay",
    "chance_of_loss",
    "over_target",
    "doubt",
    "claimed",
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class BestBuys(Shown):
    """Which finds to buy. Money in `currency`.

    `table`, bought ones first: find, furniture_type, asked, highest_price, profit, hours, per_hour, outlay (materials
    and other costs counted), chance_of_loss, over_target (profit beyond the target pay for its hours: what is
    maximised), doubt (standard deviation of what it is really worth), claimed (the profit to count on of a find
    chosen because it looks good: `best_set.steadied_worth`), buy, why. `cash` and `hours` are the budgets, None
    without.
    """

    table: pd.DataFrame = field(repr=False)
    cash: float | None
    hours: float | None
    target: float
    currency: str
    notes: tuple[str, ...] = field(default=(), repr=False)

    def shown(self) -> pd.DataFrame:
        """The table as printed."""
        t = self.table
        return pd.DataFrame(
            {
                "find": t["find"],
                "what": t["furniture_type"],
                "asked": [self._money(v) for v in t["asked"]],
                "at most": [self._money(max(v, 0.0)) for v in t["highest_price"]],
                "laid out": [self._money(v) for v in t["outlay"]],
                "hours": [f"{h:.1f}" if h == h else "-" for h in t["hours"]],
                "an hour": [self._money(v) for v in t["per_hour"]],
                "loss": [percent(p) if p == p else "-" for p in t["chance_of_loss"]],
                "answer": [
                    "buy" if b else w if top == top else CANNOT
                    for b, w, top in zip(t["buy"], t["why"], t["highest_price"], strict=True)
                ],
            }
        )

    def sheet(self) -> Sheet:
        """The finds, those to buy first, and what they come to."""
        return Sheet(self._title(), (Table(self.shown()), Notes((*self._said(), *self.notes))))

    def _title(self) -> str:
        limits = [f"{self._money(self.cash)} cash"] if self.cash is not None else []
        limits += [f"{self.hours:g} hours"] if self.hours is not None else []
        return "The best buys" + (f" within {' and '.join(limits)}" if limits else "")

    def _said(self) -> list[str]:
        got = self.table[self.table["buy"]]
        hours, profit = float(got["hours"].sum()), float(got["claimed"].sum())
        looks = float(got["profit"].sum())
        total = "buy none of them"
        if len(got):
            total = (
                f"buy {len(got)}: {self._money(float(got['outlay'].sum()))} laid out with materials, "
                f"{hours:.0f} hours, expected profit {self._money(profit)}, "
                f"{self._money(profit / hours) if hours > 0 else '-'} an hour"
            )
        lucky = []
        if looks - profit > 0.5 and len(got):
            lucky = [
                f"one by one they look like {self._money(looks)} profit; the best of uncertain figures are partly the "
                f"ones that flatter, so count on {self._money(profit)}"
            ]
        return [
            total,
            *lucky,
            "laid out: the price asked with materials and other costs; a limit of cash counts all of it",
            f"at most: the price at which it still pays your target of {self._money(self.target)} an hour. loss: the "
            "chance of losing money at the price asked. no cash or hours left: those to buy make better use of them",
        ]

    def _money(self, amount: float) -> str:
        return format_money(amount, self.currency)


def best_buys(
    fits: Fits,
    finds: pd.DataFrame | str | Path,
    *,
    cash: float | None = None,
    hours: float | None = None,
) -> BestBuys:
    """The best set of `finds` (a table, or a CSV or .xlsx file of what is on offer, buy_price the price asked).

    Maximises the total of profit - target pay x hours, so a find that pays under the target is never
    bought; within `cash` for prices, materials and other costs and `hours` of work (None: no limit). Finds
    that share a bought_lot are one offer: all or none. Exact (see `buy_set`).

    Raises BadQuestion when there is no find to judge.
    """
    offered, notes = _offered(fits, finds)
    usual, target = usual_materials(fits.records.flips), fits.settings.target_hourly_pay
    table = pd.DataFrame(
        [
            _judged(fits, row, f"find {i + 1}", usual, target)
            for i, (_, row) in enumerate(offered.iterrows())
        ]
    )
    known = table["over_target"].notna()
    worth, doubt = (table.loc[known, c].to_numpy(float) for c in ("over_target", "doubt"))
    off = worth - steadied_worth(worth, doubt)
    table.loc[known, "claimed"] = table.loc[known, "profit"] - off
    unjudged = set(table.loc[table["why"].ne("") & table["highest_price"].isna(), "find"])
    _, of_lot = np.unique(table["lot"].to_numpy(), return_inverse=True)
    offers = _offers(table, of_lot)
    chosen = best_set(offers.worth, offers.outlay, offers.hours, cash=cash, most_hours=hours)
    table["buy"] = chosen[of_lot]
    reasons = offers.reasons(chosen, cash=cash, hours=hours)
    table["why"] = [own or reasons[j] for own, j in zip(table["why"], of_lot, strict=True)]
    free = table["why"].eq("asks too much") & table["asked"].eq(0)
    table.loc[free, "why"] = "not worth its hours"
    if len(chosen) < len(table):
        notes.append("finds with the same bought_lot are one offer, taken or left together")
    notes += [
        f"{name} {why}"
        for name, why in zip(table["find"], table["why"], strict=True)
        if name in unjudged
    ]
    notes += whose_target(fits.settings)
    notes += fits.hours.guides_note if fits.hours else ()
    notes += offers.loosened(chosen, cash=cash, hours=hours, currency=fits.settings.currency)
    table = table.drop(columns="lot").sort_values(
        ["buy", "over_target"], ascending=False, kind="stable", ignore_index=True
    )
    return BestBuys(table, cash, hours, target, fits.settings.currency, tuple(notes))


@dataclass(frozen=True, eq=False, slots=True)
class _Offers:
    """What can be taken or left: finds, or lots of them; (k,) each. worth is -inf where it is unknown."""

    worth: np.ndarray
    outlay: np.ndarray
    hours: np.ndarray

    def reasons(self, chosen: np.ndarray, *, cash: float | None, hours: float | None) -> list[str]:
        """Why each offer was left out; empty for the chosen."""
        spent, worked = float(self.outlay[chosen].sum()), float(self.hours[chosen].sum())
        said = []
        for j, taken in enumerate(chosen):
            no_cash = cash is not None and spent + self.outlay[j] > cash
            no_hours = hours is not None and worked + self.hours[j] > hours
            if taken:
                said.append("")
            elif not math.isfinite(self.worth[j]):
                said.append("part of a lot that cannot be judged")
            elif self.worth[j] <= 0:
                said.append("asks too much")
            elif no_cash and no_hours:
                said.append("no cash or hours left")
            else:
                said.append(f"no {'cash' if no_cash else 'hours'} left")
        return said

    def loosened(
        self, chosen: np.ndarray, *, cash: float | None, hours: float | None, currency: str
    ) -> list[str]:
        """The least more cash, and the least more hours, that would buy better, and what that adds."""
        best = float(self.worth[chosen].sum())

        def gain(**limits: float | None) -> float:
            again = best_set(self.worth, self.outlay, self.hours, **limits)
            return float(self.worth[again].sum()) - best

        said = []
        if cash is not None:
            least = _least_more(lambda c: gain(cash=c, most_hours=hours), cash, self.outlay)
            if least is None:
                said.append("more cash alone would add nothing worth buying")
            else:
                more, adds = (format_money(v, currency) for v in least)
                said.append(f"{more} more cash would add {adds} beyond your target pay")
        if hours is not None:
            least = _least_more(lambda h: gain(cash=cash, most_hours=h), hours, self.hours)
            said.append(
                "more hours alone would add nothing worth buying"
                if least is None
                else f"{least[0]:.1f} more hours would add {format_money(least[1], currency)} beyond your target pay"
            )
        return said


def _least_more(
    gain: Callable[[float], float], limit: float, used: np.ndarray
) -> tuple[float, float] | None:
    """The least by which `limit` must rise for a gain, and the gain; rounded up to 1, to a tenth where it is small."""
    low, high = limit, limit + float(np.nansum(used))
    if gain(high) <= 0.5:
        return None
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (low, middle) if gain(middle) > 0.5 else (middle, high)
    step = 1.0 if limit > 50 else 0.1
    more = math.ceil((high - limit - 2e-3) / step) * step
    return more, gain(limit + more)


def _offers(table: pd.DataFrame, of_lot: np.ndarray) -> _Offers:
    known = table["over_target"].notna()
    sums = table[["over_target", "outlay", "hours"]].fillna(0.0).groupby(of_lot).sum()
    whole = known.groupby(of_lot).all().to_numpy()
    worth = np.where(whole, sums["over_target"].to_numpy(), -math.inf)
    return _Offers(worth, sums["outlay"].to_numpy(), sums["hours"].to_numpy())


def _offered(fits: Fits, finds: pd.DataFrame | str | Path) -> tuple[pd.DataFrame, list[str]]:
    """The finds as rows of flips, and what reading them says."""
    notes: list[str] = []
    if isinstance(finds, pd.DataFrame):
        offered = finds
    else:
        read = read_finds(finds, settings=fits.settings, as_of=fits.as_of)
        offered = read.flips
        no_sales = coded(read.notes, "no sale prices")  # true of every table of finds
        notes += [n for n in read.notes if n not in no_sales]
        unread = left_out(read.changes)
        for cell in unread[unread["column"] == "buy_price"].head(5).itertuples():
            notes.append(f'line {cell.line}: the price "{cell.was}" {cell.why}')
        if len(read.set_aside):
            lines = ", ".join(str(line) for line in read.set_aside["line"][:5])
            notes.append(f"{count(len(read.set_aside), 'row')} could not be read, line {lines}")
    if offered.empty:
        raise BadQuestion(
            "There is no find to judge. Give one row a find: furniture_type, buy_price and what else you know."
        )
    return offered, notes


def _judged(
    fits: Fits, row: pd.Series, name: str, usual: UsualMaterials, target: float
) -> dict[str, Any]:
    """One row of the table; `why` is set where the find cannot be judged."""
    made: dict[str, Any] = {
        "find": name,
        "furniture_type": str(row.get("furniture_type", "")),
        "lot": name,
        **dict.fromkeys(_NUMBERS, math.nan),
        "buy": False,
        "why": "",
    }
    try:
        piece: Piece = piece_from_row(row)
    except FleetError as problem:
        return made | {"why": f"{CANNOT}: {problem}"}
    made |= {"find": piece.piece or name, "furniture_type": piece.furniture_type}
    made["lot"] = f"lot {piece.bought_lot}" if piece.bought_lot else name
    try:
        find = value_find(fits, piece, usual=usual)
    except FleetError as problem:
        return made | {"why": f"{CANNOT}: {problem}"}
    made |= {"highest_price": find.highest_price(target), "hours": find.hours}
    price = piece.buy_price
    if price is None:
        return made | {"why": "no price asked"}
    return made | {
        "asked": price,
        "profit": find.profit(price),
        "per_hour": find.profit(price) / find.hours,
        "outlay": find.outlay(price),
        "chance_of_loss": find.chance_of_loss(price),
        "over_target": find.highest_price(target) - price,
        "doubt": find.doubt,
    }
