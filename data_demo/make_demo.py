"""Write the demo shop's files: `python data_demo/make_demo.py` rewrites this folder, byte for byte the same.

`invented_truth.py` states what is true of the shop, `invented_shop.py` draws its history, and this script writes it
down the way a person with sawdust on their hands does (`handwriting.py`): a different date style each year,
"$1,150", "12 hrs", 5'6", misspelt woods, a title, blank lines, a totals line, a few rows that cannot be, two rows
typed twice.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from handwriting import (
    write_day,
    write_dims,
    write_hours,
    write_made,
    write_money,
    write_plain,
    write_type,
    write_wood,
    write_word,
)
from invented_shop import COLUMNS, Demo, make_shop
from invented_truth import AS_OF, STEPS, TRUTH, Truth

__all__ = ["AS_OF", "SEED", "TRUTH", "Demo", "Truth", "make_shop", "rough_rows", "write_untidy"]

SEED = 242

TITLE = "Marrowdale shed - every piece since fall 2023"
HEADINGS = {  # the owner's heading: the record's column(s)
    "Piece": "piece",
    "What": "furniture_type",
    "Wood": "wood",
    "Build": "construction",
    "Finish": "finish",
    "Look": "style",
    "Dims (WxDxH)": "size",
    "Made": "year_made",
    "Grade": "grade",
    "Bought": "bought_on",
    "Paid": "buy_price",
    "Bought lot": "bought_lot",
    "Supplies": "materials_cost",
    "Other costs": "other_costs",
    "Hrs": "hours",
    "Hrs clean": "hours_clean",
    "Hrs repair": "hours_repair",
    "Hrs sand": "hours_sand",
    "Hrs finish": "hours_finish",
    "Hrs sell": "hours_sell",
    "Gut price": "gut_price",
    "Listed": "listed_on",
    "Asking": "asking_price",
    "Last asking": "last_asking_price",
    "Sold on": "sold_on",
    "Sold for": "sale_price",
    "Fees": "selling_fees",
    "Delivery charged": "delivery_charged",
    "Where sold": "channel",
    "Withdrawn": "withdrawn_on",
    "Shelf": "shelf",
    "Notes": "notes",
}
SHELVES = ("front bay", "back bay", "loft", "lean-to", "")

SETTINGS = """\
# The demo shop's settings. Everything not named here keeps its default.
currency = "USD"
length_unit = "in"
date_order = "month first"
as_of = 2026-09-30            # so that everything shown can be shown again
target_hourly_pay = 22
delivery_cost = 8             # fuel and an hour's help, spread over the pieces nobody paid delivery for
usual_channel = "local listing"
markdown_weekday = "Friday"
weeks_between_markdowns = 2
most_markdowns = 3
price_step = 10
horizon_weeks = 20
salvage_share = 0.35
reserve_share = 0.2

[fee_share]
"local listing" = 0
"market stall" = 0.12
"word of mouth" = 0

[words.furniture_type]
buffet = "sideboard"          # in this shop a buffet never carries a hutch
"""


def write_untidy(demo: Demo, folder: str | Path) -> None:
    """Write flips.csv, events.csv, supplies.csv, finds.csv and settings.toml into `folder`."""
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    late = _told_by_event(demo)
    _write(place / "flips.csv", rough_rows(demo, late))
    _write(place / "events.csv", _event_rows(demo, late))
    bills = demo.supplies.assign(bought_on=demo.supplies["bought_on"].dt.strftime("%Y-%m-%d"))
    _write(place / "supplies.csv", [list(bills), *bills.map(write_plain).to_numpy().tolist()])
    wanted = [
        c
        for c in COLUMNS
        if c in ("piece", "notes") or (c != "hours" and demo.finds[c].notna().any())
    ]
    _write(place / "finds.csv", [wanted, *demo.finds[wanted].map(write_plain).to_numpy().tolist()])
    with (place / "settings.toml").open("w", encoding="utf-8", newline="\n") as file:
        file.write(SETTINGS)


def rough_rows(demo: Demo, told_by_event: Sequence[str] = ()) -> list[list[str]]:
    """flips.csv line by line; the sales of the pieces `told_by_event` are left to events.csv."""
    rng = np.random.default_rng([demo.seed, 7])
    lines = [[TITLE], []]
    lines.append(list(HEADINGS))
    written: list[list[str]] = []
    year = demo.flips["bought_on"].iloc[0].year
    for _, row in demo.flips.iterrows():
        if row["bought_on"].year != year:  # a gap between the years
            year = row["bought_on"].year
            written.append([])
            if year == 2025:  # a new page of the book begins with its headings
                written.append(list(HEADINGS))
        written.append(_rough(rng, row, row["piece"] in told_by_event))
    full = [i for i, line in enumerate(written) if line and line[0].startswith("A-")]
    _slips(rng, written, full)
    for share, kind in (
        (0.12, "no type"),
        (0.31, "two prices"),
        (0.55, "backwards"),
        (0.72, "range"),
    ):
        at = full[int(share * len(full))]
        written[at] = [*written[at], kind]  # marked here, put in below so that places stay put
    rows: list[list[str]] = []
    for line in written:
        if len(line) > len(HEADINGS):
            rows += [line[:-1], _impossible(line[-1])]
        else:
            rows.append(line)
    again = [next(r for r in rows if r and r[0] == f"A-{number}") for number in _typed_twice(demo)]
    rows[-20:-20] = [again[0]]
    rows.append(again[1])
    sold = demo.flips["sale_price"].sum()
    rows += [
        [],
        _cells(
            Piece="TOTAL",
            Paid=write_money(demo.flips["buy_price"].sum(), 2024),
            **{"Sold for": write_money(sold, 2024)},
        ),
    ]
    return lines + rows


def _typed_twice(demo: Demo) -> tuple[int, int]:
    sold = demo.flips.index[demo.flips["sale_price"].notna()]
    return 101 + int(sold[len(sold) // 4]), 101 + int(sold[len(sold) // 2])


def _told_by_event(demo: Demo) -> list[str]:
    """The newest two sales and the newest withdrawal, so fresh that only events.csv knows of them."""
    flips = demo.flips
    sold = flips[flips["sale_price"].notna()].sort_values("sold_on", kind="stable")
    gone = flips[flips["withdrawn_on"].notna() & flips["listed_on"].notna()]
    newest = gone.sort_values("withdrawn_on", kind="stable")["piece"].tail(1)
    return [*sold["piece"].tail(2), *newest]


def _cells(**typed: str) -> list[str]:
    return [typed.get(heading, "") for heading in HEADINGS]


def _impossible(kind: str) -> list[str]:
    """Rows that cannot be used as they stand: each lacks what makes it a flip, or contradicts itself."""
    if kind == "no type":
        return _cells(
            Wood="oak",
            Bought="11/18/23",
            Paid="$40",
            Hrs="6 hrs",
            **{"Sold on": "1/6/24", "Sold for": "$180"},
        )
    if kind == "two prices":
        return _cells(
            What="end table",
            Wood="pine",
            Finish="wax",
            Bought="6/1/24",
            Paid="$10",
            **{"Sold on": "7/13/24", "Sold for": "120/140"},
        )
    if kind == "backwards":
        return _cells(
            What="desk",
            Wood="birch",
            Finish="poly",
            Bought="14 May 2025",
            Paid="45",
            Listed="2 Jun 2025",
            Asking="325",
            **{"Sold on": "19 Apr 2025", "Sold for": "290"},
        )
    return _cells(
        What="nightstand",
        Wood="maple",
        Finish="oil",
        Bought="3 Sep 2025",
        Paid="15",
        Listed="1 Oct 2025",
        Asking="140",
        **{"Sold on": "18 Oct 2025", "Sold for": "110-120"},
    )


def _slips(rng: np.random.Generator, written: list[list[str]], full: list[int]) -> None:
    """Single cells nobody can read; the rows stay good."""
    place = {heading: i for i, heading in enumerate(HEADINGS)}
    spots = rng.choice(len(full), 6, replace=False)
    wrongs = [
        ("Hrs", "tbd"),
        ("Bought", "2/30/24"),
        ("Made", "old"),
        ("Supplies", "n/a"),
        ("Dims (WxDxH)", ""),
        ("Grade", "A-"),
    ]
    for spot, (heading, text) in zip(spots, wrongs, strict=True):
        line = written[full[int(spot)]]
        line[place[heading]] = text or _no_depth(line[place[heading]])


def _no_depth(dims: str) -> str:
    """A size whose middle measure nobody wrote down."""
    sides = dims.split("x")
    return " x ".join([sides[0].strip(), "?", sides[-1].strip()]) if len(sides) == 3 else dims


def _rough(rng: np.random.Generator, row: pd.Series, told_by_event: bool) -> list[str]:
    year = row["bought_on"].year
    r = rng.random(12)  # always as many draws, so that one piece never shifts the next
    small = int(rng.integers(1000))
    if told_by_event:
        row = row.copy()
        row[["sold_on", "withdrawn_on"]] = pd.NaT
        row[["sale_price", "selling_fees", "delivery_charged"]] = np.nan
        row[["channel", "last_asking_price"]] = None
    typed: dict[str, Any] = {h: row.get(c) for h, c in HEADINGS.items() if c in COLUMNS}
    typed["What"] = write_type(row, small)
    typed["Wood"] = write_wood(row["wood"], r[0])
    typed["Build"] = "" if r[1] < 0.3 else row["construction"]
    given_up = pd.isna(row["listed_on"]) and pd.notna(row["withdrawn_on"])
    typed["Finish"] = "" if given_up else write_word(row["finish"], small)
    typed["Look"] = "" if r[2] < 0.06 else write_word(row["style"], small)
    typed["Dims (WxDxH)"] = write_dims(row, r[3], year)
    if not typed["Dims (WxDxH)"]:  # which of two kinds a tall dresser is, its size alone tells
        typed["What"] = typed["What"].replace("tall dresser", "chest of drawers")
    typed["Made"] = write_made(row["year_made"], r[4])
    typed["Grade"] = "" if r[5] < 0.1 else write_plain(row["grade"])
    typed["Paid"] = "free" if row["buy_price"] == 0 else write_money(row["buy_price"], year)
    typed["Supplies"] = "" if r[6] < 0.06 else write_money(row["materials_cost"], year)
    typed["Other costs"] = "" if row["other_costs"] == 0 else write_money(row["other_costs"], year)
    typed["Hrs"] = "" if r[7] < 0.03 else write_hours(row["hours"], year, r[7])
    for step in STEPS:
        typed[f"Hrs {step}"] = write_plain(row[f"hours_{step}"])
    for heading in ("Gut price", "Asking", "Last asking", "Sold for", "Fees", "Delivery charged"):
        amount = row[HEADINGS[heading]]
        zero = heading in ("Fees", "Delivery charged") and amount == 0
        typed[heading] = "" if zero else write_money(amount, year)
    if typed["Asking"] and r[8] < 0.06:
        typed["Asking"] += " obo" if r[8] < 0.04 else " firm"
    for heading in ("Bought", "Listed", "Sold on", "Withdrawn"):
        typed[heading] = write_day(row[HEADINGS[heading]])
    typed["Where sold"] = (
        write_plain(row["channel"]).capitalize() if r[9] < 0.3 else write_plain(row["channel"])
    )
    typed["Shelf"] = SHELVES[small % len(SHELVES)]
    return [write_plain(typed.get(heading)) for heading in HEADINGS]


def _event_rows(demo: Demo, late: Sequence[str]) -> list[list[str]]:
    table = demo.events
    told = demo.flips[demo.flips["piece"].isin(list(late))]
    extra = [
        (row.sold_on, row.piece, "sold", row.sale_price, None)
        if pd.notna(row.sale_price)
        else (row.withdrawn_on, row.piece, "withdrawn", None, row.notes)
        for row in told.itertuples()
    ]
    extra += _typing_slip(demo)
    table = pd.concat([table, pd.DataFrame(extra, columns=list(table))], ignore_index=True)
    table = table.sort_values("on", kind="stable", ignore_index=True)
    table["on"] = table["on"].dt.strftime("%Y-%m-%d")
    return [list(table), *table.map(write_plain).to_numpy().tolist()]


def _typing_slip(demo: Demo) -> list[tuple[Any, ...]]:
    """An offer entered with a nought too many, and taken back at once."""
    listed = demo.flips[demo.flips["sold_on"].isna() & demo.flips["withdrawn_on"].isna()]
    piece = listed["piece"].iloc[0]
    day = pd.Timestamp(demo.as_of - timedelta(days=1))
    return [(day, piece, "offer", 2200.0, None), (day, piece, "undo", None, None)]


def _write(path: Path, rows: Sequence[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for row in rows:
            if len(row):
                writer.writerow(row)
            else:
                file.write("\n")


def main() -> None:
    """Rewrite the folder this script lies in."""
    demo = make_shop(SEED)
    write_untidy(demo, Path(__file__).resolve().parent)
    print(f"Wrote {len(demo.flips)} flips and {len(demo.events)} events as of {date(2026, 9, 30)}.")


if __name__ == "__main__":
    main()
