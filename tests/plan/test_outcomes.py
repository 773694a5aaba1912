"""What may come of a plan adds up to what the plan expects, and to what happens when it is played out."""

import numpy as np
import pytest

from fleetlib.fits import Fits
from fleetlib.plan.case import Case, case_for
from fleetlib.plan.outcomes import Outcomes, outcomes, outcomes_over_draws
from fleetlib.records.piece import Piece
from tests.histories import AS_OF
from tests.invented_flips import KnownSelling, fits_of, piece


def a_shop() -> Fits:
    return fits_of([piece("desk", 200, 5)], selling=KnownSelling())


def a_case() -> Case:
    return case_for(a_shop(), Piece(furniture_type="desk", gut_price=300.0), AS_OF)


def test_outcomes_average_to_the_plans_expected_net_and_days() -> None:
    case = a_case()
    path = case.best_path()
    made = outcomes(case, path.prices)
    assert made.chances.sum() == pytest.approx(1)
    assert made.expected_net == pytest.approx(path.expected_net, rel=1e-9)
    assert made.expected_days == pytest.approx(7 * path.expected_weeks, rel=1e-9)


def test_no_other_asking_price_all_along_does_better_where_the_plan_is_free() -> None:
    case = a_case()
    path = case.best_path()
    for factor in (0.8, 0.9, 1.1, 1.25):
        other = outcomes(case, path.prices, asking=factor).expected_net
        assert other < path.expected_net * 1.005


def test_a_piece_worth_less_brings_less_in_proportion() -> None:
    case = a_case()
    path = case.best_path()
    made = outcomes(case, path.prices)
    less = outcomes(case, path.prices, fetches=0.9)
    holding = case.holding * made.expected_days / 7
    assert less.expected_net + holding == pytest.approx(
        0.9 * (made.expected_net + holding), rel=1e-6
    )
    assert less.chances == pytest.approx(made.chances, abs=1e-9)


def test_no_prices_mean_salvage_at_once() -> None:
    made = outcomes(a_case(), np.zeros(0))
    assert made.nets.tolist() == [pytest.approx(0.35 * 300)]
    assert made.expected_days == 0


def test_one_alternative_gives_the_best_fits_outcomes() -> None:
    case = a_case()
    path = case.best_path()
    over = outcomes_over_draws(a_shop(), case, path.prices)
    assert over.expected_net == pytest.approx(path.expected_net, rel=1e-9)


def test_chances_and_days_by_hand() -> None:
    made = Outcomes(
        nets=np.array([300.0, 250.0, 90.0]),
        days=np.array([7.0, 14.0, 21.0]),
        chances=np.array([0.5, 0.3, 0.2]),
    )
    assert made.expected_net == pytest.approx(243)
    assert made.sd == pytest.approx(np.sqrt(0.5 * 57**2 + 0.3 * 7**2 + 0.2 * 153**2))
    assert made.chance_below(250) == pytest.approx(0.2)
    assert made.chance_below(251) == pytest.approx(0.5)
    assert [made.days_by(p) for p in (0.5, 0.51, 0.9)] == [7, 14, 21]
