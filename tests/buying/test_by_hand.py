"""Small steps of buying worked by hand; all of them together take a second."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fleetlib.buying.best_buys import BestBuys
from fleetlib.buying.best_set import best_set, steadied_worth
from fleetlib.buying.find_value import value_find
from fleetlib.buying.what_to_pay import _moves, _notes, what_to_pay
from tests.buying.test_what_to_pay import FIND, a_shop


def test_worths_are_drawn_together_by_how_much_of_their_spread_is_doubt():
    # they vary by 900, of which 225 are doubt: 675/900 of each distance is left
    made = steadied_worth(np.array([-30.0, 0.0, 30.0]), np.full(3, 15.0))
    assert made == pytest.approx([-22.5, 0.0, 22.5])
    alike = steadied_worth(np.array([-1.0, 0.0, 1.0]), np.full(3, 15.0))  # all of it is doubt
    assert alike == pytest.approx(np.array([-1, 0, 1]) * 0.05 / (0.05 + 225))
    two = np.array([-30.0, 30.0])
    assert steadied_worth(two, np.full(2, 15.0)).tolist() == two.tolist()


def test_the_best_set_within_cash_and_hours_by_hand():
    worth, outlay, hours = (
        np.array([50.0, 40.0, 30.0, 0.0]),
        np.array([60.0, 30, 30, 0]),
        np.ones(4),
    )
    assert best_set(worth, outlay, hours, cash=60).tolist() == [False, True, True, False]
    assert best_set(worth, outlay, hours, cash=90, most_hours=1).tolist() == [True] + [False] * 3
    assert best_set(worth, outlay, hours).tolist() == [True, True, True, False]


def a_find(**more):
    known = {
        "hours": 6.0, "hours_range": (4.04, 8.96), "hours_from": "from your records",
        "materials": 25.0, "materials_from": "as usual", "other": 5.0, "expected_net": 230.0,
        "highest_price": lambda target: 230.0 - 30.0 - target * 6.0, "piece": FIND,
        "with_asking": lambda factor: 230.0 + 10 * (factor - 1), "if_it_fetches": lambda f: 230.0 * f,
    }  # fmt: skip
    return SimpleNamespace(**known | more)


def test_moves_are_as_large_as_their_words_say():
    moves = _moves(a_find(), 15.0).set_index("change")
    assert moves["expected_net"].to_dict() == pytest.approx(
        {
            "as expected": 230.0,
            "1 in 10 such jobs is quicker": 230.0,
            "1 in 10 such jobs takes longer": 230.0,
            "you ask 10% less all along": 229.0,
            "you ask 10% more all along": 231.0,
            "it is worth 10% less to buyers": 207.0,
            "it is worth 10% more to buyers": 253.0,
        }
    )
    assert moves["hours"].tolist() == [6.0, 4.04, 8.96, 6.0, 6.0, 6.0, 6.0]
    assert (moves["expected_net"] - moves["even_price"]).tolist() == pytest.approx([30.0] * 7)
    pays = (moves["even_price"] - moves["highest_price"]) / moves["hours"]
    assert pays.tolist() == pytest.approx([15.0] * 7)


def test_the_range_of_hours_and_what_is_left_of_the_price_asked_are_said():
    fits = a_shop()
    find = replace(value_find(fits, FIND), hours=6.0, hours_range=(4.04, 8.96))
    highest = find.highest_price(15.0)
    notes = _notes(fits, find, 15.0)
    assert notes[0].endswith("8 times out of 10 such a job takes 4.0 to 9.0")
    assert f"at the price asked it pays your target, with ${highest - 60:.0f} to spare" in notes
    even = _notes(fits, replace(find, piece=replace(FIND, buy_price=highest)), 15.0)
    assert "at the price asked it pays your target, with $0 to spare" in even
    sure = _notes(fits, replace(find, hours_range=(6.0, 6.0)), 15.0)
    assert sure[0] == f"hours: 6.0, {find.hours_from}"


@pytest.mark.parametrize(("hours", "said"), [(0.5, "$60 an hour"), (0.0, "- an hour")])
def test_a_set_of_half_an_hour_has_its_pay_too(hours, said):
    row = {
        "find": "F-1", "furniture_type": "chair", "asked": 10.0, "highest_price": 30.0, "profit": 30.0,
        "hours": hours, "per_hour": 60.0, "outlay": 15.0, "chance_of_loss": 0.1, "over_target": 20.0,
        "doubt": 5.0, "claimed": 30.0, "buy": True, "why": "",
    }  # fmt: skip
    assert said in str(BestBuys(pd.DataFrame([row]), None, None, 20.0, "USD"))


def test_a_find_that_pays_nothing_is_priced_at_nothing_not_below():
    made = what_to_pay(a_shop(), replace(FIND, buy_price=None, materials_cost=5000.0))
    assert made.even_price < 0
    assert made.table["buy_price"].tolist() == [0.0, 0.0]
