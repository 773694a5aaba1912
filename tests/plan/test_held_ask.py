"""An ask held all along: chances that fall as the ask rises, and the plan's own numbers where both speak."""

from dataclasses import replace

import numpy as np
import pytest

from fleetlib.plan.case import case_for
from fleetlib.plan.held_ask import WEEKS, held_ask
from fleetlib.records.piece import Piece
from tests.histories import AS_OF
from tests.invented_flips import KnownSelling, fits_of, piece


@pytest.fixture
def case():
    shop = fits_of([piece("desk", 200, 5)], selling=KnownSelling())
    return case_for(shop, Piece(furniture_type="desk", gut_price=300.0), AS_OF)


def test_the_chance_follows_the_weekly_rates_written_out_by_hand(case) -> None:
    # sold within w weeks = 1 - E over hidden kinds of exp(-kind * rate * sum of k^c, k = 1..w)
    ask = 290.0
    hazard = case.hazard
    rate = float(np.exp(hazard.log_rate(np.array([ask]))[0]))
    log_kind, weight = hazard.nodes()
    for weeks, chance in held_ask(case, ask).sold_within:
        passed = sum(k**hazard.week_exponent for k in range(1, weeks + 1))
        by_hand = 1 - weight @ np.exp(-np.exp(log_kind) * rate * passed)
        assert chance == pytest.approx(by_hand, rel=1e-9)


def test_a_dearer_ask_never_sells_sooner(case) -> None:
    asks = [200, 250, 300, 400, 600]
    table = np.array([[c for _, c in held_ask(case, a).sold_within] for a in asks])
    assert (np.diff(table, axis=0) < 0).all()
    assert (np.diff(table, axis=1) > 0).all()


def test_no_held_ask_brings_more_than_the_best_plan(case) -> None:
    best = case.best_path().expected_net
    assert max(held_ask(case, a).expected_net for a in case.asks) <= best * 1.005 + 1e-9
    flat = np.full(len(case.edges) - 1, 300.0)
    assert held_ask(case, 300.0).expected_net == pytest.approx(
        case.worth(flat).expected_net, rel=1e-9
    )


def test_the_weeks_are_told_even_where_the_plan_ends_sooner(case) -> None:
    short = replace(case, edges=case.edges[:4], dates=case.dates[:4])
    assert [w for w, _ in held_ask(short, 300.0).sold_within] == list(WEEKS)
    assert held_ask(short, 300.0).sold_within == held_ask(case, 300.0).sold_within
