"""The posterior of the shop's pace of selling: assumptions, log density with exact slopes, mode and draws.

Parameters, in the order of the vector theta: a (weekly log rate), B (price sensitivity), gam (power of the
week), rho (what the owner's price idea tells), log s (frailty: unseen quality), k (log curvature), then one a_type for
each furniture type. selling/fit.py says what they mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize
from scipy.special import gammaincinv, ndtri

from fleetlib.base.sobol import sobol_points
from fleetlib.selling.likelihood import (
    LOG_WEIGHTS,
    NODES,
    ListingWeeks,
    listing_weeks,
    log_likelihood,
    log_likelihoods,
    price_response,
)
from fleetlib.selling.weeks_at_risk import Listings

LEVEL, SENSITIVITY, WEEK, SIGNAL, FRAILTY, CURVED, SHOP = range(7)
DRAWS = 12
_TRIED, _TAIL = 256, 6.0
_CELLS = 200_000  # of parameter sets, listings and kinds of quality, worked out at once: what a processor holds near
_LEAST_SENSITIVE = 0.2
_LOG_MOST_CURVED = float(np.log(4.0))
_BOUNDS = (
    (-9.0, 5.0),
    (_LEAST_SENSITIVE, 25.0),
    (-1.5, 1.5),
    (-1.0, 2.0),
    (-5.0, 1.0),
    (-5.0, 1.5),
)


@dataclass(frozen=True, slots=True)
class Assumptions:
    """What is assumed before the first listing is seen; none of it has outside support.

    They are weak on purpose, and the notes say how far a shop's own listings have replaced them. (mean, sd)
    unless said otherwise:

    baseline               a: about one in six sells in its first week at its anchored value, give or take e
    sensitivity         B, sd below and above its mean apart: asking too much costs far more than asking too
                        little, so few shops are taken to have buyers who hardly mind the price
    untaught            the mean of B where no dated markdown could teach it: higher, which is the safer side
    week                gam: interest cools off a little
    signal              rho: the owner's own price idea tells most of what the records cannot see
    hidden              log s: what an owner's price leaves unseen of a piece, about .22 give or take a third, however
                        few the sales. It does not follow the price model's spread: that is wide with few sales, and
                        a planner who takes its width for hidden quality asks too much of every piece
    log_curvature, tie  kap = e^k (B / 4)^tie: buyers who hardly mind the price hardly mind it anywhere
    type_sd             spread of furniture types around a
    tried, reach        the highest ask goes reach / B (in logs, at most most_reach, twice the value) above nearly all
                        past asks; `tried` is the least that counts as tried
    reach_sales         with so many sold, half of that reach; with none, no ask above what was tried
    lean, lean_sales    the search for a plan begins where buyers mind the price so many of its sd's more than is
                        likeliest; less with each sale, none from lean_sales on
    caution             how much the worst quarter of the draws counts where a plan is chosen, since asking too much
                        costs more than asking too little; it goes the same way
    """

    baseline: tuple[float, float] = (-1.7, 1.0)
    sensitivity: tuple[float, float, float] = (3.4, 1.1, 1.6)
    untaught: float = 3.7
    week: tuple[float, float] = (-0.1, 0.2)
    signal: tuple[float, float] = (0.8, 0.3)
    frailty: tuple[float, float] = (float(np.log(0.22)), 0.35)
    log_curvature: tuple[float, float] = (float(np.log(0.25)), 0.8)
    tie: float = 2.0
    type_sd: float = 0.3
    tried: float = 0.2
    reach: float = 1.25
    reach_sales: float = 5.0
    most_reach: float = 0.7
    lean: float = 0.7
    lean_sales: float = 60.0
    caution: float = 0.5


ASSUMED = Assumptions()


@dataclass(frozen=True, eq=False, slots=True)
class SellingData:
    """The long table the likelihood runs on."""

    layout: ListingWeeks
    x: np.ndarray  # (N,) log(ask / m)
    log_week: np.ndarray  # (N,)
    z: np.ndarray  # (n,) signal, 0 where there is no gut price
    no_signal: np.ndarray  # (n,) 1.0 where there is none
    kind: np.ndarray  # (n,) index of the type
    kinds: int
    signal_var: float


class Valued(NamedTuple):
    """Of each listing, (n,): its value m, the signal z of the owner's own price, and whether there is one.

    var: the variance of the signals.
    """

    m: np.ndarray
    z: np.ndarray
    signal: np.ndarray
    var: float


def selling_data(
    listings: Listings,
    used: np.ndarray,
    valued: Valued,
    *,
    types: tuple[str, ...],
) -> SellingData:
    """The long table of the `used` listings, `valued` as the owner and the sales do."""
    m, z, signal, var = valued
    table = listings.table
    weeks = table["weeks"].to_numpy()[used]
    rows = np.flatnonzero(used)
    codes = {t: k for k, t in enumerate(types)}
    asks = np.concatenate([listings.asks[i] for i in rows]) if len(rows) else np.zeros(0)
    layout = listing_weeks(weeks, table["sold"].to_numpy()[used])
    at_week = np.arange(len(asks)) - layout.start[layout.listing] + 1
    return SellingData(
        layout=layout,
        x=np.log(asks / m[used][layout.listing]),
        log_week=np.log(at_week),
        z=z[used],
        no_signal=(~signal[used]).astype(float),
        kind=np.array([codes[t] for t in table["furniture_type"].to_numpy()[used]], dtype=int),
        kinds=len(types),
        signal_var=var,
    )


def curvature(theta: np.ndarray, assumed: Assumptions) -> tuple[float, float, float]:
    """kap = exp(k) (B / 4)^tie, and its slopes in k and in B; its slope in k is kap itself."""
    log_kap = theta[CURVED] + assumed.tie * np.log(theta[SENSITIVITY] / 4.0)
    if log_kap > _LOG_MOST_CURVED:
        return float(np.exp(_LOG_MOST_CURVED)), 0.0, 0.0
    kap = float(np.exp(log_kap))
    return kap, kap, assumed.tie * kap / float(theta[SENSITIVITY])


def _negative_log_posterior(
    theta: np.ndarray, data: SellingData, assumed: Assumptions
) -> tuple[float, np.ndarray]:
    value, slope = _log_prior(theta, assumed)
    if len(data.z):
        fit, fit_slope = _log_fit(theta, data, assumed)
        value += fit
        slope = slope + fit_slope
    return -value, -slope


def _log_fit(
    theta: np.ndarray, data: SellingData, assumed: Assumptions
) -> tuple[float, np.ndarray]:
    B, gam, rho, s = theta[SENSITIVITY], theta[WEEK], theta[SIGNAL], np.exp(theta[FRAILTY])
    kap, kap_k, kap_b = curvature(theta, assumed)
    listing = data.layout.listing
    f, f_b, f_kap, f_y = price_response(data.x - rho * data.z[listing], B, kap)
    eta = theta[LEVEL] + theta[SHOP:][data.kind][listing] + f + gam * data.log_week
    blind = data.no_signal * data.signal_var
    spread = np.sqrt(s**2 + rho**2 * blind)
    log_phi = B * spread[:, None] * NODES
    value, d_eta, d_phi = log_likelihood(eta, log_phi, LOG_WEIGHTS, layout=data.layout)
    slope = np.zeros_like(theta)
    by_listing = np.add.reduceat(d_eta, data.layout.start)
    by_spread = (d_phi * NODES).sum(axis=1)
    slope[LEVEL] = by_listing.sum()
    slope[SENSITIVITY] = d_eta @ f_b + (d_eta @ f_kap) * kap_b + by_spread @ spread
    slope[WEEK] = d_eta @ data.log_week
    slope[SIGNAL] = -(d_eta * f_y) @ data.z[listing] + B * rho * (by_spread @ (blind / spread))
    slope[FRAILTY] = B * s**2 * (by_spread @ (1 / spread))
    slope[CURVED] = (d_eta @ f_kap) * kap_k
    slope[SHOP:] = np.bincount(data.kind, by_listing, minlength=data.kinds)
    return value, slope


def _log_prior(theta: np.ndarray, assumed: Assumptions) -> tuple[float, np.ndarray]:
    b_mean, b_below, b_above = assumed.sensitivity
    mean = np.zeros(len(theta))
    sd = np.full(len(theta), assumed.type_sd)
    mean[:SHOP] = (
        assumed.baseline[0],
        b_mean,
        assumed.week[0],
        assumed.signal[0],
        assumed.frailty[0],
        assumed.log_curvature[0],
    )
    sd[:SHOP] = (
        assumed.baseline[1],
        b_below if theta[SENSITIVITY] < b_mean else b_above,
        assumed.week[1],
        assumed.signal[1],
        assumed.frailty[1],
        assumed.log_curvature[1],
    )
    away = (theta - mean) / sd
    return -0.5 * float(away @ away), -away / sd


def _log_posteriors(thetas: np.ndarray, data: SellingData, assumed: Assumptions) -> np.ndarray:
    """(S,) the log density at S parameter sets (S, size), as `_negative_log_posterior` has it."""
    value = np.array([_log_prior(theta, assumed)[0] for theta in thetas])
    if not len(data.z):
        return value
    at_once = max(_CELLS // (len(data.z) * len(NODES)), 1)
    parts = [thetas[i : i + at_once] for i in range(0, len(thetas), at_once)]
    return np.asarray(value + np.concatenate([_log_fits(p, data, assumed) for p in parts]))


def _log_fits(thetas: np.ndarray, data: SellingData, assumed: Assumptions) -> np.ndarray:
    """(S,) the log likelihood at S parameter sets."""
    listing = data.layout.listing
    B, rho = thetas[:, [SENSITIVITY]], thetas[:, [SIGNAL]]
    kap = np.array([[curvature(theta, assumed)[0]] for theta in thetas])
    y = np.clip(data.x - rho * data.z[listing], -4.0, 4.0)
    bend = np.expm1(kap * y) / np.maximum(kap, 1e-300)
    eta = thetas[:, [LEVEL]] + thetas[:, SHOP:][:, data.kind][:, listing] - B * bend
    eta += thetas[:, [WEEK]] * data.log_week
    spread = np.sqrt(np.exp(2 * thetas[:, [FRAILTY]]) + rho**2 * data.no_signal * data.signal_var)
    log_phi = (B * spread)[..., None] * NODES
    return log_likelihoods(eta, log_phi, LOG_WEIGHTS, layout=data.layout)


def posterior_mode(data: SellingData, assumed: Assumptions) -> tuple[np.ndarray, np.ndarray, float]:
    """Posterior mode by SLSQP with exact gradients, the Hessian there by differences, and the log evidence.

    The evidence is Laplace's approximation, up to a constant shared by assumptions of the same spreads.
    L-BFGS-B finds the same mode but calls threaded linear algebra on tiny matrices: 3 ms a step on a busy machine.
    """
    start = np.zeros(SHOP + data.kinds)
    start[:SHOP] = (
        assumed.baseline[0],
        assumed.sensitivity[0],
        assumed.week[0],
        assumed.signal[0],
        assumed.frailty[0],
        assumed.log_curvature[0],
    )
    bounds = [*_BOUNDS, *[(-2.0, 2.0)] * data.kinds]
    found = minimize(
        _negative_log_posterior,
        start,
        args=(data, assumed),
        jac=True,
        method="SLSQP",
        bounds=bounds,
        options={"maxiter": 200, "ftol": 1e-7},
    )
    best = found.x
    size = len(best)
    hessian = np.empty((size, size))
    step = 1e-4
    for i in range(size):
        move = np.zeros(size)
        move[i] = step
        up = _negative_log_posterior(best + move, data, assumed)[1]
        down = _negative_log_posterior(best - move, data, assumed)[1]
        hessian[i] = (up - down) / (2 * step)
    hessian = (hessian + hessian.T) / 2
    volume = float(np.log(np.maximum(np.linalg.eigvalsh(hessian), 1e-6)).sum())
    return best, hessian, -float(found.fun) - 0.5 * volume


def _types_given_shop(covariance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How the types follow the six shop parameters (types, 6), and the covariance that is then left to them."""
    shop, cross = covariance[:SHOP, :SHOP], covariance[SHOP:, :SHOP]
    follow = cross @ np.linalg.inv(shop)
    return follow, covariance[SHOP:, SHOP:] - follow @ cross.T


def posterior_draws(
    best: np.ndarray, hessian: np.ndarray, data: SellingData, assumed: Assumptions
) -> tuple[np.ndarray, float]:
    """12 equally likely parameter sets, and the posterior sd of B.

    Importance sampling: the six shop parameters from a multivariate t on the curvature at the mode, the types
    from the normal they follow given those; weights truncated at mean x sqrt(number). The 12 are evenly spaced
    along B.
    """
    size = len(best)
    values, vectors = np.linalg.eigh(hessian)
    covariance = (vectors / np.maximum(values, 0.5)) @ vectors.T
    root = np.linalg.cholesky(covariance[:SHOP, :SHOP])
    follow, own = _types_given_shop(covariance)
    uniform = np.clip(sobol_points(_TRIED, size + 1, 0), 1e-6, 1 - 1e-6)
    normal = ndtri(uniform[:, :size])
    stretch = np.sqrt(_TAIL / (2 * gammaincinv(_TAIL / 2, uniform[:, size])))
    standard = normal[:, :SHOP] * stretch[:, None]
    tried = np.empty((_TRIED, size))
    tried[:, :SHOP] = best[:SHOP] + standard @ root.T
    tried[:, SHOP:] = best[SHOP:] + (tried[:, :SHOP] - best[:SHOP]) @ follow.T
    if size > SHOP:
        tried[:, SHOP:] += normal[:, SHOP:] @ np.linalg.cholesky(own).T
    possible = tried[:, SENSITIVITY] > _LEAST_SENSITIVE
    tried[~possible, SENSITIVITY] = _LEAST_SENSITIVE
    weight = _log_posteriors(tried, data, assumed)
    weight += 0.5 * (_TAIL + SHOP) * np.log1p((standard**2).sum(axis=1) / _TAIL)
    weight += 0.5 * (normal[:, SHOP:] ** 2).sum(axis=1)
    weight = np.exp(weight - weight[possible].max()) * possible
    weight = np.minimum(weight, weight.mean() * np.sqrt(_TRIED))
    weight /= weight.sum()
    order = np.argsort(tried[:, SENSITIVITY])
    at = np.searchsorted(np.cumsum(weight[order]), (np.arange(DRAWS) + 0.5) / DRAWS)
    chosen = tried[order[np.minimum(at, _TRIED - 1)]]
    mean_b = float(weight @ tried[:, SENSITIVITY])
    return chosen, float(np.sqrt(weight @ (tried[:, SENSITIVITY] - mean_b) ** 2))
