"""What saved plans promised against what came, in shops whose truth is known."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from fleetlib.buying.find_value import value_find
from fleetlib.pay.promised import factor_of, promises_kept
from fleetlib.records.piece import Piece
from tests.histories import AS_OF
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece
from tests.true_records import shop_of


def shop(pieces, received, *, date="2026-05-01"):
    rows = [piece("desk", received, 6) for _ in range(pieces)]
    fits = fits_of(rows, selling=KnownSelling(), hours=KnownHours(6.0))
    names = fits.records.flips["piece"]
    log = pd.DataFrame({"piece": names, "date": pd.Timestamp(date), "mid": 300.0})
    log = log.assign(expected_net=197.0, expected_days=7.0, plan="")
    return shop_of(replace(fits.records, advice_log=log), selling=fits.selling, hours=fits.hours)


def test_money_promised_and_received_by_hand():
    fits = shop(8, 180)
    made = promises_kept(fits)
    flips = fits.records.flips
    # a week of holding at 1% of the middle price is put back: 197 + 3
    assert (made.pieces, made.promised) == (8, pytest.approx(1600))
    assert made.received == pytest.approx(flips["net_price"].sum())
    assert made.factor == pytest.approx(
        flips["net_price"].sum() / 1600, rel=1e-6
    )  # all alike: no doubt


def test_the_next_promise_is_corrected_and_that_is_said():
    plain = value_find(shop(3, 180), Piece(furniture_type="desk", gut_price=300.0))
    fits = shop(8, 140)
    moved = value_find(fits, Piece(furniture_type="desk", gut_price=300.0))
    factor = promises_kept(fits).factor
    assert factor == pytest.approx(0.8)
    assert moved.expected_net == pytest.approx(factor * plain.expected_net)
    assert moved.outcomes.expected_net == pytest.approx(moved.expected_net)
    assert "promised $1,600; $1,280 came" in promises_kept(fits).sentence("USD")


@pytest.mark.parametrize(
    ("pieces", "date"), [(4, "2026-05-01"), (8, "2024-05-01"), (8, f"{AS_OF}")]
)
def test_few_or_old_promises_or_those_of_today_correct_nothing(pieces, date):
    made = promises_kept(shop(pieces, 100, date=date))
    assert made.factor == 1
    assert made.sentence("USD") == ""


def test_correcting_brings_the_next_promises_nearer_where_they_are_off_and_costs_little_where_not():
    # promises off by N(0, .1) a shop, single sales by .3: error of the next promise, 2,000 shops of 12 pieces
    rng = np.random.default_rng(8)
    before, after = [], []
    for off in 0.1 * rng.standard_normal(2000):
        received = 100 * np.exp(off + 0.3 * rng.standard_normal(12) - 0.045)
        before.append(off**2)
        after.append((off - np.log(factor_of(np.full(12, 100.0), received))) ** 2)
    assert np.mean(after) < 0.75 * np.mean(before)
