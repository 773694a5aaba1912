"""Plans made and promised over the draws of the fit: exact figures, the worst quarter, and the owner's habit."""

from dataclasses import replace

import numpy as np
import pytest

from fleetlib.plan.case import case_for, minding
from fleetlib.plan.near_habit import DOUBTS
from fleetlib.plan.solver.over_draws import OverDraws, worst
from tests.plan.plan_shop import AS_OF, DRESSER, LISTED, KnownPace, shop

UNSURE = np.linspace(-6, 6, 12)  # far apart in how fast they sell and how much they mind the price


def a_case(piece=DRESSER, **known):
    return case_for(shop(pace=KnownPace(**known)), piece, AS_OF)


@pytest.mark.parametrize("piece", [DRESSER, LISTED])
def test_what_is_promised_is_the_mean_over_the_draws(piece):
    case = a_case(piece)
    path = case.best_path()
    each = [case.worth(path.prices, hazard) for hazard in case.draws]
    _, weight = case.over_draws(path.prices)
    assert path.expected_net == pytest.approx(weight @ [w.expected_net for w in each])
    assert path.expected_weeks == pytest.approx(weight @ [w.expected_weeks for w in each])
    np.testing.assert_allclose(path.sold_by, weight @ np.array([w.sold_by for w in each]))
    # from a later week on, each counts by how likely it leaves the piece unsold till then
    left = weight * np.array([1 - w.sold_by[4] for w in each])
    later = left @ np.array([w.continuation[5] for w in each]) / left.sum()
    assert path.continuation[5] == pytest.approx(later)


@pytest.mark.parametrize("piece", [DRESSER, LISTED])
def test_the_search_reads_the_same_nets_off_its_table(piece):
    case = a_case(piece, draws=UNSURE)
    market = case.market(case.hazard)
    rng = np.random.default_rng(2)
    levels = np.sort(rng.integers(0, len(market.prices), (5, market.horizon)), axis=1)[:, ::-1]
    found = OverDraws(market, market.draws).nets(levels, case.holding, case.salvage)
    for row, weeks, nets in zip(levels, found.weeks, found.by_draw, strict=True):
        exact, _ = case.over_draws(market.prices[row[:weeks]])
        np.testing.assert_allclose(nets, exact, atol=0.05)


def test_the_worst_quarter_is_a_quarter_of_what_counts():
    nets, share = np.array([[4.0, 1.0, 3.0, 2.0]]), np.array([0.4, 0.1, 0.2, 0.3])
    assert worst(nets, share)[0] == pytest.approx((0.1 * 1 + 0.15 * 2) / 0.25)
    assert worst(nets, np.full(4, 0.25))[0] == 1.0


def test_no_path_found_is_beaten_by_asks_a_step_away():
    for caution in (0.0, 0.5):
        case = a_case(replace(DRESSER, gut_price=None), draws=UNSURE, caution=caution)
        path = case.best_path()

        def score(prices, case=case, caution=caution):
            nets, share = case.over_draws(prices)
            return share @ nets + caution * (worst(nets[None], share)[0] - share @ nets)

        best = score(path.prices)
        for move in (-20.0, -10.0, 10.0, 20.0):
            moved = np.clip(path.prices + move, case.asks[0], case.asks[-1])
            assert score(moved) <= best * 1.0001


def test_the_worst_quarter_makes_asks_lower_and_less_so_with_more_sales():
    asks = [
        a_case(replace(DRESSER, gut_price=None), draws=UNSURE, caution=c).best_path().prices[0]
        for c in (0.0, 0.25, 0.5)
    ]
    assert asks[0] >= asks[1] >= asks[2] and asks[0] > asks[2]


def test_within_the_doubt_the_plan_is_the_one_nearer_to_the_own_price():
    own = 300.0
    unsure = a_case(replace(DRESSER, gut_price=own), sensitivity=2.5, draws=UNSURE)
    sure = a_case(replace(DRESSER, gut_price=own), sensitivity=2.5, draws=np.zeros(12))
    kept, free = unsure.best_path(), sure.best_path()
    assert len(kept.bolder) and own <= kept.prices[0] < kept.bolder[0]
    assert not len(free.bolder)  # no doubt, no habit
    gain, doubt = unsure.gain_and_doubt(unsure.as_path(kept.bolder), kept)
    assert 0 <= gain <= DOUBTS * doubt + 1e-6
    # never bolder than the plan itself, in any week
    n = min(len(kept.prices), len(kept.bolder))
    assert np.all(kept.prices[:n] <= kept.bolder[:n])


def test_an_own_price_above_the_plan_is_no_habit_to_follow():
    case = a_case(replace(DRESSER, gut_price=700.0), sensitivity=6.0, level=-3.0, draws=UNSURE)
    path = case.best_path()
    assert path.prices[0] < 700.0
    assert not len(path.bolder) or np.all(path.prices <= path.bolder[: len(path.prices)])


@pytest.mark.parametrize("factor", [0.7, 1.0, 1.4])
def test_other_buyers_are_other_buyers_in_every_draw(factor):
    """A what-if about buyers is the mean over the same draws, each minding the price so much more or less."""
    fits = shop()
    case = case_for(fits, DRESSER, AS_OF)
    other = minding(fits, case, factor)
    assert [h.sensitivity for h in other.draws] == pytest.approx(
        [factor * h.sensitivity for h in case.draws]
    )
    asks = case.best_path().prices
    each = [other.worth(asks, hazard).expected_net for hazard in other.draws]
    assert other.worth(asks).expected_net == pytest.approx(np.mean(each))
    assert (other.worth(asks).expected_net == case.worth(asks).expected_net) == (factor == 1.0)
