"""A period's accounts, by hand and against the arithmetic of Schedule C, part III."""

from datetime import date

import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.settings import Settings
from fleetlib.books.accounts import accounts, part_three
from tests.histories import events_of, flips_of
from tests.true_records import records_of

Q3 = {"start": date(2026, 7, 1), "end": date(2026, 9, 30)}

SHOP = [
    {"piece": "A", "furniture_type": "dresser", "wood": "oak", "bought_on": "2026-05-02", "buy_price": 80,
     "materials_cost": 12.5, "other_costs": 5, "hours": 9, "listed_on": "2026-06-01", "asking_price": 340,
     "sold_on": "2026-07-09", "sale_price": 300, "selling_fees": 15, "delivery_charged": 20},
    {"piece": "B", "furniture_type": "desk", "bought_on": "2026-07-15", "buy_price": 60, "materials_cost": 20,
     "listed_on": "2026-08-01", "asking_price": 200},
    {"piece": "C", "furniture_type": "chair", "bought_on": "2026-06-20", "buy_price": 40, "materials_cost": 7.25,
     "hours": 3, "listed_on": "2026-07-02", "withdrawn_on": "2026-09-01"},
    {"piece": "D", "furniture_type": "bench", "bought_on": "2026-08-01", "buy_price": 33.33, "hours": 2,
     "sold_on": "2026-08-03", "sale_price": 90},
    {"piece": "E", "furniture_type": "mirror", "bought_on": "2026-01-01", "sold_on": "2026-09-30",
     "sale_price": 45.5},
]  # fmt: skip


def _records(rows=SHOP, events=(), supplies=None, as_of=date(2026, 9, 30)):
    return records_of(
        flips_of(list(rows)),
        events=events_of(list(events)),
        supplies=supplies,
        settings=Settings(),
        as_of=as_of,
    )


def test_schedule_c_part_three_adds_up_as_on_the_form():
    # Schedule C (Form 1040), 2025 layout: opening 1200 + purchases 5000 + labour 0 + materials 900 + other 100
    # = 7200 on line 40; closing 1500; line 42 = 5700.
    made = part_three(opening=1200, purchases=5000, materials=900, other=100, closing=1500)
    assert made.sum_40 == 7200
    assert made.cost_42 == 5700
    assert made.labour_37 == 0


def test_the_part_three_of_a_period_is_its_cost_of_pieces_sold():
    books = accounts(_records(), **Q3)
    assert books.part_three.cost_42 == books.value("cost of pieces sold") == 130.83
    assert books.part_three.purchases_36 == pytest.approx(60 + 33.33 - 47.25)


def test_a_quarter_by_hand():
    books = accounts(_records(), **Q3)
    found = dict(zip(books.table["line"], books.table["value"], strict=True))
    assert found["takings"] == 435.5
    assert found["delivery charged"] == 20
    assert found["fees"] == 15
    assert found["profit"] == pytest.approx(435.5 + 20 - 15 - 130.83)
    assert found["cost of pieces withdrawn"] == 47.25
    assert found["hours in pieces sold"] == 11
    # A earned 300 + 20 - 15 - 97.50 = 207.50 and D 56.67 in 11 hours; E has no hours.
    assert found["pay per hour"] == pytest.approx((207.5 + 56.67) / 11)
    # With C given up: 47.25 spent and 3 hours more.
    assert found["pay per hour, withdrawn counted"] == pytest.approx((207.5 + 56.67 - 47.25) / 14)
    assert [found[k] for k in ("bought", "finished", "listed", "sold", "withdrawn")] == [
        2,
        2,
        2,
        3,
        1,
    ]


def test_pay_per_hour_is_the_ratio_of_totals_not_the_mean_of_rates():
    books = accounts(_records(), **Q3)
    assert books.value("pay per hour") != pytest.approx((207.5 / 9 + 56.67 / 2) / 2)


def test_every_line_has_its_pieces_one_step_away():
    books = accounts(_records(), **Q3)
    for line, count in zip(books.table["line"], books.table["pieces"], strict=True):
        behind = books.pieces(line)
        assert len(behind) == count
        value = books.value(line)
        if "amount" in behind and "per hour" not in line:
            assert behind["amount"].sum() == pytest.approx(value)
    assert list(books.pieces("sold")["piece"]) == ["A", "D", "E"]
    with pytest.raises(BadQuestion, match='no line "lamps"'):
        books.pieces("lamps")


def test_gaps_in_the_records_are_said():
    said = " ".join(accounts(_records(), **Q3).notes)
    assert "1 of 3 sold pieces have no buy price" in said
    assert "1 of 3 sold pieces have no hours" in said


def test_a_period_with_nothing_in_it_is_all_nothing_and_has_no_pay_per_hour():
    books = accounts(_records(), start=date(2020, 1, 1), end=date(2020, 3, 31))
    assert books.value("sold") == 0
    assert books.value("profit") == 0
    assert pd.isna(books.value("pay per hour"))
    assert "-" in str(books)


def test_a_finished_event_comes_before_the_listing():
    events = [{"on": "2026-06-25", "piece": "C", "event": "finished"}]
    assert list(accounts(_records(events=events), **Q3).pieces("finished")["piece"]) == ["B"]


def test_supplies_stand_apart_from_profit():
    supplies = pd.DataFrame(
        {
            "bought_on": pd.to_datetime(["2026-07-04", "2026-10-01"]),
            "item": ["sandpaper <b>", "oil"],
            "cost": [24.5, 30.0],
            "shared_by": ["hours", "hours"],
        }
    )
    with_them = accounts(_records(supplies=supplies), **Q3)
    assert with_them.value("supplies for all pieces") == 24.5
    assert with_them.value("profit") == accounts(_records(), **Q3).value("profit")
    assert list(with_them.pieces("supplies for all pieces")["what"]) == ["sandpaper <b>"]


def test_a_running_period_says_so():
    assert accounts(_records(as_of=date(2026, 8, 1)), **Q3).running
    assert accounts(_records(as_of=date(2026, 8, 1)), **Q3).value("sold") == 1
    assert not accounts(_records(), **Q3).running
