"""A period's accounts: pieces in and out, takings, fees, costs, profit, hours, and the stock behind them.

Sales count on the day of sale. Profit is what the sales brought less everything spent on the pieces sold;
supplies bought for all pieces together stand apart. The owner's own hours are no cost: profit per hour is
what the hours earned, before tax.

When a sold piece comes back, its sale stays in the takings of the period it was sold in; what was given back, and
what the piece had cost, count on the day it came back. So it is done on a tax return: the adjustment of the gross
receipts for returns and allowances comes before the one for the cost of goods sold (Nunn v. Commissioner, US Tax Court
memorandum opinion of 2002, page 16, read at law.onecle.com; on Schedule C it is line 2, taken off line 1). A deposit is
the buyer's money until the sale, and stands apart as held; kept, it counts on the day the buyer backed out
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.money import format_money
from fleetlib.books.inventory import (
    NOT_SAID,
    WAYS,
    StockAccount,
    cost_of_ended_sales,
    ended_sales,
    how_it_left,
    lives,
    stock_account,
    to_cents,
)
from fleetlib.records.folder import Records
from fleetlib.records.piece import in_words
from fleetlib.records.schema.columns import CALLED, SCRAPPED
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table

COUNTS = ("bought", "finished", "listed", "sold", "withdrawn")
_OF_DEPOSITS = ("deposit", "sold", "backed_out", "withdrawn")  # the last three end one
COUNT, MONEY, HOURS, PER_HOUR = "pieces", "money", "hours", "money an hour"


class PartThree(NamedTuple):
    """Cost of goods sold in the order of Schedule C (Form 1040), part III, 2025 layout, lines 35 to 42."""

    opening_35: float
    purchases_36: float
    labour_37: float
    materials_38: float
    other_39: float
    sum_40: float
    closing_41: float
    cost_42: float


def part_three(
    *, opening: float, purchases: float, materials: float, other: float, closing: float
) -> PartThree:
    """Line 40 = 35 + ... + 39, line 42 = 40 - 41; amounts in money, kept to the cent.

    `purchases` are less what was kept for oneself; the owner's own time is never labour.

    >>> part_three(opening=1200, purchases=5000, materials=900, other=100, closing=1500).cost_42
    5700.0
    """
    total = round(opening + purchases + materials + other, 2)
    cost = round(total - closing, 2)
    return PartThree(opening, purchases, 0.0, materials, other, total, closing, cost)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Accounts(Shown):
    """The accounts of `start` to `end`, both included; `running` when the period is not over yet.

    table: line, value, unit ("pieces", "money", "hours", "money an hour"), pieces (how many stand behind
    it). `stock` is the stock account; `supplies` what was bought for all pieces together: bought_on, item,
    cost.
    """

    start: date
    end: date
    running: bool
    currency: str
    table: pd.DataFrame = field(repr=False)
    stock: StockAccount = field(repr=False)
    supplies: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...] = ()
    _behind: Mapping[str, pd.DataFrame] = field(repr=False, default_factory=dict)

    def value(self, line: str) -> float:
        """The value of one line; NaN where it cannot be worked out (pay per hour without hours)."""
        self._known(line)
        return float(self.table.loc[self.table["line"] == line, "value"].iloc[0])

    def pieces(self, line: str) -> pd.DataFrame:
        """The pieces behind one line: piece, what, on (date), amount."""
        self._known(line)
        return self._behind[line].copy()

    @property
    def part_three(self) -> PartThree:
        """The stock account in the order of Schedule C, part III; what was kept or given away is off line 36."""
        line = self.stock.amount
        personal = line("withdrawn") - self.stock.way(SCRAPPED)
        return part_three(
            opening=line("opening"),
            purchases=round(line("bought") - personal, 2),
            materials=line("materials"),
            other=line("other costs"),
            closing=line("closing"),
        )

    def shown(self) -> pd.DataFrame:
        """The table as printed."""
        values = [
            value_text(v, unit, self.currency)
            for v, unit in zip(self.table["value"], self.table["unit"], strict=True)
        ]
        return pd.DataFrame({"line": self.table["line"], "this period": values})

    def _known(self, line: str) -> None:
        if line not in self._behind:
            raise BadQuestion(
                f'There is no line "{line}". The lines are: {", ".join(self._behind)}.'
            )

    def sheet(self) -> Sheet:
        """The lines of the period."""
        table = Table(self.shown(), f"{self.start} to {self.end}")
        return Sheet("", (table, Notes(self.notes)))


@lru_cache(maxsize=8)
def accounts(records: Records, *, start: date, end: date) -> Accounts:
    """The accounts of `start` to `end`, as the records know them; a running period is closed on their `as_of`."""
    flips = records.first_listed
    events, as_of = records.events, records.as_of
    ended = records.ended
    stock = stock_account(flips, events=events, start=start, end=end, as_of=as_of, ended=ended)
    life = lives(flips, events=events)
    first, last = pd.Timestamp(start), pd.Timestamp(min(end, as_of))
    days = {
        "bought": life["came_on"].where(life["counted"]),
        "finished": life["worked_on"],
        "listed": flips["listed_on"],
        "sold": life["left_on"].where(life["sold"]),
        "withdrawn": life["left_on"].where(~life["sold"]),
    }
    here = {name: on.between(first, last) for name, on in days.items()}
    behind = {name: _rows(flips, m, days[name], None) for name, m in here.items()}
    spent = _spent(flips)
    brought = _brought(flips)
    # what was refunded is in the net price, but counts on a day of its own
    brought["selling costs"] -= to_cents(records.refunded).where(flips["net_price"].notna(), 0)
    materials = to_cents(flips["materials_cost"])
    given_back = _given_back(records)
    flips, more = _with_ended(records, flips, ended_sales(flips, ended))
    if more is not None:  # the sales that ended, as rows of their own below the pieces
        spent = pd.concat([spent, more["spent"]], ignore_index=True)
        materials = pd.concat([materials, more["materials"]], ignore_index=True)
        brought = {k: pd.concat([v, more[k]], ignore_index=True) for k, v in brought.items()}
        days = {k: v.reset_index(drop=True).reindex(flips.index) for k, v in days.items()}
        days["sold"] = days["sold"].fillna(more["sold_on"].reindex(flips.index))
        here = {name: on.between(first, last) for name, on in days.items()}
        behind = {name: _rows(flips, m, days[name], None) for name, m in here.items()}
    sold, gone = here["sold"], here["withdrawn"]
    own = pd.Series(np.arange(len(flips)) < len(records.flips), index=flips.index)
    lines: list[tuple[str, float, str]] = [(n, float(here[n].sum()), COUNT) for n in COUNTS]

    def money(name: str, cents: pd.Series, mask: pd.Series) -> int:
        behind[name] = _rows(flips, mask, days["sold"].fillna(days["withdrawn"]), cents / 100)
        total = int(cents[mask].sum())
        lines.append((name, total / 100, MONEY))
        return total

    for name, cents in brought.items():
        money(name, cents, sold)
    net = (
        brought["takings"]
        + brought["delivery charged"]
        - brought["fees"]
        - brought["selling costs"]
    )
    money("cost of pieces sold", spent, sold)
    money("of it materials", materials, sold)
    back = _returns(given_back, stock, first, last, lines, behind)
    held = _deposits_held(records, last)
    if len(held):
        behind["deposits held at the end"] = held
        lines.append(("deposits held at the end", round(float(held["amount"].sum()), 2), MONEY))
    profit = money("profit", net - spent, sold)
    if back:
        lines[-1] = ("profit", (profit + back) / 100, MONEY)
    money("cost of pieces withdrawn", spent, gone)
    how = how_it_left(records.flips).reindex(flips.index, fill_value="")
    for way in WAYS:
        if (gone & how.eq(way)).any():
            money(f"of it {way}", spent, gone & how.eq(way))
    worked = flips["hours"].where(flips["hours"] > 0)
    lines.append(("hours in pieces sold", float(worked[sold].sum()), HOURS))
    behind["hours in pieces sold"] = _rows(flips, sold & worked.notna(), days["sold"], worked)
    timed = sold & worked.notna()
    behind["pay per hour"] = _rows(flips, timed, days["sold"], (net - spent) / 100 / worked)
    lines.append(
        ("pay per hour", _ratio((net - spent)[timed].sum(), worked[timed].sum()), PER_HOUR)
    )
    with_lost = timed | (gone & worked.notna())
    all_profit = (net - spent).where(sold, -spent)
    behind["pay per hour, withdrawn counted"] = _rows(
        flips, with_lost, days["sold"].fillna(days["withdrawn"]), all_profit / 100 / worked
    )
    lines.append(
        (
            "pay per hour, withdrawn counted",
            _ratio(all_profit[with_lost].sum(), worked[with_lost].sum()),
            PER_HOUR,
        )
    )
    shared = _supplies(records.supplies, first, last)
    lines.append(("supplies for all pieces", int(to_cents(shared["cost"]).sum()) / 100, MONEY))
    behind["supplies for all pieces"] = pd.DataFrame(
        {"piece": "", "what": shared["item"], "on": shared["bought_on"], "amount": shared["cost"]}
    )
    table = pd.DataFrame(lines, columns=["line", "value", "unit"])
    table["pieces"] = [len(behind[name]) for name in table["line"]]
    return Accounts(
        start=start,
        end=end,
        running=as_of < end,
        currency=records.settings.currency,
        table=table,
        stock=stock,
        supplies=shared,
        notes=(*stock.notes, *_notes(flips, sold & own, worked), *_ask_how(flips, gone, how)),
        _behind=MappingProxyType(behind),
    )


def _with_ended(
    records: Records, flips: pd.DataFrame, away: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame | None]:
    """`flips` with a row more for each sale whose piece came back, and the amounts of those rows in cents, by row."""
    if away.empty:
        return flips, None
    costs = cost_of_ended_sales(
        flips, events=records.events, ended=records.ended, as_of=records.as_of
    )
    spent = costs.groupby("sale")["cents"].sum().reindex(away["sale"], fill_value=0)
    used = costs[costs["kind"] == "materials"].groupby("sale")["cents"].sum()
    whole = flips.reset_index(drop=True)
    place = range(len(whole), len(whole) + len(away))
    cells = {c: flips.loc[away["row"], c].to_numpy() for c in ("piece", "wood", "furniture_type")}
    rows = pd.DataFrame(cells, index=place).reindex(columns=whole.columns)
    whole_numbers = whole.select_dtypes("integer").columns
    rows = rows.fillna(dict.fromkeys(whole_numbers, 0)).astype(whole.dtypes.to_dict())
    fees, charged = to_cents(away["selling_fees"]), to_cents(away["delivery_charged"])
    delivery = round(100 * records.settings.delivery_cost)
    more = pd.DataFrame(
        {
            "sold_on": away["sold_on"].to_numpy(),
            "takings": to_cents(away["sale_price"]).to_numpy(),
            "delivery charged": charged.to_numpy(),
            "fees": fees.to_numpy(),
            "selling costs": delivery,
            "spent": spent.to_numpy(),
            "materials": used.reindex(away["sale"], fill_value=0).to_numpy(),
        },
        index=place,
    )
    return pd.concat([whole, rows]), more


def _given_back(records: Records) -> pd.DataFrame:
    """Money given back to buyers, and deposits kept (as amounts below 0): piece, what, on, cents."""
    ended, events = records.ended, records.events
    parts = []
    if len(ended):  # of a sale without a day neither the takings count nor what was given back
        dated = ended[ended["sold_on"].notna()]
        parts.append(
            dated.rename(columns={"ended_on": "on", "given_back": "amount", "how": "what"})
        )
    if len(events):
        parts.append(events[events["event"] == "refund"].assign(what="refund"))
        kept = events[(events["event"] == "backed_out") & (events["amount"] > 0)]
        parts.append(kept.assign(what="deposit kept", amount=-kept["amount"]))
    columns = ["piece", "what", "on", "amount"]
    some = [p[columns] for p in parts if len(p)]
    return pd.concat(some, ignore_index=True) if some else pd.DataFrame(columns=columns)


def _deposits_held(records: Records, last: pd.Timestamp) -> pd.DataFrame:
    """Deposits that on the day `last` were the buyer's money still: piece, what, on, amount."""
    logged = getattr(records, "logged", None)
    held: dict[str, list[tuple[str, str, pd.Timestamp, float]]] = {}
    if logged is not None and len(logged):
        some = logged[(logged["on"] <= last) & logged["event"].isin(_OF_DEPOSITS)]
        for e in some.sort_values(["on", "line"], kind="stable").itertuples(index=False):
            name = str(e.piece)
            if e.event == "deposit":
                held.setdefault(name.casefold(), []).append(
                    (name, "deposit", e.on, float(e.amount))
                )
            else:
                held.pop(name.casefold(), None)
    rows = [row for rows in held.values() for row in rows]
    made = pd.DataFrame(rows, columns=["piece", "what", "on", "amount"])
    return made.sort_values("on", kind="stable", ignore_index=True)


def _returns(
    given_back: pd.DataFrame,
    stock: StockAccount,
    first: pd.Timestamp,
    last: pd.Timestamp,
    lines: list[tuple[str, float, str]],
    behind: dict[str, pd.DataFrame],
) -> int:
    """Add lines for returns, refunds and kept deposits, if any; returns what they add to the profit, in cents."""
    total = 0
    here = given_back[given_back["on"].between(first, last)] if len(given_back) else given_back
    kept = here["what"] == "deposit kept"
    for name, some, sign in (
        ("returns and refunds", here[~kept], 1),
        ("deposits kept", here[kept], -1),
    ):
        if len(some):
            cents = int(to_cents(some["amount"].astype(float)).sum())
            total -= cents
            lines.append((name, sign * cents / 100, MONEY))
            behind[name] = some.assign(amount=sign * some["amount"]).reset_index(drop=True)
    if "returned" in set(stock.table["line"]):
        cost = stock.amount("returned")
        if cost:
            total += round(100 * cost)
            lines.append(("cost of pieces returned", cost, MONEY))
            behind["cost of pieces returned"] = stock.pieces("returned")
    return total


def value_text(value: float, unit: str, currency: str) -> str:
    """One value as printed: `12`, `$1,150`, `31.5 h`, `$24.10 an hour`, `-` where there is none."""
    if value != value:
        return "-"
    if unit == COUNT:
        return f"{value:.0f}"
    if unit == HOURS:
        return f"{value:.1f} h"
    if unit == PER_HOUR:
        return f"{format_money(value, currency, cents=True)} an hour"
    return format_money(value, currency, cents=True)


def _brought(flips: pd.DataFrame) -> dict[str, pd.Series]:
    """What each sale brought, in cents; the selling costs are all that net_price takes off except the fees."""
    takings = to_cents(flips["sale_price"])
    charged, fees = to_cents(flips["delivery_charged"]), to_cents(flips["selling_fees"])
    net = to_cents(flips["net_price"].where(flips["sale_price"].notna()))
    costs = (takings + charged - fees - net).where(flips["net_price"].notna(), 0).astype("int64")
    return {"takings": takings, "delivery charged": charged, "fees": fees, "selling costs": costs}


def _spent(flips: pd.DataFrame) -> pd.Series:
    return (
        to_cents(flips["buy_price"])
        + to_cents(flips["materials_cost"])
        + to_cents(flips["other_costs"])
    )


def _rows(
    flips: pd.DataFrame, mask: pd.Series, on: pd.Series, amount: pd.Series | None
) -> pd.DataFrame:
    """The pieces of a mask, by day and then as in the records; all four have the same rows in the same order."""
    at = np.flatnonzero(mask.to_numpy(dtype=bool))
    at = at[np.argsort(on.to_numpy()[at], kind="stable")]  # no day comes last
    told = flips.reindex(columns=["furniture_type", "wood", "pieces_in_lot", CALLED]).iloc[at]
    made = pd.DataFrame(
        {
            "piece": flips["piece"].array.take(at),
            "what": [in_words(*row) for row in told.itertuples(index=False)],
            "on": on.array.take(at),
        }
    )
    if amount is not None:
        made["amount"] = amount.to_numpy(dtype="float64")[at]
    return made


def _ratio(cents: float, hours: float) -> float:
    return float(cents) / 100 / float(hours) if hours > 0 else float("nan")


def _supplies(
    supplies: pd.DataFrame | None, first: pd.Timestamp, last: pd.Timestamp
) -> pd.DataFrame:
    columns = ["bought_on", "item", "cost"]
    if supplies is None or supplies.empty:
        return pd.DataFrame(
            {
                "bought_on": pd.Series(dtype="datetime64[ns]"),
                "item": pd.Series(dtype="str"),
                "cost": pd.Series(dtype="float64"),
            }
        )
    some = supplies[supplies["bought_on"].between(first, last)]
    return pd.DataFrame(some[columns].reset_index(drop=True))


def _ask_how(flips: pd.DataFrame, gone: pd.Series, how: pd.Series) -> list[str]:
    """What the owner is asked of pieces that left unsold, and what of them a professional should hear."""
    said = []
    open_ = flips.loc[gone & how.eq(NOT_SAID), "piece"].astype(str).tolist()
    if open_:
        first = open_[0] if " " not in open_[0] else f'"{open_[0]}"'
        said.append(
            f"Kept, given away or scrapped? Nothing says it of {', '.join(open_[:6])}, so each counts as kept. Log it, "
            f"as: scrapped {first}"
        )
    if gone.any():
        said.append(
            "What was kept or given away is taken off the purchases at cost; a scrapped piece is not. Ask a licensed "
            "preparer before it goes on a tax return, about a gift to a charity above all."
        )
    return said


def _notes(flips: pd.DataFrame, sold: pd.Series, worked: pd.Series) -> tuple[str, ...]:
    notes = []
    priceless = int((sold & flips["buy_price"].isna()).sum())
    if priceless:
        notes.append(
            f"{priceless} of {int(sold.sum())} sold pieces have no buy price on record and count as bought for 0: "
            "profit is too high by what you paid for them."
        )
    unpriced = sold & flips["sale_price"].isna()
    if unpriced.any():
        named = ", ".join(str(n) for n in flips.loc[unpriced, "piece"].head(6))
        notes.append(
            f"{int(unpriced.sum())} of {int(sold.sum())} sold pieces have no readable sale price ({named}): that money "
            "is missing here, so takings and profit are too low by what they brought."
        )
    untimed = int((sold & worked.isna()).sum())
    if untimed:
        notes.append(
            f"{untimed} of {int(sold.sum())} sold pieces have no hours on record: pay per hour is over the others."
        )
    return tuple(notes)
