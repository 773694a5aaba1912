"""The ratio study against the four worked tables of the published standard."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from fleetlib.base.errors import BadQuestion
from fleetlib.trust.ratio_study import ratio_study
from tests.trust.published_ratio_tables import TABLES, Published


def _study(table: Published, level: float = 0.95):
    made, paid = np.array(table.pairs, float).T
    return ratio_study(made, prices=paid, level=level)


@pytest.mark.parametrize("name", TABLES)
def test_published_tables_come_out_to_their_printed_digits(name):
    table = TABLES[name]
    study = _study(table)
    for found, printed in zip((study.cod, study.prd, study.prb), table.printed, strict=True):
        places = len(printed.split(".")[1])
        assert f"{found:.{places}f}" == printed
    cod, prd, prb, prb_se = table.exact
    assert study.cod == pytest.approx(cod, abs=5e-5)
    assert study.prd == pytest.approx(prd, abs=5e-5)
    assert study.prb == pytest.approx(prb, abs=5e-5)
    assert study.prb_se == pytest.approx(prb_se, abs=5e-5)
    assert study.median == pytest.approx(table.median, abs=5e-5)
    assert study.mean == pytest.approx(table.mean, abs=5e-5)
    assert study.weighted == pytest.approx(table.weighted, abs=5e-5)
    assert (sum(a for a, _ in table.pairs), sum(b for _, b in table.pairs)) == table.sums


@pytest.mark.parametrize("name", TABLES)
def test_prb_and_its_interval_agree_with_a_regression_package(name):
    made, paid = np.array(TABLES[name].pairs, float).T
    middle = np.median(made / paid)
    fit = sm.OLS(
        (made / paid - middle) / middle,
        sm.add_constant(np.log2(0.5 * paid + 0.5 * made / middle)),
    ).fit()
    study = ratio_study(made, prices=paid)
    assert study.prb == pytest.approx(fit.params[1], rel=1e-9)
    assert study.prb_range == pytest.approx(tuple(fit.conf_int()[1]), rel=1e-9)


def test_one_dear_sale_pushes_prd_but_not_prb():
    study = _study(TABLES["D-2"])
    assert study.prd > 1.03
    assert study.prb_range[0] < 0 < study.prb_range[1]


def test_median_interval_is_the_pair_of_order_statistics():
    # n = 17: binomial(17, 1/2) leaves P(X <= 4) = .0245 below, so the 5th from each end.
    assert binom.cdf(4, 17, 0.5) < 0.025 < binom.cdf(5, 17, 0.5)
    made, paid = np.array(TABLES["1-4"].pairs, float).T
    ordered = np.sort(made / paid)
    assert _study(TABLES["1-4"]).median_range == pytest.approx((ordered[4], ordered[12]))


def test_median_interval_covers_as_often_as_it_says():
    rng = np.random.default_rng(7)
    hit = 0
    for _ in range(400):
        low, high = ratio_study(
            np.exp(rng.normal(0, 0.3, 30)), prices=np.ones(30), level=0.9
        ).median_range
        hit += low <= 1 <= high
    assert (
        0.88 <= hit / 400 <= 0.97
    )  # at least .90, conservative by the steps of the binomial; se .015


def test_resampled_intervals_hold_the_figure_and_never_move():
    first, again = _study(TABLES["1-1"]), _study(TABLES["1-1"])
    assert first.cod_range == again.cod_range
    assert first.cod_range[0] < first.cod < first.cod_range[1]
    assert first.prd_range[0] < first.prd < first.prd_range[1]
    assert first.cod_range[1] - first.cod_range[0] < 25


def test_fifteen_sales_are_enough_and_fourteen_are_not():
    prices = np.linspace(100, 400, 15)
    assert ratio_study(prices, prices=prices).enough
    assert not ratio_study(prices[:14], prices=prices[:14]).enough


def test_one_or_two_sales_give_figures_without_intervals():
    study = ratio_study(np.array([90.0, 110.0]), prices=np.array([100.0, 100.0]))
    assert study.median == 1
    assert study.cod == pytest.approx(10)
    assert np.isnan([*study.median_range, *study.cod_range, *study.prd_range, study.prb]).all()


@given(
    st.lists(st.tuples(st.floats(10, 5000), st.floats(10, 5000)), min_size=3, max_size=25),
    st.floats(0.01, 100),
)
def test_the_currency_changes_nothing(pairs, rate):
    made, paid = np.array(pairs).T
    here, there = ratio_study(made, prices=paid), ratio_study(made * rate, prices=paid * rate)
    assert there.cod == pytest.approx(here.cod, rel=1e-9, abs=1e-9)
    assert there.prd == pytest.approx(here.prd, rel=1e-9)
    assert there.median_range == pytest.approx(here.median_range, nan_ok=True)


@pytest.mark.parametrize("bad", [0.0, -5.0, float("nan"), float("inf")])
def test_amounts_not_above_nothing_are_refused(bad):
    with pytest.raises(BadQuestion, match="above 0"):
        ratio_study(np.array([100.0, bad]), prices=np.array([100.0, 100.0]))


def test_a_level_outside_its_bounds_is_refused_with_the_level():
    with pytest.raises(BadQuestion, match=r"1\.5"):
        ratio_study(np.array([100.0]), prices=np.array([100.0]), level=1.5)
