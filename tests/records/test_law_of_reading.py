"""The law of reading: a value is used where one reading is left, else asked about and left empty."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlib.records.cleaning.clean import CleanFlips, clean_table
from fleetlib.records.files.reading import table_from_text
from fleetlib.records.parsing.amounts import read_hours, read_money, read_prices
from fleetlib.records.parsing.vocabulary import look_up

AS_OF = date(2026, 9, 30)


def record(*lines: str) -> CleanFlips:
    return clean_table(table_from_text("\n".join(lines) + "\n", name="flips.csv"), as_of=AS_OF)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("250?", 250), ("350!!", 350), ("$1.2k", 1200), ("~300", 300), ("4 x 45", 180), ("90 + 20 delivery", 90),
        ("sold 380 (asked 450)", 380), ("250 (was 280)", 250), ("500 now 450", 450), ("300 -> 260", 260),
        ("$140/pair", 140), ("450 obo", 450), ("120/140", None), ("120 each", None), ("145 quid", None),
    ],
)  # fmt: skip
def test_an_amount_of_one_reading_is_used(text: str, value: float | None) -> None:
    assert read_money([text])[0].value == value


def test_what_stands_beside_an_amount_is_kept() -> None:
    asked, charged, pair = read_prices(["sold 380 (asked 450)", "90 + 20 delivery", "300 (pair)"])
    assert (asked.before, charged.charge, pair.count) == (450, 20, 2)


def test_the_price_of_one_piece_counts_for_each_of_its_lot() -> None:
    found = record("type,count,price", "nightstand,2,120 each", "dresser,,120 each")
    assert found.flips["sale_price"].tolist()[0] == 240 and found.flips["sale_price"].isna()[1]


def test_a_sale_at_an_unreadable_price_is_a_sale_and_every_row_is_kept() -> None:
    found = record("type,sold on,price", "desk,2026-04-02,120/140", "bench,2026-04-03,")
    assert found.flips["status"].tolist() == ["sold", "sold"]
    assert found.flips["sale_price"].isna().all() and found.rows_in == 2
    assert found.questions["column"].tolist() == ["sale_price"] * 2


@pytest.mark.parametrize(
    ("word", "status"), [("gave to my sister", "withdrawn"), ("fell through", "listed"), ("traded", "sold")]
)  # fmt: skip
def test_a_word_in_a_price_cell_means_what_it_says(word: str, status: str) -> None:
    found = record("type,listed on,sold on,price", f"desk,2026-03-01,2026-04-02,{word}")
    assert found.flips["status"].tolist() == [status]


@pytest.mark.parametrize(
    ("column", "text", "word"),
    [
        ("furniture_type", "6 drawer dresser", "dresser"), ("furniture_type", "green hutch", "hutch"),
        ("furniture_type", "vanity w/ mirror", "vanity"), ("furniture_type", "desk lamp", "desk lamp"),
        ("furniture_type", "nesting tables", "nesting tables"), ("finish", "painted white", "paint"),
        ("wood", "oak?", "oak"), ("wood", "pine i think", "pine"), ("wood", "mahog", "mahogany"),
        ("wood", "oak veneer?", "oak"), ("wood", "silky oak", "silky oak"),
    ],
)  # fmt: skip
def test_a_word_is_found_inside_only_where_one_reading_is_left(
    column: str, text: str, word: str
) -> None:
    assert look_up(column, text).value == word


def test_hours_of_one_reading_are_used() -> None:
    cells = read_hours(["3h30m00s", "210'", "2 days"])
    assert [c.value for c in cells] == [3.5, 3.5, None]


def test_minutes_under_hours_are_seen_by_their_neighbours() -> None:
    found = record("type,hrs,price", *[f"desk,{h},90" for h in ("3.5", "6", "4", "210")])
    assert found.flips["hours"].tolist() == [3.5, 6, 4, 3.5]


def test_tenths_beside_hours_and_minutes_are_asked_about() -> None:
    found = record("type,hrs,price", "desk,3:45,90", "desk,3.30,95")
    assert found.flips["hours"].isna().tolist() == [False, True]


def test_a_day_ten_years_off_its_neighbours_is_asked_about() -> None:
    days = ("2026-03-01", "2016-03-04", "2026-03-09")
    found = record("type,listed on,price", *[f"desk,{d},90" for d in days])
    assert found.flips["listed_on"].isna().tolist() == [False, True, False]
