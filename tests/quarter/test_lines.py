"""The quarter's lines beside earlier ones, and listings as they stood on a day."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.quarters import Quarter
from fleetlib.base.settings import Settings
from fleetlib.quarter.lines import DAYS, PAID_SHARE, as_known_on, quarter_lines
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event
from tests.histories import events_of, flips_of
from tests.true_records import records_of


def _records(rows, as_of=date(2026, 9, 30)):
    return records_of(flips_of(rows), events=events_of([]), settings=Settings(), as_of=as_of)


def _sold(name, listed, sold, price=100, ask=125, **more):
    return {
        "piece": name, "furniture_type": "desk", "bought_on": listed, "buy_price": 10, "listed_on": listed,
        "asking_price": ask, "sold_on": sold, "sale_price": price, **more,
    }  # fmt: skip


ROWS = [
    _sold("A", "2025-07-01", "2025-08-01"),
    _sold("B", "2026-04-10", "2026-05-20"),
    _sold("C", "2026-07-01", "2026-07-11", price=200, ask=400, last_asking_price=250),
    _sold("D", "2026-08-01", "2026-09-20"),
    {"piece": "E", "furniture_type": "desk", "bought_on": "2026-08-05", "listed_on": "2026-08-20"},
]


def _value(lines, line, which="this"):
    return lines.table.set_index("line").loc[line, which]


def test_each_line_stands_beside_the_quarter_before_and_the_same_last_year():
    lines = quarter_lines(_records(ROWS), Quarter(2026, 3))
    assert lines.names == ("2026-Q3", "2026-Q2", "2025-Q3")
    assert lines.table.set_index("line").loc[
        "sold", ["this", "previous", "year_before"]
    ].tolist() == [2, 1, 1]
    assert list(lines.pieces("sold")["piece"]) == ["C", "D"]
    assert list(lines.pieces("sold", "previous")["piece"]) == ["B"]
    assert list(lines.pieces(PAID_SHARE, "year_before")["piece"]) == ["A"]
    with pytest.raises(BadQuestion, match='no period "next"'):
        lines.pieces("sold", "next")


def test_sale_to_ask_is_a_ratio_of_totals_over_the_last_ask():
    lines = quarter_lines(_records(ROWS), Quarter(2026, 3))
    assert _value(lines, PAID_SHARE) == pytest.approx((200 + 100) / (250 + 125))


def test_days_to_sell_count_what_has_not_sold_yet():
    # Listed in the year up to 30 September: B 40 days, C 10, D 50, all sold, and E on the market for 41 days.
    # By hand: at 10 days 3/4 are left, at 40 days 2/4; the median is reached there.
    lines = quarter_lines(_records(ROWS), Quarter(2026, 3))
    assert _value(lines, DAYS) == 40


def test_a_median_that_is_not_reached_is_said_and_not_made_up():
    rows = [
        *ROWS[:1],
        *(
            {"piece": f"X{k}", "furniture_type": "desk", "listed_on": "2026-07-05"}
            for k in range(5)
        ),
    ]
    lines = quarter_lines(_records(rows), Quarter(2026, 3))
    assert np.isnan(_value(lines, DAYS))
    shown = lines.shown().set_index("line").loc[DAYS]
    assert shown["2026-Q3"] == "not reached"


def test_before_the_first_record_there_is_nothing_rather_than_nought():
    lines = quarter_lines(_records(ROWS[1:]), Quarter(2026, 2))
    assert lines.accounts[1] is None
    assert np.isnan(_value(lines, "takings", "previous"))
    assert lines.shown().set_index("line").loc["takings", "2026-Q1"] == "-"
    assert lines.pieces("sold", "previous").empty


def test_listings_are_seen_as_they_stood_on_the_day():
    known = as_known_on(flips_of(ROWS), date(2026, 8, 25)).set_index("piece")
    assert known.loc["D", "status"] == "listed"
    assert pd.isna(known.loc["D", "sale_price"])
    assert known.loc["D", "days_listed"] == 24
    assert known.loc["C", "status"] == "sold"
    assert set(known.index) == {"A", "B", "C", "D", "E"}


def test_a_quarter_with_a_return_stands_beside_those_without_one(tmp_path):
    (tmp_path / "flips.csv").write_text("piece,furniture_type,sale_price\n")
    (tmp_path / "settings.toml").write_text("delivery_cost = 0\n")
    for on, event, amount, note in (
        (date(2026, 1, 5), "bought", 80, "furniture_type=desk"),
        (date(2026, 2, 20), "sold", 420, ""),
        (date(2026, 4, 10), "returned", None, ""),
        (date(2026, 5, 10), "deposit", 30, ""),
        (date(2026, 7, 10), "sold", 400, ""),
    ):
        append_event(tmp_path, on=on, piece="A", event=event, amount=amount, note=note)
    records = read_records(tmp_path, as_of=date(2026, 9, 30))
    for number, returned, held in ((1, None, None), (2, 420, 30), (3, 0, 0)):
        lines = quarter_lines(records, Quarter(2026, number))
        if returned is None:
            assert "returns and refunds" not in set(lines.table["line"])
            continue
        assert _value(lines, "returns and refunds") == returned
        assert _value(lines, "deposits held at the end") == held
        assert _value(lines, "sold", "previous") == (1 if number == 2 else 0)
        assert lines.pieces("returns and refunds")["piece"].tolist() == ["A"] * (number == 2)
    previous = lines.pieces("returns and refunds", "previous")
    assert previous["amount"].tolist() == [420]
