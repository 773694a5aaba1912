"""The variance ratios of the blocks against closed forms and an outside mixed-model fit."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import approx_fprime, minimize_scalar

from fleetlib.price.regression import restricted_likelihood
from fleetlib.price.regression.priors import HALF_NORMAL, VarianceRatioPrior
from fleetlib.price.regression.restricted_likelihood import (
    draw_variance_ratios,
    find_mode,
    gradient,
    log_posterior,
    solve,
)


def groups_of(sizes: list[int], seed: int, sd: float) -> tuple[np.ndarray, np.ndarray]:
    """Similarity of rows in the same group, and outcomes with group effects of this sd and noise sd 1."""
    rng = np.random.default_rng(seed)
    member = np.repeat(np.arange(len(sizes)), sizes)
    y = rng.normal(0, sd, len(sizes))[member] + rng.normal(0, 1, len(member))
    return (member[:, None] == member[None, :]).astype(float), y


def best_ratio(S: np.ndarray, y: np.ndarray) -> float:
    """The group variance relative to the noise that maximises the restricted likelihood, no prior."""
    found = minimize_scalar(
        lambda lam: -solve(S[None], np.array([lam]), np.ones(len(y)), y).log_likelihood,
        bounds=(-4, 3),
        method="bounded",
        options={"xatol": 1e-10},
    )
    return float(np.exp(2 * found.x))


def test_balanced_groups_give_the_analysis_of_variance_estimates() -> None:
    # Balanced one-way layout: restricted likelihood gives noise = MSW and groups = (MSB - MSW) / m exactly
    # (Searle, Casella & McCulloch 1992, Variance Components, section 3.8).
    S, y = groups_of([6] * 8, seed=2, sd=0.9)
    table = y.reshape(8, 6)
    within = ((table - table.mean(axis=1, keepdims=True)) ** 2).sum() / (8 * 5)
    between = 6 * ((table.mean(axis=1) - y.mean()) ** 2).sum() / 7
    ratio = best_ratio(S, y)
    assert ratio == pytest.approx((between - within) / 6 / within, rel=1e-6)
    at = solve(S[None], np.array([0.5 * np.log(ratio)]), np.ones(len(y)), y)
    assert at.s2 == pytest.approx(within, rel=1e-6)


def test_unbalanced_groups_agree_with_statsmodels_mixed_model() -> None:
    import statsmodels.api as sm

    sizes = [3, 9, 5, 12, 2, 7, 4, 6]
    S, y = groups_of(sizes, seed=7, sd=0.8)
    model = sm.MixedLM(y, np.ones((len(y), 1)), np.repeat(np.arange(len(sizes)), sizes))
    fit = model.fit(reml=True, method="bfgs", gtol=1e-10)
    ratio = best_ratio(S, y)
    assert ratio == pytest.approx(float(fit.cov_re[0, 0]) / fit.scale, rel=1e-4)
    at = solve(S[None], np.array([0.5 * np.log(ratio)]), np.ones(len(y)), y)
    assert at.s2 == pytest.approx(fit.scale, rel=1e-4)
    assert at.intercept == pytest.approx(fit.fe_params[0], rel=1e-5)


@pytest.mark.parametrize("tail", [4.0, HALF_NORMAL])
def test_the_gradient_is_the_derivative(tail: float) -> None:
    rng = np.random.default_rng(3)
    z = rng.normal(size=30)
    group, y = groups_of([5] * 6, seed=3, sd=1.0)
    S = np.array([group, np.outer(z, z)])
    d, prior = rng.uniform(0.5, 2, 30), VarianceRatioPrior(np.array([1.0, 4.0]), tail)
    lam = np.array([-0.4, 0.3])

    def value(at: np.ndarray) -> float:
        return log_posterior(solve(S, at, d, y), prior)

    numeric = approx_fprime(lam, value, 1e-6)
    assert gradient(S, solve(S, lam, d, y), prior) == pytest.approx(numeric, abs=1e-3)
    mode = find_mode(S, y, d=d, prior=prior)
    assert gradient(S, solve(S, mode, d, y), prior) == pytest.approx([0.0, 0.0], abs=1e-2)


def test_a_solution_is_generalised_least_squares() -> None:
    S, y = groups_of([4, 7, 9], seed=1, sd=1.0)
    d = np.linspace(0.5, 1.5, 20)
    at = solve(S[None], np.array([0.2]), d, y)
    V = np.exp(0.4) * S + np.diag(d)
    inverse = np.linalg.inv(V)
    ones = np.ones(20)
    level = (ones @ inverse @ y) / (ones @ inverse @ ones)
    assert at.intercept == pytest.approx(level)
    assert at.Py == pytest.approx(inverse @ (y - level))
    assert pytest.approx((y - level) @ inverse @ (y - level)) == at.R


def test_draws_are_always_the_same_and_start_at_the_mode() -> None:
    S, y = groups_of([5] * 6, seed=3, sd=1.0)
    d, prior = np.ones(30), VarianceRatioPrior(np.ones(1))
    lam = find_mode(S[None], y, d=d, prior=prior)
    one, weights = draw_variance_ratios(S[None], y, lam=lam, d=d, prior=prior)
    two, again = draw_variance_ratios(S[None], y, lam=lam, d=d, prior=prior)
    assert one[0].lam == pytest.approx(lam)
    assert weights.sum() == pytest.approx(1.0)
    assert (weights == again).all()
    assert all((a.lam == b.lam).all() for a, b in zip(one, two, strict=True))


@pytest.mark.parametrize("blocks", [2, 5])
def test_no_draw_hangs_on_the_last_digit_where_curvatures_are_alike(blocks, monkeypatch) -> None:
    S, y = groups_of([5] * 6, seed=3, sd=1.0)
    S, d, prior = np.array([S] * blocks), np.ones(30), VarianceRatioPrior(np.ones(blocks))
    rng = np.random.default_rng(8)

    def drawn() -> np.ndarray:
        noise = 1e-13 * rng.normal(size=(blocks, blocks))
        curved = 2 * np.eye(blocks) + noise + noise.T
        monkeypatch.setattr(restricted_likelihood, "hessian_at", lambda *_, **__: curved)
        lam = np.full(blocks, -0.5)
        return np.array([s.lam for s in draw_variance_ratios(S, y, lam=lam, d=d, prior=prior)[0]])

    first = drawn()
    assert np.ptp(first, axis=0).min() > 0.5
    for _ in range(5):
        assert drawn() == pytest.approx(first, abs=1e-4)
