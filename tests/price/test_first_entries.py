"""Which entry would narrow the answer most, for this shop and piece."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from fleetlib.price.first_entries import first_entry_sentence, narrowing
from fleetlib.price.fit import PriceFit, fit_prices
from fleetlib.records.piece import Piece
from tests.bench_ranges import AS_OF, World, draw_shop

BARE = Piece(furniture_type="dresser")
FULL = Piece(furniture_type="dresser", wood="oak", finish="oil", width_in=56, depth_in=19, height_in=33)  # fmt: skip


def fit_of(world: World, n: int = 25) -> PriceFit:
    sales, _ = draw_shop(world, n, np.random.default_rng(12))
    return fit_prices(
        sales.assign(sold_on=pd.to_datetime(sales["sold_on"]), days_listed=20.0), as_of=AS_OF
    )


def test_the_entry_named_is_the_one_that_narrows_the_range_most() -> None:
    fit = fit_of(World("", known=1.0, own=0.12))
    found = narrowing(fit, BARE)
    assert set(found) == {
        "its width, depth and height", "its wood", "its finish", "your own price, before you look at any answer",
    }  # fmt: skip
    best = max(found, key=lambda k: found[k])
    assert best.startswith("your own price") and found[best] > 0.2
    assert f"what to write down first: {best}" in first_entry_sentence(fit, BARE)
    with_price = narrowing(fit, replace(BARE, gut_price=300))
    assert "your own price, before you look at any answer" not in with_price
    # What it promises is what the fuller piece then gets.
    alone = fit.distribution(BARE)
    sized = fit.distribution(replace(BARE, width_in=56, depth_in=19, height_in=33))
    gained = 1 - np.log(np.divide(*sized.interval(0.8)[::-1])) / np.log(
        np.divide(*alone.interval(0.8)[::-1])
    )
    assert abs(found["its width, depth and height"] - gained) < 0.03


def test_a_size_matters_more_where_sizes_pay_more() -> None:
    flat = narrowing(fit_of(World("", elasticity=0.0, noise=0.15), 60), BARE)
    steep = narrowing(fit_of(World("", elasticity=1.2, noise=0.15), 60), BARE)
    assert steep["its width, depth and height"] > flat["its width, depth and height"]


def test_nothing_is_said_where_nothing_is_lacking() -> None:
    fit = fit_of(World("", known=1.0, own=0.12))
    assert first_entry_sentence(fit, replace(FULL, gut_price=300)) == ""
