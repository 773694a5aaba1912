"""The pool of noise descriptions: exact identities, and an outside Gaussian-process fit."""

from __future__ import annotations

import numpy as np
import pytest

from fleetlib.price.regression.pool import (
    LEAST_NOISE,
    at_rows,
    fit_pool,
    heavy_tailed_mode,
    leave_one_out_errors,
    left_out_z,
    predictive,
    predictive_left_out,
    sale_weights,
    smearing,
)
from fleetlib.price.regression.priors import VarianceRatioPrior
from fleetlib.price.regression.restricted_likelihood import solve

PRIOR = VarianceRatioPrior(np.array([1.0, 4.0]))


def data(n: int = 40, seed: int = 6) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Similarities (2, n, n) of a factor and a measure, outcomes, and the measure."""
    rng = np.random.default_rng(seed)
    group, z = rng.integers(0, 5, n), rng.normal(size=n)
    y = 5 + rng.normal(0, 0.4, 5)[group] + 0.3 * z + rng.normal(0, 0.2, n)
    return np.array([group[:, None] == group[None, :], np.outer(z, z)], dtype=float), y, z


def test_leaving_a_sale_out_by_formula_is_leaving_it_out() -> None:
    S, y, _ = data()
    lam, d = np.array([0.3, 0.1]), np.linspace(0.6, 1.6, len(y))
    whole = solve(S, lam, d, y)
    errors = leave_one_out_errors(whole)
    for i in (0, 7, 23):
        rest = np.arange(len(y)) != i
        part = solve(S[:, rest][:, :, rest], lam, d[rest], y[rest])
        mu, v = at_rows(part, S[:, [i]][:, :, rest], S[:, i, i][:, None])
        assert y[i] - mu[0] == pytest.approx(errors[i])
        assert v[0] + d[i] == pytest.approx(1 / whole.P[i, i])
        rest_squares = whole.R - whole.Py[i] ** 2 / whole.P[i, i]
        assert pytest.approx(rest_squares) == part.R


def test_mean_and_variance_agree_with_a_gaussian_process_whose_level_is_vague() -> None:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, DotProduct

    S, y, z = data()
    lam = np.array([0.2])
    at = solve(S[1:], lam, np.ones(len(y)), y)
    slope = float(np.exp(2 * lam[0]))
    kernel = ConstantKernel(1e6, "fixed") + ConstantKernel(slope, "fixed") * DotProduct(
        0.0, "fixed"
    )
    outside = GaussianProcessRegressor(kernel, alpha=1.0, optimizer=None).fit(z[:, None], y)
    new = np.array([-1.0, 0.4, 2.5])
    mean, sd = outside.predict(new[:, None], return_std=True)
    mu, v = at_rows(at, np.outer(new, z)[None], (new**2)[None])
    assert mu == pytest.approx(mean, rel=1e-4)
    assert v == pytest.approx(sd**2, rel=1e-3)


def test_the_weights_of_the_sales_add_up_to_one_and_make_the_estimate() -> None:
    S, y, _ = data()
    at = solve(S, np.array([0.3, 0.1]), np.ones(len(y)), y)
    w = sale_weights(at, S)
    assert w.sum(axis=1) == pytest.approx(np.ones(len(y)))
    mu, _ = at_rows(at, S, np.array([np.diag(s) for s in S]))
    assert w @ y == pytest.approx(mu)
    assert y - at.d * at.Py == pytest.approx(mu)


def test_constant_prices_do_not_promise_a_zero_width() -> None:
    S, y, _ = data()
    pool = fit_pool(S, np.full(len(y), 5.0), prior=PRIOR, factors=1, measures=1)
    low, high = predictive(pool, S, np.ones((2, len(y)))).interval(0.8).T
    assert (high - low > 2 * LEAST_NOISE).all()
    assert np.isfinite(high).all()


def test_student_t_noise_discounts_the_outlier() -> None:
    S, y, _ = data()
    y = y.copy()
    y[3] += 4.0
    _, d = heavy_tailed_mode(S, y, start=np.zeros(2), h=np.ones(40), prior=PRIOR, nu=4.0)
    assert np.argmax(d) == 3 and d[3] > 20 * np.median(d)


def test_a_gross_outlier_pulls_no_more_than_if_it_were_not_there() -> None:
    S, y, _ = data(60)
    wild, rest = y.copy(), np.arange(60) != 11
    wild[11] += np.log(1000)
    clean = fit_pool(S[:, rest][:, :, rest], y[rest], prior=PRIOR, factors=1, measures=1)
    strained = fit_pool(S, wild, prior=PRIOR, factors=1, measures=1)
    without = predictive(clean, S[:, :, rest], np.ones((2, 60))).median()
    with_it = predictive(strained, S, np.ones((2, 60))).median()
    assert np.abs(with_it - without).max() < 0.03
    assert left_out_z(strained.gaussian.mode, strained.gaussian.h)[11] > 10


def test_noise_that_differs_by_level_is_learned() -> None:
    rng = np.random.default_rng(8)
    group = np.repeat([0, 1, 2, 3], 50)
    sd = np.array([0.08, 0.2, 0.2, 0.5])[group]
    y = 5 + rng.normal(0, 1, 200) * sd
    S = (group[:, None] == group[None, :]).astype(float)[None]
    pool = fit_pool(S, y, prior=VarianceRatioPrior(np.ones(1)), factors=1, measures=0)
    h = [pool.gaussian.h[group == g].mean() for g in range(4)]
    assert h[0] < h[1] < h[3] and h[3] / h[0] > 8  # the truth is 39; it is shrunk


def test_smearing_is_one_without_spread_and_grows_with_it() -> None:
    S, y, _ = data(200, seed=1)
    pool = fit_pool(S, y, prior=PRIOR, factors=1, measures=1)
    factor = smearing(pool, S[:, :3], np.ones((2, 3)))
    assert factor == pytest.approx(np.full(3, np.exp(0.2**2 / 2)), abs=0.01)


def test_left_out_ranges_are_those_of_the_others() -> None:
    S, y, _ = data()
    pool = fit_pool(S, y, prior=PRIOR, factors=1, measures=1)
    shifted = y.copy()
    shifted[5] += 0.3
    moved = fit_pool(S, shifted, prior=PRIOR, factors=1, measures=1)
    before, after = predictive_left_out(pool).median()[5], predictive_left_out(moved).median()[5]
    assert after == pytest.approx(before, abs=0.03)
    inside = (np.abs(predictive_left_out(pool).share_below(y) - 0.5) < 0.4).mean()
    assert 0.65 < inside < 0.95


def test_ranges_are_stretched_only_where_asked_and_by_a_stated_factor() -> None:
    S, y, _ = data(12)
    small = fit_pool(S, y, prior=PRIOR, factors=1, measures=1, stretch=True)
    assert small.stretched_by == pytest.approx(1.15)
    assert predictive(small, S, np.ones((2, 12))).stretch == small.stretched_by
    assert fit_pool(S, y, prior=PRIOR, factors=1, measures=1).stretched_by == 1
    S, y, _ = data(90)
    assert fit_pool(
        S, y, prior=PRIOR, factors=1, measures=1, stretch=True
    ).stretched_by == pytest.approx(1.01)
