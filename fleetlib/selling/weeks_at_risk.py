"""Past listings week by week: how long each piece was on the market and what was asked for it then.

Sold and unsold count alike. A piece still listed, withdrawn or given away tells that it did *not* sell in
its weeks, and leaving it out overstates the chance of selling. A piece taken down and put up again is one
listing; weeks in which it was off the market are no exposure; the week of the sale counts as a week.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.said import pieces_said
from fleetlib.records.listing_history import ListingEvents, listing_events
from fleetlib.records.own_price import first_advice, own_price
from fleetlib.records.rows_by_name import once_of
from fleetlib.records.schema.columns import LEFT_UNSOLD

USUAL_SHARE_PAID = 0.93  # sale price over last asking price, where a shop's own records don't say
HELD_AT_FIRST = (
    4  # a first asking price is held for a quarter of the time (common practice, no source)
)
MOST_WEEKS = 104  # beyond two years on the market a listing tells about storage, not about buyers
MOST_LISTINGS = 1500  # beyond so many, older ones tell of another market: only the newest are used
DATED, LAST_ONLY, NEITHER = "dated changes", "last asking price", "first asking price only"


@dataclass(frozen=True, eq=False, slots=True)
class Listings:
    """Every usable past or present listing.

    table: one row per listing: piece, furniture_type, usual_price, gut_price (the owner's own idea; the first
        asking price where that stands in; missing where neither), first_ask, last_ask, sale_price (missing
        while unsold), weeks (whole weeks on the market, the week of sale included), sold, asks_from (which of
        "dated changes", "last asking price", "first asking price only" the weekly asks rest on), changed
        (the asking price is known to have changed).
    asks: for each row the asking price of each of its weeks, in money; shape (weeks,).
    notes: what could not be used and what was assumed.
    """

    table: pd.DataFrame = field(repr=False)
    asks: tuple[np.ndarray, ...] = field(repr=False)
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.table)


def newest_listings(flips: pd.DataFrame) -> np.ndarray:
    """Which rows (n,) the pace of selling is learned from: beyond `MOST_LISTINGS` listed ones, those listed last."""
    older = flips["listed_on"].rank(method="first", ascending=False) > MOST_LISTINGS
    return ~older.to_numpy(bool)


_PRICES = ("asking_price", "last_asking_price", "gut_price")  # nobody asks nothing: 0 is none known


def listing_histories(
    flips: pd.DataFrame,
    events: pd.DataFrame | None,
    *,
    usual_price: np.ndarray,
    as_of: date,
    advice_log: pd.DataFrame | None = None,
) -> Listings:
    """Turn flips and events into listing-weeks, as they were known on `as_of`.

    flips: the clean table, one row per piece. events: the event table, or None. usual_price: shape
    (len(flips),), the usual sale price of each piece in money, its own sale left out; NaN where unknown.
    advice_log: what was advised when (columns date, piece); a first asking price set after advice on that piece
    is no longer the owner's own idea and does not stand in for a missing gut price.

    Beyond 1,500 listings the newest are used.
    Weekly asks: dated changes where there are any. Else the first asking price for a quarter of the time and
    then equal per-cent steps to the last one; the last one is taken to be, where it is not on record, min(first
    ask, sale / .93) for a sold piece and what the sold pieces' mean weekly rate makes it for an unsold one.
    Where every known change since the first dated one is dated, a piece without any kept its price.
    """
    new = newest_listings(flips)
    flips, usual_price = flips[new], np.asarray(usual_price, dtype=float)[new]
    flips = flips.assign(**{c: flips[c].where(flips[c] > 0) for c in _PRICES})
    told = {} if events is None else once_of(events, listing_events)
    dated = {name: own.until(as_of) for name, own in told.items()}
    advised = first_advice(advice_log)
    ledger_start = _complete_ledger_start(flips, dated)
    rows: list[dict[str, Any]] = []
    paths: list[np.ndarray | None] = []
    left_out = {f"only the newest {MOST_LISTINGS:,} listings are used": int((~new).sum())}
    left_out |= {"no listing date": 0, "no asking price": 0, "no date of sale": 0}
    records: list[dict[str, Any]] = flips.to_dict("records")  # type: ignore[assignment]
    for row, usual in zip(records, usual_price, strict=True):
        own = dated.get(str(row["piece"]).casefold(), ListingEvents())
        reason = _why_not(row, as_of, own)
        if reason is not None:
            if reason in left_out:
                left_out[reason] += 1
            continue
        made, path = _one_listing(row, own, as_of, ledger_start)
        made["usual_price"] = usual
        made["gut_price"] = own_price(
            row["gut_price"],
            made["first_ask"],
            listed_on=row["listed_on"].date(),
            advised_on=advised.get(str(row["piece"]).casefold()),
        )
        rows.append(made)
        paths.append(path)
    table = pd.DataFrame(rows, columns=_COLUMNS).astype(_TYPES)
    asks = _fill_in(table, paths)
    return Listings(table=table, asks=asks, notes=_notes(table, left_out))


_TYPES = {
    "piece": "str",
    "furniture_type": "str",
    "usual_price": "float64",
    "gut_price": "float64",
    "first_ask": "float64",
    "last_ask": "float64",
    "sale_price": "float64",
    "weeks": "int64",
    "sold": "bool",
    "asks_from": "str",
    "changed": "bool",
}
_COLUMNS = list(_TYPES)


def _complete_ledger_start(
    flips: pd.DataFrame, dated: dict[str, ListingEvents]
) -> pd.Timestamp | None:
    """The day since which every known change of an asking price is dated; None when no such day.

    One later piece whose last asking price differs from its first without a dated change shows that the
    dated changes are not complete.
    """
    changed = {name: own.prices[0][0] for name, own in dated.items() if own.prices}
    if not changed:
        return None
    start = pd.Timestamp(min(changed.values()))
    since = flips[
        (flips["listed_on"] >= start) & (flips["last_asking_price"] != flips["asking_price"])
    ]
    known = since[since["last_asking_price"].notna() & since["asking_price"].notna()]
    return start if known["piece"].astype("str").str.casefold().isin(list(changed)).all() else None


def _why_not(row: dict[str, Any], as_of: date, own: ListingEvents) -> str | None:
    listed, sold_on, sale = row["listed_on"], row["sold_on"], row["sale_price"]
    if pd.isna(listed):
        return "no listing date" if pd.notna(sale) or pd.notna(sold_on) else "in work"
    if listed.date() > as_of:
        return "not listed yet"
    if pd.isna(row["asking_price"]) and not own.prices:
        return "no asking price"
    if pd.isna(sold_on) and (pd.notna(sale) or row.get("outcome") == "sold"):
        return "no date of sale"
    if pd.isna(sold_on) and pd.isna(row["withdrawn_on"]) and row.get("outcome") in LEFT_UNSOLD:
        return "no date of withdrawal"
    return None


def _one_listing(
    row: dict[str, Any], own: ListingEvents, as_of: date, ledger_start: pd.Timestamp | None
) -> tuple[dict[str, Any], np.ndarray | None]:
    """The table row of one listing and its weekly asks; None where they must be filled in from the others."""
    listed, today = row["listed_on"].date(), pd.Timestamp(as_of)
    sold = bool(pd.notna(row["sold_on"]) and row["sold_on"] <= today)
    end = min(d for d in (row["sold_on"], row["withdrawn_on"], today) if pd.notna(d)).date()
    last_day = own.days_on_market(listed, end)
    weeks = last_day // 7 + 1 if sold else last_day // 7
    if weeks > MOST_WEEKS:
        weeks, sold = MOST_WEEKS, False
    first = row["asking_price"] if pd.notna(row["asking_price"]) else own.prices[0][1]
    later = [
        (own.days_on_market(listed, on), amount) for on, amount in own.prices if listed <= on <= end
    ]
    made = {
        "piece": row["piece"],
        "furniture_type": row["furniture_type"],
        "first_ask": first,
        "sale_price": row["sale_price"] if sold else np.nan,
        "weeks": weeks,
        "sold": sold,
    }
    held = (
        ledger_start is not None
        and row["listed_on"] >= ledger_start
        and pd.isna(row["last_asking_price"])
    )
    path: np.ndarray | None
    if later or held:
        days = np.minimum(7 * np.arange(weeks) + 3, last_day)
        path = np.full(weeks, float(first))
        for day, amount in later:
            path[days >= day] = amount
        made["asks_from"], made["last_ask"] = DATED, later[-1][1] if later else first
    elif pd.notna(row["last_asking_price"]):
        last = float(row["last_asking_price"])
        path = _slide(float(first), last, weeks)
        made["asks_from"], made["last_ask"] = LAST_ONLY, last
    else:
        path = None
        made["asks_from"], made["last_ask"] = NEITHER, np.nan
        if sold and pd.notna(row["sale_price"]):
            made["last_ask"] = min(first, row["sale_price"] / USUAL_SHARE_PAID)
    made["changed"] = bool(path is not None and not np.isclose(made["last_ask"], first))
    return made, path


def _slide(first: float, last: float, weeks: int) -> np.ndarray:
    """From `first`, held for a quarter of the time, to `last` in equal per-cent steps."""
    if weeks <= 1:
        return np.full(weeks, last)
    step = np.arange(weeks) - weeks // HELD_AT_FIRST
    return np.asarray(first * (last / first) ** np.clip(step / step[-1], 0.0, 1.0))


def _fill_in(table: pd.DataFrame, paths: list[np.ndarray | None]) -> tuple[np.ndarray, ...]:
    """Asks of listings known only by their first asking price; sets their last_ask in `table`."""
    unknown = (
        table["asks_from"].eq(NEITHER) & table["last_ask"].notna() & (table["weeks"] > 1)
    ).to_numpy()
    first, last = table["first_ask"].to_numpy(), table["last_ask"].to_numpy().copy()
    weeks = table["weeks"].to_numpy()
    steps = float((weeks[unknown] - 1).sum())
    fall = float(np.log(last[unknown] / first[unknown]).sum())
    rate = fall / steps if steps else 0.0
    open_end = np.isnan(last)
    most = np.maximum(rate * np.maximum(weeks - 1, 0), np.log(0.4))
    last[open_end] = (first * np.exp(most))[open_end]
    table["last_ask"] = last
    return tuple(
        _slide(first[i], last[i], weeks[i]) if path is None else path
        for i, path in enumerate(paths)
    )


def _notes(table: pd.DataFrame, left_out: dict[str, int]) -> tuple[str, ...]:
    notes = [
        f"{pieces_said(count)} left out of the selling time: {reason}."
        for reason, count in left_out.items()
        if count
    ]
    guessed = table["asks_from"].eq(NEITHER)
    if guessed.any():
        told = bool((guessed & table["sold"]).any())
        later = (
            "later asking prices are filled in from what such pieces sold for"
            if told
            else "it is taken as never changed"
        )
        notes.append(f"{pieces_said(int(guessed.sum()))} with only a first asking price: {later}.")
    return tuple(notes)
