"""What the owner's own price adds: learned excess and error, and ranges that hold beside any own price."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from fleetlib.price.features import model_columns
from fleetlib.price.fit import PriceDistribution, PriceFit, fit_prices
from fleetlib.price.own_price import counting_own_price, own_price_sentence, own_pricing
from fleetlib.price.regression.mixture import Mixture
from fleetlib.records.piece import Piece
from tests.bench_ranges import AS_OF, World, draw_shop
from tests.histories import flips_of
from tests.promise_shops import WORLDS, _rows

ALIKE = Piece(furniture_type="dresser", wood="oak", width_in=48, depth_in=20, height_in=36)


def shop(own: float, n: int = 80, number: int = 1) -> tuple[PriceFit, pd.DataFrame]:
    sales, pieces = draw_shop(World("", own=own), n, np.random.default_rng([4, number]))
    sales = sales.assign(sold_on=pd.to_datetime(sales["sold_on"]), days_listed=20.0)
    return fit_prices(sales, as_of=AS_OF), pieces


@pytest.fixture(scope="module")
def good() -> tuple[PriceFit, pd.DataFrame]:
    return shop(own=0.12)


def test_the_owners_usual_excess_and_error_are_found(good: tuple[PriceFit, pd.DataFrame]) -> None:
    pricing = own_pricing(good[0])
    assert pricing.sales == 80
    assert pricing.usual_excess == pytest.approx(np.expm1(0.1), abs=0.04)  # as drawn
    assert pricing.usual_error == pytest.approx(0.12, abs=0.05)
    said = own_price_sentence(good[0])
    assert "above what was paid as a rule (80 sales)" in said and "a sale follows its ask" in said


def test_two_normal_opinions_are_weighed_by_their_precision(
    good: tuple[PriceFit, pd.DataFrame],
) -> None:
    # The product of N(m, s^2) and N(log own price - x, g^2) by hand, for one normal component.
    fit, m, s = good[0], np.log(300.0), 0.3
    normal = Mixture(np.array([[m]]), np.array([[s]]), np.array([1e6]), np.ones(1))
    told = counting_own_price(fit, PriceDistribution(300.0, 305.0, 20.0, normal), 600.0)
    pricing = own_pricing(fit)
    over = np.clip(np.log(600.0) - pricing.excess - m, -0.5, 0.5)
    lucky = np.minimum((pricing.luck * np.exp(pricing.growths * over)) ** 2, 0.75 * s**2)
    precision = 1 / (s**2 - lucky) + 1 / pricing.errors**2
    each = m / (s**2 - lucky) + (np.log(600.0) - pricing.excess) / pricing.errors**2
    mean = float(told.mixture.weights @ told.mixture.location[:, 0])
    fall = np.sqrt(lucky * pricing.leans) * (1 - np.log(2))  # of the mean under the middle
    assert mean == pytest.approx(float(np.mean(each / precision - fall)), abs=1e-6)
    low, high = told.interval(0.80)
    assert np.log(high / low) < 2 * 1.2816 * s


def test_an_own_price_that_says_nothing_is_not_followed() -> None:
    sales, _ = draw_shop(World(""), 80, np.random.default_rng([4, 2]))
    rng = np.random.default_rng(6)
    sales = sales.assign(
        sold_on=pd.to_datetime(sales["sold_on"]),
        days_listed=20.0,
        gut_price=np.exp(rng.normal(5.4, 0.5, 80)),
    )
    fit = fit_prices(sales, as_of=AS_OF)
    alone = fit.distribution(ALIKE)
    told = counting_own_price(fit, alone, 2 * alone.mid)
    assert told.mid < 1.2 * alone.mid


def test_ranges_hold_whether_the_own_price_is_low_or_high() -> None:
    held, alone_held = [], []
    for number in range(4):
        fit, pieces = shop(own=0.15, n=40, number=number)
        columns = model_columns(pieces, as_of=AS_OF, days=fit.reference_days, sold_on=fit.sale_day)
        told, paid = fit.regressor.distribution(columns), pieces["sale_price"].to_numpy(float)
        own, mids = pieces["gut_price"].to_numpy(float), np.exp(told.median())
        third = np.digitize(own / mids, np.quantile(own / mids, [1 / 3, 2 / 3]))
        for k in range(len(pieces)):
            alone = PriceDistribution(float(mids[k]), float(mids[k]), 20.0, told.take([k]))
            low, high = counting_own_price(fit, alone, float(own[k])).interval(0.80)
            held.append((third[k], low <= paid[k] <= high))
            low, high = alone.interval(0.80)
            alone_held.append((third[k], low <= paid[k] <= high))
    by_third = pd.DataFrame(held).groupby(0)[1].mean()
    without = pd.DataFrame(alone_held).groupby(0)[1].mean()
    assert by_third.between(0.68, 0.92).all()  # 80 pieces a third from 4 shops: two errors are .10
    assert without.max() - without.min() > by_third.max() - by_third.min()


def test_before_any_sale_the_own_price_is_nearly_all_there_is() -> None:
    sales, _ = draw_shop(World("", own=0.15), 5, np.random.default_rng(7))
    fit = fit_prices(sales.assign(sale_price=np.nan, sold_on=pd.NaT, days_listed=20.0), as_of=AS_OF)
    told = counting_own_price(fit, fit.distribution(ALIKE), 400.0)
    assert told.mid == pytest.approx(0.9 * 400, rel=0.1)
    assert "no sale of yours has an own price on record yet" in own_price_sentence(fit)


def test_ranges_hold_where_a_sale_comes_down_from_its_ask() -> None:
    # Whole shops whose buyers bargain and wait for markdowns: one normal spread for owner and sale held .66 of these.
    world, held = replace(WORLDS[4], bench_losses=0.0), []
    for number in range(6):
        fit = fit_prices(flips_of(_rows(world, np.random.default_rng([21, number]))), as_of=AS_OF)
        pieces = flips_of(_rows(replace(world, records=40), np.random.default_rng([22, number])))
        pieces = pieces[pieces["sale_price"] > 0]
        columns = model_columns(pieces, as_of=AS_OF, days=fit.reference_days, sold_on=fit.sale_day)
        told = fit.regressor.distribution(columns)
        mids = np.exp(told.median())
        for k, (own, paid) in enumerate(
            zip(pieces["gut_price"], pieces["sale_price"], strict=True)
        ):
            alone = PriceDistribution(float(mids[k]), float(mids[k]), 20.0, told.take([k]))
            low, high = counting_own_price(fit, alone, float(own)).interval(0.80)
            held.append(low <= paid <= high)
    assert 0.74 < np.mean(held) < 0.86  # about 200 pieces: two errors are .06


def test_no_own_price_makes_a_range_much_wider(good: tuple[PriceFit, pd.DataFrame]) -> None:
    fit = good[0]
    alone = fit.distribution(ALIKE)
    width = np.log(alone.quantile(0.9) / alone.quantile(0.1))
    for times in (0.5, 1.0, 2.0):
        told = counting_own_price(fit, alone, times * alone.mid)
        assert np.log(told.quantile(0.9) / told.quantile(0.1)) < 1.05 * width
