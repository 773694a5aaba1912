"""Stock at cost: what came in, what it grew by, what left, and whether it adds up to the cent.

    opening + bought + materials + other costs + returned - closing - withdrawn = cost of the pieces sold

What was withdrawn is booked by how it left. Kept for oneself: off the purchases, at cost (Schedule C (Form 1040),
line 36, "purchases less cost of items withdrawn for personal use", IRS Publication 334, chapter 6, read at
taxmap.irs.gov). Given away: off the purchases too; the same chapter takes what is given to a charity out of the
cost of goods sold. Scrapped: it was bought to be sold and is no longer there, so its cost stays among the purchases
and leaves with the closing stock. Where nothing says how a piece left, it is booked as kept, which claims no loss.

A piece that came back is stock again at what it had cost when it sold; what is spent on it while the buyer
has it counts on the day it came back.

Every amount is a whole number of cents with a piece and a day of its own, so that both sides are sums of
the same things and a difference is a list of pieces, never a rounding.

When an amount counts: the buy price on the day the piece was bought; materials and other costs on the day
of their own where the ledger holds one, and else on the day the piece was finished, listed, sold or
withdrawn, whichever is known first. A piece whose day of buying is not known came in on the first day that
is known of it, and is said so.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.said import pieces_said
from fleetlib.records.log.apply_events import is_material
from fleetlib.records.parsing.outcomes import outcome_said
from fleetlib.records.schema.columns import GIVEN_AWAY, KEPT, SCRAPPED

LONG_AGO = pd.Timestamp("1900-01-01")
_KINDS = ("bought", "materials", "other costs")
NOT_SAID = "not said how"
WAYS = (KEPT, GIVEN_AWAY, SCRAPPED, NOT_SAID)
_COLUMN = {"bought": "buy_price", "materials": "materials_cost", "other costs": "other_costs"}


@dataclass(frozen=True, eq=False, slots=True)
class StockAccount:
    """The stock of the pieces between `start` and `end`, both included, at cost.

    table: line, amount (money, in whole cents), pieces (count). `explained` holds why the two sides differ
    (why, piece, amount); what is left unexplained is `unexplained` and is 0 unless a bug is at work.
    """

    start: date
    end: date
    table: pd.DataFrame = field(repr=False)
    explained: pd.DataFrame = field(repr=False)
    unexplained: float
    notes: tuple[str, ...] = ()
    _moves: Mapping[str, pd.DataFrame] = field(repr=False, default_factory=dict)

    def amount(self, line: str) -> float:
        """The amount of one line of the table, in money."""
        self._known(line)
        return float(self.table.loc[self.table["line"] == line, "amount"].iloc[0])

    def way(self, way: str) -> float:
        """The total cost of the pieces that left unsold in one of WAYS, money."""
        line = f"of it {way}"
        return self.amount(line) if line in self._moves else 0.0

    def pieces(self, line: str) -> pd.DataFrame:
        """The pieces behind one line: piece, amount (money), in the order of the records."""
        self._known(line)
        return self._moves[line].copy()

    @property
    def reconciled(self) -> bool:
        """True when both sides agree to the cent with nothing to explain."""
        return bool(self.explained.empty and self.unexplained == 0)

    def _known(self, line: str) -> None:
        if line not in self._moves:
            raise BadQuestion(
                f'There is no line "{line}". The lines are: {", ".join(self._moves)}.'
            )


def stock_account(
    flips: pd.DataFrame,
    *,
    events: pd.DataFrame | None,
    start: date,
    end: date,
    as_of: date,
    ended: pd.DataFrame | None = None,
) -> StockAccount:
    """The stock account of `start` to `end` from clean `flips`, with dated costs from `events` where held.

    `ended` are the sales that ended (`records/log/life.py`). A period still running is closed on `as_of`.
    """
    if start > end:
        raise BadQuestion(f"The period from {start} to {end} ends before it begins.")
    first, last = pd.Timestamp(start), pd.Timestamp(min(end, as_of))
    life = lives(flips, events=events)
    costs = cost_moves(flips, life=life, events=events, as_of=as_of)
    costs = costs[costs["row"].isin(life.index[life["counted"]])]
    away = ended_sales(flips, ended)
    costs = _once_back(costs, away)
    out = _left_and_back(costs, away)
    came, left = life["came_on"], life["left_on"]
    sold = life["counted"] & life["sold"] & left.between(first, last)
    gone = life["counted"] & ~life["sold"] & left.between(first, last)

    before, within = costs[costs["on"] < first], costs[costs["on"].between(first, last)]
    upto = costs[costs["on"] <= last]
    with_buyer = away["row"][(away["sold_on"] < first) & (away["ended_on"] >= first)]
    still_out = away["row"][(away["sold_on"] <= last) & (away["ended_on"] > last)]
    held_before = life.index[life["counted"] & (came < first) & ~(left < first)]
    held_before = held_before.difference(pd.Index(with_buyer), sort=False)
    held_after = life.index[life["counted"] & (came <= last) & ~(left <= last)]
    held_after = held_after.difference(pd.Index(still_out), sort=False)
    moves = {"opening": before[before["row"].isin(held_before)]}
    moves |= {kind: within[within["kind"] == kind] for kind in _KINDS}
    if len(away):
        moves["returned"] = out[out["ended_on"].between(first, last)]
    moves["closing"] = upto[upto["row"].isin(held_after)]
    moves["withdrawn"] = costs[costs["row"].isin(life.index[gone])]
    how = how_it_left(flips)
    ways = {f"of it {way}": life.index[gone & how.eq(way)] for way in WAYS}
    ways = {line: rows for line, rows in ways.items() if len(rows)}
    moves |= {line: costs[costs["row"].isin(rows)] for line, rows in ways.items()}
    cents = {line: int(m["cents"].sum()) for line, m in moves.items()}
    by_stock = sum(cents[k] for k in ("opening", *_KINDS)) - cents["closing"] - cents["withdrawn"]
    by_stock += cents.get("returned", 0)
    moves["cost of pieces sold"] = pd.concat(
        [costs[costs["row"].isin(life.index[sold])], out[out["sold_on"].between(first, last)]]
    )
    by_piece = int(moves["cost of pieces sold"]["cents"].sum())
    explained = _why(costs, life, first, last)
    names = flips["piece"]
    behind = {line: _by_piece(m, names) for line, m in moves.items()}
    bought = life.index[life["counted"] & came.between(first, last)]
    for line, rows in (
        ("opening", held_before),
        ("bought", bought),
        ("closing", held_after),
        ("withdrawn", life.index[gone]),
        *ways.items(),
        ("cost of pieces sold", life.index[sold]),
    ):
        if line == "cost of pieces sold":
            rows = rows.union(pd.Index(away["row"][away["sold_on"].between(first, last)]))
        behind[line] = _with_all(behind[line], names.loc[rows])
    table = pd.DataFrame(
        {
            "line": list(behind),
            "amount": [cents[k] / 100 for k in list(moves)[:-1]] + [by_piece / 100],
            "pieces": [len(b) for b in behind.values()],
        }
    )
    return StockAccount(
        start=start,
        end=end,
        table=table,
        explained=pd.DataFrame(
            {
                "why": explained["why"],
                "piece": names.reindex(explained["row"]).to_numpy(),
                "amount": explained["cents"] / 100,
            }
        ).reset_index(drop=True),
        unexplained=(by_stock - by_piece - int(explained["cents"].sum())) / 100,
        notes=_notes(flips, life, first, last),
        _moves=MappingProxyType(behind),
    )


def how_it_left(flips: pd.DataFrame) -> pd.Series:
    """One of WAYS for every piece withdrawn, "" for the others: by its outcome, else by a word of its notes."""
    made = pd.Series("", index=flips.index, dtype="str")
    for row in flips.index[flips["status"] == "withdrawn"]:
        parts = [flips.at[row, "outcome"], *re.split(r"[,;.]", str(flips.at[row, "notes"]))]
        said = [outcome_said(p) for p in parts if isinstance(p, str)]
        made[row] = next((w for w in said if w in WAYS), NOT_SAID)
    return made


def ended_sales(flips: pd.DataFrame, ended: pd.DataFrame | None) -> pd.DataFrame:
    """The sales that ended, with `row`, the index of their piece in `flips`, and `sale`, their number."""
    if ended is None or ended.empty:
        days = pd.Series([], dtype="datetime64[ns]")
        none = pd.Series([], dtype="int64")
        return pd.DataFrame({"row": none, "sale": none, "sold_on": days, "ended_on": days})
    row_of = dict(zip(flips["piece"].str.casefold(), flips.index, strict=True))
    rows = ended["piece"].str.casefold().map(row_of)
    made = ended.assign(row=rows)[rows.notna() & ended["sold_on"].notna()]
    return made.assign(row=made["row"].astype("int64"), sale=range(len(made)))


def cost_of_ended_sales(
    flips: pd.DataFrame,
    *,
    events: pd.DataFrame | None,
    ended: pd.DataFrame | None,
    as_of: date,
) -> pd.DataFrame:
    """What the piece of each ended sale had cost when it sold: a row an amount (row, kind, on, cents, sale)."""
    life = lives(flips, events=events)
    away = ended_sales(flips, ended)
    costs = cost_moves(flips, life=life, events=events, as_of=as_of)
    return _left_and_back(_once_back(costs, away), away)


def _once_back(costs: pd.DataFrame, away: pd.DataFrame) -> pd.DataFrame:
    """Costs of the days a buyer had the piece, moved to the day it came back."""
    made = costs.reset_index(drop=True)
    for sale in away.sort_values("sold_on").itertuples(index=False):
        late = (
            (made["row"] == sale.row) & (made["on"] > sale.sold_on) & (made["on"] < sale.ended_on)
        )
        made["on"] = made["on"].mask(late, sale.ended_on)
    return made


def _left_and_back(costs: pd.DataFrame, away: pd.DataFrame) -> pd.DataFrame:
    """The costs that left with each ended sale and came back with it, with both days."""
    both = costs.merge(away[["row", "sale", "sold_on", "ended_on"]], on="row")
    return both[both["on"] <= both["sold_on"]]


def lives(flips: pd.DataFrame, *, events: pd.DataFrame | None = None) -> pd.DataFrame:
    """When each piece came and left, aligned with `flips`.

    Columns: came_on, worked_on (finished or listed, if known), left_on (missing while on hand), sold,
    came_guessed (no day of buying on record), counted (False for a piece that left without a day on record).
    """
    finished = _first_day(flips, events, "finished")
    left = flips["sold_on"].where(flips["sold_on"].notna(), flips["withdrawn_on"])
    sold = flips["status"].eq("sold")
    gone_undated = flips["status"].eq("withdrawn") & left.isna()
    counted = ~(sold & flips["sold_on"].isna()) & ~gone_undated
    known = pd.concat([finished, flips["listed_on"], left], axis=1).min(axis=1)
    came = flips["bought_on"].where(flips["bought_on"].notna(), known).fillna(LONG_AGO)
    came = came.where(~(came > left), left)
    worked = pd.concat([finished, flips["listed_on"]], axis=1).min(axis=1)
    return pd.DataFrame(
        {
            "came_on": came,
            "worked_on": worked,
            "left_on": left,
            "sold": sold,
            "came_guessed": flips["bought_on"].isna(),
            "counted": counted,
        },
        index=flips.index,
    )


def cost_moves(
    flips: pd.DataFrame, *, life: pd.DataFrame, events: pd.DataFrame | None, as_of: date
) -> pd.DataFrame:
    """Every amount spent on a piece: row (index of flips), kind, on, cents; zero amounts are left out.

    Nothing counts before the piece came in.
    """
    dated = _dated_costs(flips, events)
    dated = dated[_believed(dated, flips)]
    undated_on = life["worked_on"].where(life["worked_on"].notna(), life["left_on"])
    undated_on = undated_on.fillna(pd.Timestamp(as_of))
    undated_on = undated_on.where(undated_on >= life["came_on"], life["came_on"])
    paid = to_cents(flips["buy_price"])
    in_parts = _bought_in_parts(flips, events, paid)
    whole = ~flips.index.isin(in_parts["row"])
    parts = [in_parts, _moves(flips.index[whole], "bought", life["came_on"][whole], paid[whole])]
    for kind in ("materials", "other costs"):
        own = dated[dated["kind"] == kind]
        rest = to_cents(flips[_COLUMN[kind]]) - own.groupby("row")["cents"].sum().reindex(
            flips.index, fill_value=0
        ).astype("int64")
        parts += [own, _moves(flips.index, kind, undated_on, rest)]
    made = pd.concat(parts, ignore_index=True).query("cents != 0").reset_index(drop=True)
    came = pd.Series(life["came_on"].reindex(made["row"]).to_numpy(), index=made.index)
    return made.assign(on=made["on"].where(made["on"] >= came, came))


def _bought_in_parts(
    flips: pd.DataFrame, events: pd.DataFrame | None, paid: pd.Series
) -> pd.DataFrame:
    """What each part of a joined piece was bought for, on its own day, where that adds up to the buy price."""
    none = _moves(flips.index[:0], "bought", flips["bought_on"][:0], paid[:0])
    if events is None or events.empty:
        return none
    row_of = dict(zip(flips["piece"].str.casefold(), flips.index, strict=True))
    some = events[(events["event"] == "bought") & events["on"].notna()]
    rows = some["piece"].str.casefold().map(row_of)
    some, rows = some[rows.notna()], rows[rows.notna()].astype("int64")
    if some.empty:
        return none
    made = _moves(pd.Index(rows), "bought", some["on"], to_cents(some["amount"]))
    sums, count = (made.groupby("row")["cents"].transform(how) for how in ("sum", "size"))
    return made[(count > 1) & (sums == paid.reindex(made["row"]).to_numpy())]


def to_cents(amounts: pd.Series) -> pd.Series:
    """Money as whole cents (int64); missing is 0; half a cent is rounded away from 0."""
    scaled = amounts.fillna(0.0).to_numpy(float) * 100
    return pd.Series(
        np.where(scaled < 0, np.ceil(scaled - 0.5 - 1e-7), np.floor(scaled + 0.5 + 1e-7)).astype(
            "int64"
        ),
        index=amounts.index,
    )


def _moves(rows: pd.Index, kind: str, on: pd.Series, cents: pd.Series) -> pd.DataFrame:
    return pd.DataFrame(
        {"row": rows, "kind": kind, "on": on.to_numpy(), "cents": cents.to_numpy("int64")}
    )


def _dated_costs(flips: pd.DataFrame, events: pd.DataFrame | None) -> pd.DataFrame:
    """Cost events of pieces on record, as moves; the note says whether they are materials."""
    if events is None or events.empty:
        return _moves(
            flips.index[:0], "materials", flips["bought_on"][:0], to_cents(flips["buy_price"][:0])
        )
    row_of = dict(zip(flips["piece"].str.casefold(), flips.index, strict=True))
    names = events["piece"].str.casefold()
    mine = (events["event"] == "cost") & names.isin(list(row_of)) & events["on"].notna()
    cost = events[mine]
    kinds = ["materials" if is_material(n) else "other costs" for n in cost["note"].fillna("")]
    return pd.DataFrame(
        {
            "row": names[mine].map(row_of).to_numpy("int64"),
            "kind": kinds,
            "on": cost["on"].to_numpy(),
            "cents": to_cents(cost["amount"]).to_numpy(),
        }
    )


def _believed(dated: pd.DataFrame, flips: pd.DataFrame) -> pd.Series:
    """A piece's dated costs, where they add up to no more than its recorded sum; else that sum."""
    spent = pd.concat({k: to_cents(flips[_COLUMN[k]]) for k in ("materials", "other costs")})
    sums = dated.groupby(["kind", "row"])["cents"].transform("sum")
    said = spent.reindex(pd.MultiIndex.from_frame(dated[["kind", "row"]])).to_numpy()
    believed: pd.Series = sums <= said
    return believed


def _first_day(flips: pd.DataFrame, events: pd.DataFrame | None, event: str) -> pd.Series:
    if events is None or events.empty:
        return pd.Series(pd.NaT, index=flips.index, dtype="datetime64[ns]")
    some = events[events["event"] == event]
    days = some.groupby(some["piece"].str.casefold())["on"].min()
    found = days.reindex(flips["piece"].str.casefold())
    return pd.Series(pd.to_datetime(found).to_numpy(), index=flips.index)


def _why(
    costs: pd.DataFrame, life: pd.DataFrame, first: pd.Timestamp, last: pd.Timestamp
) -> pd.DataFrame:
    """Costs booked after a piece had left, on either side of the period, as signed cents by piece."""
    left = life["left_on"].reindex(costs["row"]).to_numpy()
    on = costs["on"]
    late_here = on.between(first, last) & (left < first.to_datetime64())
    left_here = (left >= first.to_datetime64()) & (left <= last.to_datetime64())
    late_there = left_here & (on > last)
    found = pd.concat(
        [
            costs[late_here].assign(why="cost booked now for a piece that left before"),
            costs[late_there]
            .assign(why="cost of a piece that left now, booked later")
            .assign(cents=lambda t: -t["cents"]),
        ]
    )
    return pd.DataFrame(found.groupby(["why", "row"])["cents"].sum().reset_index())


def _by_piece(moves: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    sums = moves.groupby("row")["cents"].sum().sort_index()
    return pd.DataFrame(
        {"piece": names.reindex(sums.index).to_numpy(), "amount": sums.to_numpy() / 100}
    )


def _with_all(behind: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """Pieces that cost nothing are pieces too."""
    free = names[~names.isin(list(behind["piece"]))]
    return pd.concat(
        [behind, pd.DataFrame({"piece": free.to_numpy(), "amount": 0.0})], ignore_index=True
    )


def _notes(
    flips: pd.DataFrame, life: pd.DataFrame, first: pd.Timestamp, last: pd.Timestamp
) -> tuple[str, ...]:
    left = life["left_on"]
    here = life["counted"] & (life["came_on"] <= last) & ~(left < first)
    notes = []
    dateless = int((~life["counted"]).sum())
    if dateless:
        notes.append(
            f"{pieces_said(dateless)} sold without a day of sale or gone without a day: in no period and not in stock."
        )
    guessed = int((here & life["came_guessed"]).sum())
    if guessed:
        notes.append(
            f"{pieces_said(guessed)} without a day of buying: counted as bought on the first day known of it, or long "
            "before where none is known."
        )
    priceless = int((here & flips["buy_price"].isna()).sum())
    if priceless:
        notes.append(
            f"{pieces_said(priceless)} without a buy price: counted as 0, so stock and cost are too low."
        )
    return tuple(notes)
