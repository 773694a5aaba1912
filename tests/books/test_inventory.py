"""Stock at cost adds up to the cent, or says why not."""

from datetime import date, timedelta
from decimal import Decimal

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetlib.base.quarters import Quarter
from fleetlib.books.inventory import WAYS, stock_account, to_cents
from tests.histories import events_of, flips_of, shop_histories

AS_OF = date(2026, 12, 31)
QUARTERS = [Quarter(y, n) for y in (2025, 2026) for n in (1, 2, 3, 4)]


def _account(flips, quarter, events=None, as_of=AS_OF):
    return stock_account(flips, events=events, start=quarter.start, end=quarter.end, as_of=as_of)


def test_a_worked_quarter_by_hand():
    flips = flips_of(
        [
            # in stock before, sold now: 80 + 12.50 + 5
            {"piece": "A", "bought_on": "2026-05-02", "buy_price": 80, "materials_cost": 12.5, "other_costs": 5,
             "listed_on": "2026-06-01", "sold_on": "2026-07-09", "sale_price": 300},
            # bought and listed now, still here: 60 + 20
            {"piece": "B", "bought_on": "2026-07-15", "buy_price": 60, "materials_cost": 20,
             "listed_on": "2026-08-01"},
            # bought before, worked on now, given away now: 40 + 7.25
            {"piece": "C", "bought_on": "2026-06-20", "buy_price": 40, "materials_cost": 7.25,
             "listed_on": "2026-07-02", "withdrawn_on": "2026-09-01"},
            # bought and sold now: 33.33
            {"piece": "D", "bought_on": "2026-08-01", "buy_price": 33.33, "sold_on": "2026-08-03", "sale_price": 90},
        ]
    )  # fmt: skip
    account = _account(flips, Quarter(2026, 3))
    found = dict(zip(account.table["line"], account.table["amount"], strict=True))
    assert found == {
        "opening": 137.5,
        "bought": 93.33,
        "materials": 27.25,
        "other costs": 0,
        "closing": 80,
        "withdrawn": 47.25,
        "of it not said how": 47.25,
        "cost of pieces sold": 130.83,
    }
    assert account.reconciled
    assert list(account.pieces("cost of pieces sold")["piece"]) == ["A", "D"]
    assert account.pieces("opening").to_dict("list") == {
        "piece": ["A", "C"],
        "amount": [97.5, 40],
    }


@settings(max_examples=40)
@given(shop_histories(), st.integers(0, 6))
def test_any_valid_history_adds_up_to_the_cent(history, first):
    flips, events = history
    before = None
    for quarter in QUARTERS[first : first + 2]:
        account = _account(flips, quarter, events)
        left = {line: Decimal(str(account.amount(line))) for line in account.table["line"]}
        by_stock = sum(left[k] for k in ("opening", "bought", "materials", "other costs"))
        by_stock -= left["closing"] + left["withdrawn"]
        why = sum((Decimal(str(a)) for a in account.explained["amount"]), Decimal(0))
        assert by_stock - left["cost of pieces sold"] == why
        assert account.unexplained == 0
        assert before is None or left["opening"] == before
        before = left["closing"]
        for line in left:
            assert sum(Decimal(str(a)) for a in account.pieces(line)["amount"]) == left[line]


@settings(max_examples=40)
@given(shop_histories(), st.dates(date(2025, 1, 1), date(2027, 6, 1)))
def test_the_cost_of_pieces_sold_is_what_the_records_say_was_spent_on_them(history, cut):
    flips, events = history
    total = Decimal(0)
    for _, row in flips.iterrows():
        if pd.notna(row["sold_on"]):
            spent = [row[c] for c in ("buy_price", "materials_cost", "other_costs")]
            total += sum(Decimal(f"{v:.2f}") for v in spent if pd.notna(v))
    for start, end in (
        (date(2024, 1, 1), cut),
        (cut + timedelta(days=1), date(2028, 12, 31)),
    ):
        account = stock_account(flips, events=events, start=start, end=end, as_of=end)
        total -= Decimal(str(account.amount("cost of pieces sold")))
    assert total == 0


@settings(max_examples=40)
@given(shop_histories(), st.sampled_from(QUARTERS))
def test_without_late_costs_there_is_nothing_to_explain(history, quarter):
    flips, _ = history
    assert _account(flips, quarter).reconciled


def test_a_cost_booked_after_the_sale_is_named_with_its_piece():
    flips = flips_of(
        [{"piece": "A", "bought_on": "2026-05-02", "buy_price": 80, "materials_cost": 30,
          "sold_on": "2026-06-20", "sale_price": 300}]
    )  # fmt: skip
    events = events_of(
        [{"on": "2026-07-04", "piece": "A", "event": "cost", "amount": 30.0, "note": "oil"}]
    )
    second = _account(flips, Quarter(2026, 2), events)
    third = _account(flips, Quarter(2026, 3), events)
    assert second.amount("cost of pieces sold") == 110
    assert second.explained.to_dict("records") == [
        {"why": "cost of a piece that left now, booked later", "piece": "A", "amount": -30}
    ]
    assert third.explained.to_dict("records") == [
        {"why": "cost booked now for a piece that left before", "piece": "A", "amount": 30}
    ]
    assert not third.reconciled
    assert third.unexplained == 0


def _left(way, **more):
    base = {"piece": way, "bought_on": "2026-07-02", "buy_price": 40, "withdrawn_on": "2026-09-01"}
    return base | {"outcome": way} | more


def test_what_left_unsold_is_booked_by_how_it_left():
    rows = [_left("kept"), _left("given away", buy_price=30), _left("scrapped", buy_price=25)]
    noted = _left("B", outcome=None, buy_price=7, notes="split side, scrapped")
    account = _account(
        flips_of([*rows, noted, _left("C", outcome=None, buy_price=3)]), Quarter(2026, 3)
    )
    assert [account.way(w) for w in WAYS] == [40, 30, 32, 3]
    assert account.amount("withdrawn") == 105
    assert list(account.pieces("of it scrapped")["piece"]) == ["scrapped", "B"]
    assert account.reconciled


def test_a_piece_that_cost_nothing_is_still_a_piece():
    flips = flips_of([{"piece": "A", "bought_on": "2026-08-02", "buy_price": 0}])
    account = _account(flips, Quarter(2026, 3))
    assert account.table.set_index("line")["pieces"][["bought", "closing", "opening"]].tolist() == [
        1,
        1,
        0,
    ]


def test_costs_logged_beyond_what_the_record_says_are_not_believed():
    flips = flips_of(
        [{"piece": "A", "bought_on": "2026-05-02", "buy_price": 80, "other_costs": 10,
          "sold_on": "2026-08-20", "sale_price": 300}]
    )  # fmt: skip
    events = events_of(
        [{"on": "2026-06-04", "piece": "a", "event": "cost", "amount": 30.0, "note": "hauling"}]
    )
    account = _account(flips, Quarter(2026, 3), events)
    assert account.reconciled
    assert account.amount("other costs") == 10
    assert account.amount("cost of pieces sold") == 90


def test_a_cost_dated_before_the_piece_came_in_counts_from_the_day_it_came():
    flips = flips_of(
        [{"piece": "A", "bought_on": "2026-07-02", "buy_price": 80, "other_costs": 30,
          "sold_on": "2026-08-20", "sale_price": 300}]
    )  # fmt: skip
    events = events_of(
        [{"on": "2026-06-28", "piece": "A", "event": "cost", "amount": 30.0, "note": "van"}]
    )
    assert _account(flips, Quarter(2026, 2), events).amount("other costs") == 0
    account = _account(flips, Quarter(2026, 3), events)
    assert account.amount("other costs") == 30
    assert account.reconciled


def test_what_is_not_on_record_is_said():
    flips = flips_of(
        [
            {"piece": "A", "listed_on": "2026-07-10"},
            {"piece": "B", "bought_on": "2026-07-01", "buy_price": 10, "sale_price": 50},
        ]
    )
    account = _account(flips, Quarter(2026, 3))
    said = " ".join(account.notes)
    assert "1 piece sold without a day of sale" in said
    assert "1 piece without a day of buying" in said
    assert "1 piece without a buy price" in said
    assert account.amount("closing") == 0


def test_a_quarter_still_running_is_closed_on_the_day_of_the_answer():
    flips = flips_of([{"piece": "A", "bought_on": "2026-09-20", "buy_price": 10}])
    assert _account(flips, Quarter(2026, 3), as_of=date(2026, 9, 1)).amount("closing") == 0
    assert _account(flips, Quarter(2026, 3), as_of=date(2026, 9, 20)).amount("closing") == 10


def test_an_empty_shop_has_empty_books():
    account = _account(flips_of([]), Quarter(2026, 3), events_of([]))
    assert account.reconciled
    assert (account.table["amount"] == 0).all()


@pytest.mark.parametrize(
    ("money", "cents"), [(0.005, 1), (-0.005, -1), (1.005, 101), (19.99, 1999)]
)
def test_half_a_cent_goes_away_from_nothing(money, cents):
    assert to_cents(pd.Series([money]))[0] == cents
