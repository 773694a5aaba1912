"""A break in the level of prices: noticed where there is one, not where there is none, and told from a drift."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.price.breaks import Break, break_sentence, find_break
from fleetlib.price.fit import PriceFit, fit_prices
from tests.bench_ranges import AS_OF, World, draw_shop


def fit_of(world: World, number: int, n: int = 100) -> PriceFit:
    sales, _ = draw_shop(world, n, np.random.default_rng([3, number, n]))
    sales = sales.assign(sold_on=pd.to_datetime(sales["sold_on"]), days_listed=20.0)
    return fit_prices(sales.sort_values("sold_on", ignore_index=True), as_of=AS_OF)


def test_a_fall_a_year_ago_is_found_with_its_day_and_size() -> None:
    found = [find_break(fit_of(World("", fell=-0.35, noise=0.2), k)) for k in range(3)]
    seen = [b for b in found if b is not None]
    assert len(seen) >= 2
    for one in seen:
        assert abs((one.since - date(2025, 9, 30)).days) < 150
        assert -0.5 < one.change < -0.2


@pytest.mark.slow
def test_quiet_shops_and_steady_drifts_are_left_in_peace() -> None:
    quiet = [find_break(fit_of(World(""), k)) for k in range(4)]
    assert quiet.count(None) == 4
    drifting = [find_break(fit_of(World("", drift=0.15), k)) for k in range(4)]
    assert drifting.count(None) >= 3


def test_a_break_is_said_in_plain_words() -> None:
    said = break_sentence(Break(date(2026, 3, 2), float(np.log(0.82)), -5.0, 31))
    assert said.startswith("your 31 sales since March 2026 run 18% below the records before")
    assert "the newest sales count most" in said
