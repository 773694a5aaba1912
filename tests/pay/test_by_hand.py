"""Small steps of pay worked by hand; all of them together take a second or two."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.settings import Settings
from fleetlib.pay import promised
from fleetlib.pay.days_and_space import days_and_space
from fleetlib.pay.earnings import earnings
from fleetlib.pay.influence import single_sale_note
from fleetlib.pay.piece_values import money_of, piece_values
from fleetlib.pay.promised import OFF, factor_of
from fleetlib.pay.shrinkage import chance_best, pooled_variances, shrink
from fleetlib.pay.stages import waiting_days
from fleetlib.pay.work_order import what_next
from fleetlib.plan.outcomes import Outcomes
from tests.histories import AS_OF
from tests.invented_flips import KnownSelling, fits_of, piece
from tests.pay.test_work_order import a_shop, unfinished


def test_four_groups_are_drawn_together_by_hand():
    # variances alike: B = max(k - 3, 1) V / sum (y - mean)^2 = 1 x 5 / 20
    made = shrink(np.array([8.0, 12.0, 13.0, 7.0]), np.full(4, 6.5))
    assert made.weights == pytest.approx(np.full(4, 6.5 / 26))
    assert made.values == pytest.approx(10 + 0.75 * np.array([-2, 2, 3, -3]))
    left = 6.5 * 0.75 + 0.25**2 * 26 / 4 + 2 * 0.25**2 * np.array([4, 4, 9, 9])
    assert made.sd**2 == pytest.approx(left)


def test_one_group_stays_as_it_is():
    made = shrink(np.array([8.0]), np.array([4.0]))
    assert (made.values[0], made.sd[0], made.weights[0]) == (8.0, 2.0, 0.0)


def test_spreads_of_groups_are_steadied_by_four_degrees_of_freedom():
    made = pooled_variances(np.array([0.0, 60.0]), np.array([2.0, 4.0]))
    assert made == pytest.approx([4 * 10 / 6, (4 * 10 + 60) / 8])  # the shop's own: 60/6 = 10


def test_the_likelier_of_two_groups_is_best_by_the_normal_table():
    far = shrink(np.array([0.0, 0.0]), np.array([1.0, 1.0]))
    assert chance_best(far, rng=np.random.default_rng(1)) == pytest.approx([0.5, 0.5], abs=0.02)


def test_what_came_of_promises_moves_the_next_by_how_sure_it_is():
    promised, received = np.full(4, 100.0), np.array([70.0, 90.0, 110.0, 90.0])
    # ratio .9; left over -20, 0, 20, 0: the variance of its log is 4/3 x 800 / 360^2
    variance = 4 / 3 * 800 / 360**2
    assert factor_of(promised, received) == pytest.approx(0.9 ** (OFF**2 / (OFF**2 + variance)))
    assert factor_of(promised, np.zeros(4)) == 1.0


def test_a_piece_finished_the_day_after_its_finish_waited_no_day():
    rows = [piece("desk", 100, 5, piece="B-1", finish="oil")]
    events = [
        {"on": pd.Timestamp(on), "piece": "B-1", "event": event, "note": note}
        for on, event, note in (("2026-05-10", "hours", "finish"), ("2026-05-11", "finished", ""))
    ]
    assert waiting_days(fits_of(rows, events=events))["days"].tolist() == [0]
    events[1]["on"] = pd.Timestamp("2026-05-12")
    assert waiting_days(fits_of(rows, events=events))["days"].tolist() == [1]


def test_materials_not_written_down_count_as_nothing():
    rows = [
        piece("desk", 100, 5, materials_cost=None, other_costs=None),
        piece("desk", 100, 5, materials_cost=12.0, other_costs=3.0),
    ]
    assert piece_values(fits_of(rows)).frame["profit"].tolist() == [100, 85]


def test_one_sale_that_carries_a_group_is_named():
    group = pd.DataFrame(
        {
            "piece": ["A", "B", "C"],
            "outcome": ["sold", "withdrawn", "withdrawn"],
            "profit": [90.0, -10.0, -20.0],
            "hours": [3.0, 2.0, 3.0],
        }
    )
    one = single_sale_note(group, "oil", "USD")
    assert one == "oil: the pay rests on a single sale, A; without it, -$6.00 an hour"
    two = single_sale_note(group.assign(outcome=["sold", "sold", "sold"]), "oil", "USD")
    assert two.startswith("oil: one sale, A, brings 150% of the profit")
    evenly = group.assign(outcome=["sold"] * 3, profit=[20.0, 20.0, 20.0])
    assert single_sale_note(evenly, "oil", "USD") == ""
    assert single_sale_note(group.iloc[:2], "oil", "USD") == ""


def test_three_pieces_are_enough_for_a_figure_of_their_own_and_two_are_not():
    rows = [piece("desk", 100 + k, 5) for k in range(3)]
    rows += [piece("chair", 50 + k, 5) for k in range(2)]
    table = earnings(fits_of(rows)).table.set_index("furniture_type")
    assert table["says"].to_dict() == {"desk": "", "chair": "too few to say"}


def test_with_a_full_room_the_range_is_of_money_for_a_place_and_week():
    fits = a_shop(
        unfinished("W-1", 300, None, bought_on="2026-09-01"),
        unfinished("W-2", 200, None, bought_on="2026-09-01"),
    )
    full = Settings(as_of=AS_OF, target_hourly_pay=15.0, borrow=False, places=2)
    fits = fits_of(
        fits.records.flips.to_dict("records"), settings=full,
        selling=fits.selling, hours=fits.hours, prices=fits.prices,
    )  # fmt: skip
    made = what_next(fits)
    assert made.full and made.rate == "per_place_week"
    for row in made.table.itertuples():
        assert row.low < row.per_place_week < row.high
        assert row.per_place_week == pytest.approx(row.gain / (row.days_left / 7))


def test_a_piece_that_came_to_market_without_a_day_of_readiness_is_counted():
    day = {"piece": "B-1", "event": "finished", "note": ""}
    rows = [
        piece("desk", 100, 5, piece="B-1", bought_on="2026-05-02"),
        piece("desk", 100, 5, piece="B-2", bought_on="2026-05-02"),
    ]
    both = [day | {"on": pd.Timestamp("2026-05-20")}]
    one = days_and_space(fits_of(rows, events=both, selling=KnownSelling()))
    assert any("logged for 1 piece; of 1 more that came to market" in n for n in one.notes)
    both.append(both[0] | {"piece": "B-2"})
    none = days_and_space(fits_of(rows, events=both, selling=KnownSelling()))
    assert not any("came to market" in n for n in none.notes)


def test_the_holding_cost_of_the_wait_is_put_back_week_by_week():
    made = Outcomes(np.array([100.0, 50.0]), np.array([14.0, 0.0]), np.array([0.5, 0.5]))
    assert money_of(SimpleNamespace(holding=7.0), made).nets.tolist() == [114.0, 50.0]


def test_what_a_promise_came_to_is_the_net_not_its_wait(monkeypatch):
    monkeypatch.setattr(promised, "planned_net", lambda fits, piece: (5.0, 9.0))
    monkeypatch.setattr(promised, "piece_from_row", lambda row: None)
    assert promised._received(None, pd.Series({"status": "listed"})) == 5.0
    gone = {"status": "withdrawn", "outcome": "scrapped"}
    assert promised._received(None, pd.Series(gone)) == 0.0
    assert promised._received(None, pd.Series(gone | {"outcome": "kept"})) is None
    assert promised._received(None, pd.Series({"status": "sold", "net_price": 80.0})) == 80.0
