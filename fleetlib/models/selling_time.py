"""How long a piece will sit: weekly chance of selling from sold and unsold listings.

    eta_it = a + a_type + f(log(ask_it / m_i) - rho z_i) + gam log t + B u_i ,   h = 1 - exp(-exp(eta))
    z_i    = log(gut_i / m_i) - its mean over past listings ,   u_i ~ N(0, s^2)

m: the usual sale price; gut: the owner's own price idea. The idea is a *signal* of what the records cannot
see: better pieces are asked more *and* sell faster, so a plain regression of sold-this-week on asking price
badly understates how strongly price moves sales. rho = 1: the idea is the value; rho = 0: it says nothing.
Each listing's u is integrated out (11-point Gauss-Hermite); the rest is the mode of the posterior under the
stated assumptions, with its curvature (Laplace).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import minimize
from scipy.stats import norm, qmc

from fleetlib.models.haggle import Haggle, fit_haggle
from fleetlib.models.hazard import Hazard
from fleetlib.models.listings import Listings
from fleetlib.models.selling_likelihood import (
    LOG_WEIGHTS,
    NODES,
    ListingWeeks,
    listing_weeks,
    log_likelihood,
    price_response,
)

FEWEST_SOLD = 12  # below this the owner's own idea is the value
FEWEST_CHANGES = 8  # below this many listings that ever changed price, sensitivity is assumed
DRAWS = 12


@dataclass(frozen=True, slots=True)
class Assumptions:
    """What is assumed before the first listing is seen: (mean, sd) pairs, without outside support.

    level: weekly log rate a. log_sensitivity: log B, sd below and above its mean apart, because asking too
    much costs more than asking too little. week: gam. signal: rho. hidden: log of s over (share x log_sd).
    curvature: kap. type_sd: spread of types around a.
    """

    level: tuple[float, float] = (-1.7, 1.0)
    log_sensitivity: tuple[float, float, float] = (float(np.log(4.5)), 0.45, 0.45)
    week: tuple[float, float] = (-0.1, 0.2)
    signal: tuple[float, float] = (0.8, 0.3)
    hidden: tuple[float, float] = (float(np.log(0.8)), 0.35)
    curvature: tuple[float, float] = (0.75, 0.6)
    tied: bool = False
    type_sd: float = 0.3
    cap: tuple[float, float, float] = (0.25, 0.5, 0.0)


ASSUMED = Assumptions()
_BOUNDS = (
    (-8.0, 4.0),
    (np.log(0.3), np.log(20.0)),
    (-1.0, 1.0),
    (-0.5, 1.5),
    (-4.0, 0.5),
    (0.0, 3.0),
)
_A, _B, _GAM, _RHO, _S, _KAP, _SHOP = range(7)


@dataclass(frozen=True, eq=False, slots=True)
class _Data:
    """The long table the likelihood runs on."""

    layout: ListingWeeks
    x: np.ndarray  # (N,) log(ask / m)
    log_week: np.ndarray  # (N,)
    z: np.ndarray  # (n,) signal, 0 where there is no gut price
    no_signal: np.ndarray  # (n,) 1.0 where there is none
    kind: np.ndarray  # (n,) index of the type
    kinds: int
    signal_var: float
    log_sd: float


def _curvature(theta: np.ndarray, assumed: Assumptions) -> tuple[float, float, float]:
    """kap and its slopes in theta[_KAP] and in log B."""
    k = float(theta[_KAP])
    if not assumed.tied:
        return k, 1.0, 0.0
    B = float(np.exp(theta[_B]))
    if B < 4.5:
        tie = B * (B / 4.5) ** 2
        return k * tie, tie, 3 * k * tie
    return k * B, B, k * B


def _negative_log_posterior(
    theta: np.ndarray, data: _Data, assumed: Assumptions
) -> tuple[float, np.ndarray]:
    value, slope = _log_prior(theta, data, assumed)
    if len(data.z):
        fit, fit_slope = _log_fit(theta, data, assumed)
        value += fit
        slope = slope + fit_slope
    return -value, -slope


def _log_fit(theta: np.ndarray, data: _Data, assumed: Assumptions) -> tuple[float, np.ndarray]:
    B, gam, rho, s = np.exp(theta[_B]), theta[_GAM], theta[_RHO], np.exp(theta[_S])
    kap, kap_k, kap_b = _curvature(theta, assumed)
    listing = data.layout.listing
    f, f_b, f_kap, f_y = price_response(data.x - rho * data.z[listing], B, kap)
    eta = theta[_A] + theta[_SHOP:][data.kind][listing] + f + gam * data.log_week
    blind = data.no_signal * data.signal_var
    spread = np.sqrt(s**2 + rho**2 * blind)
    log_phi = B * spread[:, None] * NODES
    value, d_eta, d_phi = log_likelihood(eta, log_phi, LOG_WEIGHTS, layout=data.layout)
    slope = np.zeros_like(theta)
    by_listing = np.add.reduceat(d_eta, data.layout.start)
    by_spread = (d_phi * NODES).sum(axis=1)
    slope[_A] = by_listing.sum()
    slope[_B] = B * (d_eta @ f_b) + (d_eta @ f_kap) * kap_b + B * (by_spread @ spread)
    slope[_GAM] = d_eta @ data.log_week
    slope[_RHO] = -(d_eta * f_y) @ data.z[listing] + B * rho * (by_spread @ (blind / spread))
    slope[_S] = B * s**2 * (by_spread @ (1 / spread))
    slope[_KAP] = (d_eta @ f_kap) * kap_k
    slope[_SHOP:] = np.bincount(data.kind, by_listing, minlength=data.kinds)
    return value, slope


def _log_prior(theta: np.ndarray, data: _Data, assumed: Assumptions) -> tuple[float, np.ndarray]:
    b_mean, b_below, b_above = assumed.log_sensitivity
    mean = np.zeros(len(theta))
    sd = np.full(len(theta), assumed.type_sd)
    mean[:_SHOP] = (
        assumed.level[0],
        b_mean,
        assumed.week[0],
        assumed.signal[0],
        assumed.hidden[0] + np.log(data.log_sd),
        assumed.curvature[0],
    )
    sd[:_SHOP] = (
        assumed.level[1],
        b_below if theta[_B] < b_mean else b_above,
        assumed.week[1],
        assumed.signal[1],
        assumed.hidden[1],
        assumed.curvature[1],
    )
    away = (theta - mean) / sd
    return -0.5 * float(away @ away), -away / sd


@dataclass(frozen=True, eq=False, slots=True)
class SellingTimeFit:
    """The shop's own pace of selling.

    best: shape (6 + types,), the posterior mode of (a, log B, gam, rho, log s, curvature, a_type...).
    draws: (12, 6 + types), equally likely alternatives from the posterior: the range of every chance sold.
    types: furniture types with their own pace, in the order of a_type. information: 1 - (posterior sd of
    log B / prior sd)^2, from 0 (assumed) to 1 (learned). learned: the same in a word, "assumed", "partly
    learned" or "learned". value_from: "usual price" or, with fewer than 12 sold, "gut price". weeks_seen:
    listing-weeks used. sold, unsold: listings used.
    """

    best: np.ndarray = field(repr=False)
    draws: np.ndarray = field(repr=False)
    types: tuple[str, ...] = field(repr=False)
    information: float
    learned: str
    haggle: Haggle
    value_from: str
    sold: int
    unsold: int
    weeks_seen: int
    signal_mean: float
    signal_var: float
    cap: float
    assumed: Assumptions = field(repr=False)
    notes: tuple[str, ...] = ()

    def hazard(
        self,
        furniture_type: str,
        usual_price: float,
        gut_price: float | None = None,
        *,
        draw: int | None = None,
        sensitivity_factor: float = 1.0,
    ) -> Hazard:
        """The weekly chance of selling one piece.

        usual_price, gut_price: money; without a gut price the value is less certain and the plan says so.
        draw: one of the alternatives 0..11 instead of the best fit. sensitivity_factor: B times this.
        """
        theta = self.best if draw is None else self.draws[draw]
        kap, _, _ = _curvature(theta, self.assumed)
        B, rho, s = float(np.exp(theta[_B])), float(theta[_RHO]), float(np.exp(theta[_S]))
        value = usual_price
        if self.value_from == "gut price" and gut_price is not None:
            value = gut_price
        known = gut_price is not None and np.isfinite(gut_price)
        z = 0.0
        if known and self.value_from == "usual price":
            z = float(np.log(gut_price / usual_price)) - self.signal_mean  # type: ignore[operator]
        if not known:
            s = float(np.hypot(s, rho * np.sqrt(self.signal_var)))
        kind = self.types.index(furniture_type) if furniture_type in self.types else None
        anchor = float(np.log(value)) + rho * z
        return Hazard(
            level=float(theta[_A]) + (0.0 if kind is None else float(theta[_SHOP + kind])),
            sensitivity=B * sensitivity_factor,
            curvature=kap,
            week_exponent=float(theta[_GAM]),
            log_anchor=anchor,
            hidden_sd=s,
            share_paid=self.haggle.share_paid,
            highest_ask=float(np.exp(anchor + self.cap)),
        )


def fit_selling_time(
    listings: Listings, *, log_sd: float = 0.3, assumed: Assumptions = ASSUMED
) -> SellingTimeFit:
    """Fit the weekly chance of selling; works, leaning on the assumptions, for any number of listings.

    log_sd: typical standard deviation of log sale price given what the records say (the price model's).
    """
    table = listings.table
    sold = int(table["sold"].sum())
    value_from = "usual price" if sold >= FEWEST_SOLD else "gut price"
    gut = table["gut_price"].to_numpy(float)
    usual = table["usual_price"].to_numpy(float)
    m = np.where(np.isfinite(usual), usual, gut)
    if value_from == "gut price":
        m = np.where(np.isfinite(gut), gut, usual)
    with np.errstate(invalid="ignore"):
        raw = np.log(gut / m)
    signal = np.isfinite(raw) & np.isfinite(usual)
    mean = float(raw[signal].mean()) if signal.any() and value_from == "usual price" else 0.0
    z = np.where(signal & (value_from == "usual price"), raw - mean, 0.0)
    var = float(z[signal].var()) if signal.sum() > 2 and value_from == "usual price" else 0.2**2
    used = (table["weeks"].to_numpy() > 0) & np.isfinite(m)
    types = tuple(sorted(table.loc[used, "furniture_type"].unique()))
    data = _long_table(
        listings, used, m=m, z=z, signal=np.isfinite(gut), types=types, var=var, log_sd=log_sd
    )
    best, hessian = _mode(data, assumed)
    draws, sd_log_b = _posterior_draws(best, hessian, data, assumed)
    prior_sd = float(np.mean(assumed.log_sensitivity[1:]))
    information = float(np.clip(1 - (sd_log_b / prior_sd) ** 2, 0.0, 1.0))
    changed = int(table["changed"].sum())
    learned = _learned(information, changed)
    dear = data.x - best[_RHO] * data.z[data.layout.listing] if used.any() else np.zeros(0)
    low, high, per_b = assumed.cap
    q98 = float(np.quantile(dear, 0.98)) if len(dear) else low
    cap = float(np.clip(q98, low, high))
    if per_b:
        cap = min(max(q98, 0.2) + per_b / float(np.exp(best[_B])), 1.0)
    return SellingTimeFit(
        best=best,
        draws=draws,
        types=types,
        information=information,
        learned=learned,
        haggle=fit_haggle(listings),
        value_from=value_from,
        sold=sold,
        unsold=len(table) - sold,
        weeks_seen=int(table.loc[used, "weeks"].sum()),
        signal_mean=mean,
        signal_var=var,
        cap=cap,
        assumed=assumed,
        notes=listings.notes + _notes(learned, changed, sold, len(table) - sold),
    )


def _notes(learned: str, changed: int, sold: int, unsold: int) -> tuple[str, ...]:
    notes = []
    if sold < FEWEST_SOLD:
        notes.append(
            f"Only {sold} of your listings have sold; until {FEWEST_SOLD} have, your own gut price stands for "
            "the value of a piece."
        )
    if changed == 0:
        notes.append("No asking price on record ever changed.")
    if learned == "assumed":
        notes.append(
            "How strongly price moves your sales is assumed, not learned; varying a few asking prices would "
            "teach it."
        )
    elif learned == "partly learned":
        notes.append("How strongly price moves your sales is partly learned, partly assumed.")
    if sold and not unsold:
        notes.append(
            "Nothing unsold is on record. If some pieces never sold, enter them: without them every piece "
            "looks quicker to sell than it is."
        )
    return tuple(notes)


def _long_table(
    listings: Listings,
    used: np.ndarray,
    *,
    m: np.ndarray,
    z: np.ndarray,
    signal: np.ndarray,
    types: tuple[str, ...],
    var: float,
    log_sd: float,
) -> _Data:
    table = listings.table
    weeks = table["weeks"].to_numpy()[used]
    rows = np.flatnonzero(used)
    codes = {t: k for k, t in enumerate(types)}
    asks = np.concatenate([listings.asks[i] for i in rows]) if len(rows) else np.zeros(0)
    layout = listing_weeks(weeks, table["sold"].to_numpy()[used])
    at_week = np.arange(len(asks)) - layout.start[layout.listing] + 1
    return _Data(
        layout=layout,
        x=np.log(asks / m[used][layout.listing]),
        log_week=np.log(at_week),
        z=z[used],
        no_signal=(~signal[used]).astype(float),
        kind=np.array([codes[t] for t in table["furniture_type"].to_numpy()[used]], dtype=int),
        kinds=len(types),
        signal_var=var,
        log_sd=log_sd,
    )


def _mode(data: _Data, assumed: Assumptions) -> tuple[np.ndarray, np.ndarray]:
    """Posterior mode by L-BFGS-B with exact gradients, and the Hessian there by differences of them."""
    start = np.zeros(_SHOP + data.kinds)
    start[:_SHOP] = (
        assumed.level[0],
        assumed.log_sensitivity[0],
        assumed.week[0],
        assumed.signal[0],
        assumed.hidden[0] + np.log(data.log_sd),
        assumed.curvature[0],
    )
    bounds = [*_BOUNDS, *[(-2.0, 2.0)] * data.kinds]
    found = minimize(
        _negative_log_posterior,
        start,
        args=(data, assumed),
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": 200, "ftol": 1e-9, "gtol": 1e-5},
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
    return best, (hessian + hessian.T) / 2


def _posterior_draws(
    best: np.ndarray, hessian: np.ndarray, data: _Data, assumed: Assumptions
) -> tuple[np.ndarray, float]:
    values, vectors = np.linalg.eigh(hessian)
    root = vectors / np.sqrt(np.maximum(values, 0.5))
    size = len(best)
    low = np.array([b[0] for b in _BOUNDS] + [-2.0] * data.kinds)
    high = np.array([b[1] for b in _BOUNDS] + [2.0] * data.kinds)
    count = 64
    uniform = qmc.Sobol(size, seed=0).random(count)
    normal = norm.ppf(np.clip(uniform, 1e-6, 1 - 1e-6))
    tried = np.clip(best + normal @ root.T, low, high)
    weight = np.array([-_negative_log_posterior(t, data, assumed)[0] for t in tried])
    weight += 0.5 * (normal**2).sum(axis=1)
    weight = np.exp(weight - weight.max())
    weight = np.minimum(weight, weight.mean() * np.sqrt(count))
    weight /= weight.sum()
    order = np.argsort(tried[:, _B])
    at = np.searchsorted(np.cumsum(weight[order]), (np.arange(DRAWS) + 0.5) / DRAWS)
    chosen = tried[order[np.minimum(at, count - 1)]]
    mean_b = float(weight @ tried[:, _B])
    return chosen, float(np.sqrt(weight @ (tried[:, _B] - mean_b) ** 2))


def _learned(information: float, changed: int) -> str:
    if information < 0.4 or changed < FEWEST_CHANGES:
        return "assumed"
    return "partly learned" if information <= 0.65 else "learned"
