"""The price model on simulated shops whose truth is known."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import TooFewSales
from fleetlib.price.fit import PriceFit, fit_prices, inside_when_refitted, share_to_expect
from fleetlib.records.piece import Piece

AS_OF = date(2026, 9, 30)


WOODS = ("oak", "pine", "maple", "cherry", "walnut", "birch")


def invented_sales(n: int, seed: int = 3, drift: float = 0.0) -> pd.DataFrame:
    """`n` sales of a shop whose effects are drawn by `seed`; `drift` is the log change of prices a year."""
    rng = np.random.default_rng(seed)
    kind, wood, finish = rng.integers(0, 9, n), rng.integers(0, 6, n), rng.integers(0, 4, n)
    effects = rng.normal(0, 0.4, 9)[kind] + rng.normal(0, 0.2, 6)[wood]
    effects = effects + rng.normal(0, 0.1, 4)[finish]
    width, depth = rng.uniform(20, 70, n).round(), rng.uniform(14, 24, n).round()
    height, days = rng.uniform(24, 50, n).round(), rng.exponential(30, n).round()
    age = rng.integers(0, 1000, n)
    size = np.log(width * depth * height / 1728)
    log_price = 5.2 + effects + 0.4 * size - drift * age / 365.25 + rng.normal(0, 0.25, n)
    return pd.DataFrame(
        {
            "piece": [f"A-{i}" for i in range(n)],
            "line": np.arange(2, n + 2),
            "furniture_type": [f"type {i}" for i in kind],
            "wood": [WOODS[i] for i in wood],
            "finish": [f"finish {i}" for i in finish],
            "width_in": width,
            "depth_in": depth,
            "height_in": height,
            "days_listed": days,
            "sold_on": pd.Timestamp(AS_OF) - pd.to_timedelta(age, unit="D"),
            "sale_price": np.exp(log_price),
        }
    )


@pytest.fixture(scope="module")
def flips() -> pd.DataFrame:
    return invented_sales(120)


@pytest.fixture(scope="module")
def fit(flips: pd.DataFrame) -> PriceFit:
    return fit_prices(flips, as_of=AS_OF)


def test_without_borrowing_under_five_sales_are_refused_with_their_number(
    flips: pd.DataFrame,
) -> None:
    with pytest.raises(TooFewSales, match="There are 4 sales"):
        fit_prices(flips.head(4), as_of=AS_OF, borrow=False)
    assert "only 5 sales" in fit_prices(flips.head(5), as_of=AS_OF, borrow=False).notes[0]


def test_rows_priced_a_few_at_a_time_are_priced_as_together(
    flips: pd.DataFrame, fit: PriceFit, monkeypatch: pytest.MonkeyPatch
) -> None:
    together = fit.usual(flips, at_own_time=True)
    monkeypatch.setattr("fleetlib.price.regression.regression._AT_ONCE", 50)
    np.testing.assert_allclose(fit.usual(flips, at_own_time=True), together, rtol=1e-7)


def test_one_price_a_thousand_times_too_large_is_flagged_and_moves_the_others_little(
    flips: pd.DataFrame, fit: PriceFit
) -> None:
    typo = flips.copy()
    typo.loc[7, "sale_price"] *= 1000
    moved = fit_prices(typo, as_of=AS_OF)
    assert list(moved.flagged["piece"]) == ["A-7"]
    assert any("A-7 sold for" in note for note in moved.notes)
    others = flips.drop(index=7)
    assert np.median(np.abs(moved.usual(others) / fit.usual(others) - 1)) <= 0.05


def test_the_usual_price_left_out_does_not_hang_on_its_own_sale(
    flips: pd.DataFrame, fit: PriceFit
) -> None:
    changed = flips.copy()
    row = fit.sales.index[60]
    changed.loc[row, "sale_price"] *= 1.5
    again = fit_prices(changed, as_of=AS_OF)
    before, after = fit.usual_left_out()[60], again.usual_left_out()[60]
    with_own = again.usual(changed.loc[[row]])[0] / fit.usual(flips.loc[[row]])[0]
    assert abs(after / before - 1) < 0.03 < with_own - 1


def test_a_piece_with_less_known_about_it_gets_a_wider_range(fit: PriceFit) -> None:
    known = Piece(
        furniture_type="type 1", wood=WOODS[2], finish="finish 1",
        width_in=40.0, depth_in=20.0, height_in=30.0,
    )  # fmt: skip
    widths = []
    for change in ({}, {"wood": None}, {"wood": "never seen"}, {"depth_in": None}):
        low, high = fit.distribution(replace(known, **change)).interval(0.8)
        widths.append(np.log(high / low))
    assert min(widths[1:]) > widths[0]


def test_the_distribution_agrees_with_itself(fit: PriceFit) -> None:
    piece = Piece(furniture_type="type 1", wood=WOODS[2], finish="finish 1")
    priced = fit.distribution(piece)
    assert priced.share_above(priced.quantile(0.9)) == pytest.approx(0.1, abs=1e-6)
    assert priced.quantile(0.5) == pytest.approx(priced.mid)
    drawn = priced.sample(np.random.default_rng(2026), 20_000)
    assert np.mean(drawn > priced.quantile(0.8)) == pytest.approx(0.2, abs=0.01)
    assert priced.mid < priced.mean < 1.5 * priced.mid


def test_prices_that_drift_are_brought_to_the_day_asked_about() -> None:
    flips = invented_sales(120, seed=5, drift=0.25)
    fit = fit_prices(flips, as_of=AS_OF)
    old = flips.sort_values("sold_on").head(30)
    years = (pd.Timestamp(AS_OF) - old["sold_on"]).dt.days / 365.25
    raised = np.log(fit.usual(old) / fit.usual(old, at_own_time=True))
    assert np.median(raised / years) == pytest.approx(0.25, abs=0.08)


def test_a_few_weeks_of_sales_say_nothing_of_how_prices_drift_in_years() -> None:
    days = pd.date_range("2026-05-04", periods=12, freq="6D")
    flips = pd.DataFrame(
        {
            "furniture_type": ["desk", "dresser"] * 6,
            "sold_on": days,
            "sale_price": [400 - 20 * i for i in range(12)],
            "days_listed": 20.0,
        }
    )
    short = fit_prices(flips, as_of=date(2026, 9, 30))
    assert "years_before" not in [m.name for m in short.regressor.coding.measures]
    longer = flips.assign(sold_on=pd.date_range("2024-01-04", periods=12, freq="60D"))
    fitted = fit_prices(longer, as_of=date(2026, 9, 30))
    assert "years_before" in [m.name for m in fitted.regressor.coding.measures]
    assert short.regressor.coding.cycles == ()
    assert any("under a year" in note for note in short.notes)
    assert not any("under a year" in note for note in fitted.notes)


def test_the_share_said_falls_short_where_prices_broke_with_the_record(
    flips: pd.DataFrame, fit: PriceFit
) -> None:
    quiet = inside_when_refitted(fit) / len(fit.sales)
    assert 0.65 < quiet < 0.95
    jumpy = flips.copy()
    late = jumpy["sold_on"] > jumpy["sold_on"].quantile(0.8)
    jumpy.loc[late, "sale_price"] *= 3.0
    assert inside_when_refitted(fit_prices(jumpy, as_of=AS_OF)) / len(fit.sales) < quiet


def test_few_sales_move_the_share_to_expect_less_than_many(fit: PriceFit) -> None:
    inside, sales = inside_when_refitted(fit), len(fit.sales)
    # By hand: shares of .05 about .80 are worth .8 x .2 / .05^2 - 1 = 63 sales, of which 50.4 are inside.
    assert share_to_expect(fit) == pytest.approx((inside + 50.4) / (sales + 63))
    assert abs(share_to_expect(fit) - 0.8) < abs(inside / sales - 0.8) or inside / sales == 0.8


def test_shops_own_path_needs_no_scikit_learn() -> None:
    code = (
        "import sys, fleetlib.price.fit, fleetlib.price.estimate; print('sklearn' in sys.modules)"
    )
    made = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert made.stdout.strip() == "False"
