"""The set of finds to buy is the best there is, and every find left out says why."""

from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.settings import Settings
from fleetlib.buying.best_buys import best_buys
from fleetlib.buying.best_set import best_set, steadied_worth
from fleetlib.fits import Fits
from tests.histories import AS_OF
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece


def by_trying_all(
    worth: np.ndarray, outlay: np.ndarray, hours: np.ndarray, cash: float, most: float
) -> float:
    best = 0.0
    for taken in product([False, True], repeat=len(worth)):
        t = np.array(taken)
        if outlay[t].sum() <= cash + 1e-9 and hours[t].sum() <= most + 1e-9:
            best = max(best, float(worth[t].sum()))
    return best


@pytest.mark.parametrize("case", range(50))
def test_set_equals_trying_every_set(case: int) -> None:
    rng = np.random.default_rng(case)
    n = int(rng.integers(4, 13))
    worth = np.round(rng.normal(60, 80, n), 2)
    outlay = np.round(rng.gamma(2, 60, n), 2)
    hours = np.round(rng.gamma(3, 2.5, n), 1)
    cash = float(np.round(outlay.sum() * rng.uniform(0.2, 0.7), 2))
    most = float(np.round(hours.sum() * rng.uniform(0.2, 0.7), 1))
    chosen = best_set(worth, outlay, hours, cash=cash, most_hours=most)
    assert outlay[chosen].sum() <= cash + 1e-6
    assert hours[chosen].sum() <= most + 1e-6
    assert worth[chosen].sum() == pytest.approx(
        by_trying_all(worth, outlay, hours, cash, most), abs=1e-6
    )


def test_cheapest_first_and_best_rate_first_can_both_be_wrong() -> None:
    # 100 of cash: the one at 60 has the best rate, but the two at 50 together bring more.
    worth, outlay = np.array([70.0, 50.0, 50.0]), np.array([60.0, 50.0, 50.0])
    chosen = best_set(worth, outlay, np.ones(3), cash=100)
    assert chosen.tolist() == [False, True, True]


def test_without_limits_everything_worth_it_is_bought() -> None:
    assert best_set(np.array([5.0, -1.0, 0.0]), np.ones(3), np.ones(3)).tolist() == [
        True,
        False,
        False,
    ]
    assert not best_set(np.array([-5.0]), np.ones(1), np.ones(1), cash=10).any()


def test_a_budget_below_nothing_is_refused() -> None:
    with pytest.raises(BadQuestion, match="cash is -5"):
        best_set(np.ones(1), np.ones(1), np.ones(1), cash=-5)


def a_shop() -> Fits:
    rows = [piece("desk", 200, 6, materials_cost=25.0)]
    chosen = Settings(as_of=AS_OF, target_hourly_pay=22.0)
    return fits_of(rows, settings=chosen, selling=KnownSelling(), hours=KnownHours(6.0))


def on_offer(*cells: tuple[float | None, float | None], **more: list[object]) -> pd.DataFrame:
    """(gut price, price asked) a find."""
    made = pd.DataFrame(
        [{"furniture_type": "desk", "gut_price": g, "buy_price": b} for g, b in cells]
    )
    return made.assign(piece=[f"F-{i + 1}" for i in range(len(made))], **more)


def test_figures_are_drawn_together_by_their_doubt_and_the_chosen_turn_out_as_claimed() -> None:
    # true worth N(0, 40), figures off by N(0, 40): those that look good claim twice what they bring
    rng = np.random.default_rng(4)
    looks, claims, brings = 0.0, 0.0, 0.0
    for _ in range(2000):
        true = 40 * rng.standard_normal(8)
        seen = true + 40 * rng.standard_normal(8)
        taken = seen > 0
        looks += seen[taken].sum()
        claims += steadied_worth(seen, np.full(8, 40.0))[taken].sum()
        brings += true[taken].sum()
    assert looks / brings == pytest.approx(2, abs=0.1)
    assert claims / brings == pytest.approx(1, abs=0.1)


def test_the_least_more_cash_that_buys_a_find_is_named() -> None:
    # the two cost 85 and 105 with materials; 30 more than 160 buys both
    made = best_buys(a_shop(), on_offer((300, 60), (330, 80)), cash=160)
    assert made.table["buy"].sum() == 1
    assert any(n.startswith("$30 more cash would add") for n in made.notes)
    assert "laid out" in made.shown()
    none = best_buys(a_shop(), on_offer((300, 60)), cash=20)
    assert any(n.startswith("$65 more cash") for n in none.notes)


def test_the_profit_of_the_set_is_what_may_be_counted_on() -> None:
    finds = on_offer((300, 60), (330, 20), (360, 250), (280, 200))
    made = best_buys(a_shop(), finds)
    got = made.table[made.table["buy"]]
    assert 0 < got["claimed"].sum() < got["profit"].sum()
    assert "count on" in str(made).replace("\n  ", " ")


def test_a_free_piece_is_not_said_to_ask_too_much() -> None:
    made = best_buys(a_shop(), on_offer((60, 0), (300, 20)))
    free = made.table[made.table["asked"].eq(0)]
    assert free["buy"].tolist() == [False]
    assert free["why"].tolist() == ["not worth its hours"]


def test_what_pays_the_target_is_bought_best_first() -> None:
    made = best_buys(a_shop(), on_offer((300, 60), (300, 20), (300, 200)))
    assert made.table["find"].tolist() == ["F-2", "F-1", "F-3"]
    assert made.table["buy"].tolist() == [True, True, False]
    assert made.table["why"].tolist() == ["", "", "asks too much"]
    first = made.table.iloc[0]
    assert first["over_target"] == pytest.approx(first["highest_price"] - 20)
    assert first["outlay"] == pytest.approx(45)  # with the usual materials
    assert first["over_target"] == pytest.approx(first["profit"] - 22 * first["hours"])


def test_budgets_hold_and_what_is_left_out_says_which_one_stopped_it() -> None:
    finds = on_offer((300, 60), (330, 80), (360, 100), (280, 40))
    cash = best_buys(a_shop(), finds, cash=220)
    got = cash.table[cash.table["buy"]]
    assert got["outlay"].sum() <= 220
    assert set(cash.table.loc[~cash.table["buy"], "why"]) == {"no cash left"}
    hours = best_buys(a_shop(), finds, hours=12.5)
    assert hours.table["buy"].sum() == 2
    assert set(hours.table.loc[~hours.table["buy"], "why"]) == {"no hours left"}
    assert any("more hours would add" in n for n in best_buys(a_shop(), finds, hours=11).notes)


def test_more_budget_never_earns_less() -> None:
    finds = on_offer((300, 60), (330, 80), (360, 100), (280, 40))
    totals = []
    for cash in (50, 100, 150, 250, 400):
        made = best_buys(a_shop(), finds, cash=cash).table
        totals.append(made.loc[made["buy"], "over_target"].sum())
    assert totals == sorted(totals)


def test_a_lot_is_taken_whole_or_left() -> None:
    finds = on_offer((300, 20), (120, 60), (300, 60), bought_lot=["shed", "shed", None])
    made = best_buys(a_shop(), finds).table.set_index("find")
    alone = best_buys(a_shop(), on_offer((300, 20), (120, 60))).table.set_index("find")
    assert alone["buy"].tolist() == [True, False]
    together = made.loc[["F-1", "F-2"]]
    assert len(set(together["buy"])) == 1
    assert bool(together["buy"].iloc[0]) == bool(together["over_target"].sum() > 0)
    assert made.loc["F-3", "buy"]


def test_finds_that_cannot_be_judged_stay_in_the_table_with_their_reason() -> None:
    shop = a_shop()
    own = replace(shop, settings=replace(shop.settings, borrow=False))
    made = best_buys(own, on_offer((300, 60), (None, 10), (300, None)))
    why = made.table.set_index("find")["why"]
    assert why["F-2"].startswith("cannot be judged: Nothing says")
    assert why["F-3"] == "no price asked"
    assert any(n.startswith("F-2 cannot be judged") for n in made.notes)
    assert made.table["buy"].sum() == 1


def test_finds_are_read_from_a_file(tmp_path: Path) -> None:
    place = tmp_path / "finds.csv"
    place.write_text(
        "name,Type,Paid,Gut price,hours\nF-1,desk,$60,300,6\nF-2,desk,free,290,6\nF-3,,20,200,6\n",
        encoding="utf-8",
    )
    made = best_buys(a_shop(), place)
    assert sorted(made.table["asked"]) == [0, 60]
    assert any("1 row could not be read" in n for n in made.notes)
    assert not any("sale price" in n for n in made.notes)


def test_no_finds_are_refused() -> None:
    with pytest.raises(BadQuestion, match="no find to judge"):
        best_buys(a_shop(), on_offer((300, 60)).iloc[:0])


def test_text_fits_the_terminal() -> None:
    made = best_buys(a_shop(), on_offer((300, 60), (None, 10), (300, None)), cash=200, hours=20)
    assert max(len(line) for line in str(made).splitlines()) <= 80
    assert "within $200 cash and 20 hours" in str(made)
    assert "<table>" in made._repr_html_()


def test_a_price_that_cannot_be_read_is_named_with_its_line_and_reason(demo_fits, tmp_path):
    place = tmp_path / "finds.csv"
    place.write_text("type,asking\ndresser,40-60\ndesk,30\n", encoding="utf-8")
    said = best_buys(demo_fits, place).notes
    assert any(note.startswith('line 2: the price "40-60" is not one amount') for note in said)
