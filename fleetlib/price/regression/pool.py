"""The pool: three ways to describe the noise, each with its block variance ratios integrated over.

Members, equally weighted: Gaussian noise whose variance depends on the piece; Student-t noise with 4
degrees of freedom; Student-t with 5 and the variance model. Each member's prediction for a row x with
k = sum_k exp(2 lam_k) S_k(x, .) and k0 = k(x, x) is

    mu = m0 + k P y ;  v = k0 - k P k' + (1 - 2 k a)/s ;  s2 = R/(n-1)
    log price ~ mu + sqrt(s2 (h(x)/w + v)) x Student-t on n-1 degrees of freedom

(Goldberger 1962, J. Am. Stat. Assoc. 57: 369-375), w = 1 for Gaussian noise and the quantile midpoints of
its gamma mixing distribution for Student-t noise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import gammaincinv, ndtr, ndtri, stdtr, stdtrit

from fleetlib.base.kept_numbers import Numbers, kept
from fleetlib.base.threads import one_thread
from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.noise import FEWEST, VarianceModel, fit_variance
from fleetlib.price.regression.packed import Packed
from fleetlib.price.regression.priors import VarianceRatioPrior
from fleetlib.price.regression.restricted_likelihood import (
    Solution,
    draw_variance_ratios,
    find_mode,
    solve,
)

LEAST_NOISE = 0.05  # no price is ever said to be surer than 5% for one sale
_MEMBERS = (("Gaussian", np.inf), ("Student-t 4", 4.0), ("Student-t 5", 5.0))  # degrees of freedom
_MIXING_POINTS = 8
_ROUNDS = 2
REVIEW_Z = (
    4.0  # sales further than this from what the others say are doubted, and flagged for review
)
_DOUBT_ROUNDS, _MOST_DOUBT = 3, 30.0


@dataclass(frozen=True, eq=False, slots=True)
class Member:
    """One description of the noise: its solutions at draws of the variance ratios, and its h(x)."""

    name: str
    solutions: tuple[Solution, ...]
    weights: np.ndarray
    nu: float  # degrees of freedom of the noise; inf for Gaussian
    variance: VarianceModel | None
    h: np.ndarray  # (n,) relative noise variance of the fitted rows

    @property
    def mode(self) -> Solution:
        """The solution at the most probable variance ratios."""
        return self.solutions[0]

    @property
    def mixing(self) -> np.ndarray:
        """The noise precisions w (Q,) mixed over."""
        if not np.isfinite(self.nu):
            return np.ones(1)
        middles = (np.arange(_MIXING_POINTS) + 0.5) / _MIXING_POINTS
        return np.asarray(gammaincinv(self.nu / 2, middles) / (self.nu / 2))


@dataclass(frozen=True, eq=False, slots=True)
class Pool:
    """The fitted pool for similarities S (K, n, n) and log prices y (n,)."""

    members: tuple[Member, ...]
    S: np.ndarray
    y: np.ndarray
    stretch: bool = False

    @property
    def gaussian(self) -> Member:
        """The member that reasons and comparables are read from."""
        return self.members[0]

    @property
    def stretched_by(self) -> float:
        """How far quantiles are stretched because the rows are few and nothing else is known of them."""
        return 1.0 + min((9.0 / len(self.y)) ** 2, 0.15) if self.stretch else 1.0


def fit_pool(  # noqa: PLR0913 - what one likelihood stands on
    S: np.ndarray,
    y: np.ndarray,
    *,
    prior: VarianceRatioPrior,
    factors: int,
    measures: int,
    stretch: bool = False,
    gaussian_only: bool = False,
) -> Pool:
    """Fit the members, or the first alone. The first blocks are factors, then measures."""
    with one_thread():
        return kept(
            "price pool",
            (S, y, prior, factors, measures, gaussian_only),
            lambda: _fit_members(S, y, prior, factors, measures, stretch, gaussian_only),
            numbers=_strengths,
            again=lambda found: _from_strengths(found, S, y, prior, stretch),
        )


def _strengths(pool: Pool) -> dict[str, np.ndarray]:
    """What the search found, from which a solution a draw makes the pool again: a few numbers a sale."""
    found: dict[str, np.ndarray] = {}
    for k, member in enumerate(pool.members):
        found |= {
            f"{k} lam": np.array([at.lam for at in member.solutions]),
            f"{k} d": member.mode.d,
            f"{k} weights": member.weights,
            f"{k} h": member.h,
        }
        if member.variance is not None:
            v = member.variance
            one = (v.first_measure, v.last_measure, v.intercept, v.centre, v.spread, v.log_mean)
            found |= {
                f"{k} variance": np.array(one),
                f"{k} ratios": v.variance_ratios,
                f"{k} pull": v.pull,
                f"{k} fitted": v.fitted,
            }
    return found


def _from_strengths(
    found: Numbers, S: np.ndarray, y: np.ndarray, prior: VarianceRatioPrior, stretch: bool
) -> Pool:
    members, packed = [], Packed.of(S)
    for k, (name, nu) in enumerate(_MEMBERS[: sum(key.endswith(" lam") for key in found)]):
        variance = None
        if f"{k} variance" in found:
            first, last, intercept, centre, spread, mean = found[f"{k} variance"].tolist()
            pull, fitted = found[f"{k} pull"], found[f"{k} fitted"]
            variance = VarianceModel(
                int(first), int(last), found[f"{k} ratios"], pull, intercept, fitted, centre, spread, mean
            )  # fmt: skip
        lam, d = found[f"{k} lam"], found[f"{k} d"]
        solutions = tuple(solve(packed, at, d, y, prior) for at in lam)
        members.append(
            Member(name, solutions, found[f"{k} weights"], nu, variance, found[f"{k} h"])
        )
    return Pool(tuple(members), S, y, stretch)


def _fit_members(  # noqa: PLR0913 - what one likelihood stands on
    S: np.ndarray,
    y: np.ndarray,
    prior: VarianceRatioPrior,
    factors: int,
    measures: int,
    stretch: bool,
    gaussian_only: bool,
) -> Pool:
    n = len(y)
    flat, packed = np.ones(n), Packed.of(S)
    plain, doubt = doubted(packed, y, prior)
    lam, h, variance = plain, flat, None
    if n >= FEWEST and len(S):
        for _ in range(_ROUNDS):
            at = solve(packed, lam, h * doubt, y, prior)
            variance = fit_variance(S, at, y, factors=factors, measures=measures)
            h = variance.at(S, y - leave_one_out_errors(at))
            lam = find_mode(packed, y, d=h * doubt, prior=prior, start=lam)
    members = [_member(*_MEMBERS[0], packed, y, lam, h * doubt, prior, variance, h)]
    if gaussian_only:
        return Pool(tuple(members), S, y, stretch)
    for (name, nu), start, noise, model in zip(
        _MEMBERS[1:], (plain, lam), (flat, h), (None, variance), strict=True
    ):
        mode, d = heavy_tailed_mode(packed, y, start=start, h=noise, prior=prior, nu=nu)
        members.append(_member(name, nu, packed, y, mode, d, prior, model, noise))
    return Pool(tuple(members), S, y, stretch)


def doubted(
    S: np.ndarray | Packed, y: np.ndarray, prior: VarianceRatioPrior
) -> tuple[np.ndarray, np.ndarray]:
    """The most probable variance ratios under even noise, and how far each sale is doubted (n,), 1 for most.

    A sale further off than 4 standard deviations (allowing for few sales) gets (how many times that)^4 the
    noise variance, so that the further off it is the less it pulls: a price typed a thousand times too large
    must not decide how alike sales are.
    """
    S, doubt = Packed.of(S), np.ones(len(y))
    lam = find_mode(S, y, d=doubt, prior=prior)
    limit = -float(stdtrit(solve(S, lam, doubt, y, prior).df - 1, ndtr(-REVIEW_Z)))
    for _ in range(_DOUBT_ROUNDS):
        t = left_out_t(solve(S, lam, doubt, y, prior), np.ones(len(y)))
        again = np.clip(np.abs(t) / limit, 1.0, _MOST_DOUBT) ** 4
        if np.allclose(again, doubt, rtol=0.05):
            break
        doubt = again
        lam = find_mode(S, y, d=doubt, prior=prior, start=lam)
    return lam, doubt


def _member(  # noqa: PLR0913 - what one likelihood stands on
    name: str,
    nu: float,
    S: np.ndarray | Packed,
    y: np.ndarray,
    lam: np.ndarray,
    d: np.ndarray,
    prior: VarianceRatioPrior,
    variance: VarianceModel | None,
    h: np.ndarray,
) -> Member:
    solutions, weights = draw_variance_ratios(S, y, lam=lam, d=d, prior=prior)
    return Member(name, tuple(solutions), weights, nu, variance, h)


def heavy_tailed_mode(
    S: np.ndarray | Packed,
    y: np.ndarray,
    *,
    start: np.ndarray,
    h: np.ndarray,
    prior: VarianceRatioPrior,
    nu: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Strengths and relative noise variances d_i = h_i / w_i under Student-t noise, by EM.

    E[w_i] = (nu + 1) / (nu + E[noise_i^2] / (s2 h_i)) (Lange, Little & Taylor 1989, J. Am. Stat. Assoc.
    84: 881-896), the noise's second moment being (d_i (Py)_i)^2 / s2 + d_i - d_i^2 P_ii.
    """
    S, lam, d = Packed.of(S), start, h.copy()
    for _ in range(3):
        for _ in range(4):
            at = solve(S, lam, d, y, prior)
            second = (d * at.Py) ** 2 / at.s2 + d - d**2 * np.diag(at.P)
            d = h * (nu + second / h) / (nu + 1)
        lam = find_mode(S, y, d=d, prior=prior, start=lam, steps=12)
    return lam, d


def leave_one_out_errors(solution: Solution) -> np.ndarray:
    """y_i minus its prediction from the other rows: (Py)_i / P_ii (n,)."""
    return solution.Py / np.diag(solution.P)


def left_out_t(solution: Solution, h: np.ndarray) -> np.ndarray:
    """Each leave-one-out error (n,) in its own standard deviations, noise h (n,) for the sale itself.

    e_i / sqrt(s2_(-i) (1/P_ii - d_i + h_i)), s2_(-i) = (R - (Py)_i^2/P_ii)/(n-2): Student-t on n-2 degrees
    of freedom.
    """
    diagonal, rest = np.diag(solution.P), solution.s2_left_out
    variance = np.maximum(1 / diagonal - solution.d, 0.0) + h
    return np.asarray(
        leave_one_out_errors(solution) / np.sqrt(np.maximum(rest, LEAST_NOISE**2) * variance)
    )


def left_out_z(solution: Solution, h: np.ndarray) -> np.ndarray:
    """`left_out_t` as the standard normal value (n,) that is as rare: with few sales a 5 is nothing odd."""
    t = left_out_t(solution, h)
    return np.asarray(-np.sign(t) * ndtri(np.maximum(stdtr(solution.df - 1, -np.abs(t)), 1e-300)))


def noise_variance(solution: Solution) -> float:
    """s2, floored so that constant prices don't promise a zero width."""
    return max(solution.s2, LEAST_NOISE**2)


def at_rows(solution: Solution, S: np.ndarray, own: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Mean mu (r,) and relative variance v (r,) of the noise-free log price of new rows.

    S (K, r, n) are their similarities to the fitted rows, own (K, r) those to themselves.
    """
    return _located(solution, S, own)[:2]


def _located(
    solution: Solution, S: np.ndarray, own: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mean and variance as `at_rows` has them, and the weights (r, n) of the sales but for the intercept's part."""
    k = np.tensordot(solution.variance_ratios, S, 1)
    k0 = solution.variance_ratios @ own
    mu, kP = solution.intercept + k @ solution.Py, k @ solution.P
    v = k0 - np.einsum("ij,ij->i", kP, k) + (1 - 2 * k @ solution.a) / solution.s
    return mu, np.maximum(v, 0.0), kP


def predictive(
    pool: Pool, S: np.ndarray, own: np.ndarray, *, own_sale_left_out: bool = False
) -> Mixture:
    """The mixture of log prices of rows with similarities S (K, r, n) and own (K, r).

    With `own_sale_left_out` (the rows are the fitted ones, perhaps at other days or dates, in order) each
    row's own sale is taken out of its location: mu(x_i) - w_i(x_i) (Py)_i / P_ii, the variance ratios kept.
    """
    locations, scales, weights = [], [], []
    for member in pool.members:
        mixing = member.mixing
        h = np.ones(S.shape[1])
        for solution, weight in zip(member.solutions, member.weights, strict=True):
            mu, v, kP = _located(solution, S, own)
            if member.variance and solution is member.mode:
                h = member.variance.at(S, mu)
            if own_sale_left_out:
                own_weight = np.diag(kP) + solution.a / solution.s
                mu = mu - own_weight * leave_one_out_errors(solution)
            s2 = noise_variance(solution)
            for w in mixing:
                locations.append(mu)
                scales.append(np.sqrt(s2 * (h / w + v)))
                weights.append(weight / len(mixing) / len(pool.members))
    df = np.full(len(weights), pool.gaussian.mode.df)
    return Mixture(np.array(locations), np.array(scales), df, np.array(weights), pool.stretched_by)


def predictive_left_out(pool: Pool) -> Mixture:
    """The mixture for each fitted row from the others only, the variance ratios kept: no refitting.

    mu_i = y_i - (Py)_i/P_ii ;  v_i = 1/P_ii - d_i ;  s2_i = (R - (Py)_i^2/P_ii)/(n-2).
    """
    locations, scales, weights = [], [], []
    for member in pool.members:
        mixing = member.mixing
        for solution, weight in zip(member.solutions, member.weights, strict=True):
            diagonal = np.diag(solution.P)
            v = np.maximum(1 / diagonal - solution.d, 0.0)
            s2 = np.maximum(solution.s2_left_out, LEAST_NOISE**2)
            for w in mixing:
                locations.append(pool.y - solution.Py / diagonal)
                scales.append(np.sqrt(s2 * (member.h / w + v)))
                weights.append(weight / len(mixing) / len(pool.members))
    df = np.full(len(weights), pool.gaussian.mode.df - 1)
    return Mixture(np.array(locations), np.array(scales), df, np.array(weights), pool.stretched_by)


def only(pool: Pool, member: int) -> Pool:
    """The pool reduced to one member (for comparisons)."""
    return replace(pool, members=(pool.members[member],))


def sale_weights(solution: Solution, S: np.ndarray) -> np.ndarray:
    """w = k V^-1 + (1 - k a) a'/s (r, n): mu = w y. Each row sums to 1."""
    k = np.tensordot(solution.variance_ratios, S, 1)
    return np.asarray(k @ solution.P + solution.a / solution.s)


def smearing(pool: Pool, S: np.ndarray, own: np.ndarray) -> np.ndarray:
    """Mean price / median price (r,) of new rows: the average of exp(residual x sqrt(h(x) / h_i)).

    Leave-one-out residuals of the Gaussian member, standardised ones cut at +-3 (Duan 1983, J. Am. Stat.
    Assoc. 78: 605-610; the cut makes it finite and robust).
    """
    member = pool.gaussian
    at = member.mode
    errors = leave_one_out_errors(at)
    sd = np.abs(errors) / np.maximum(np.abs(left_out_t(at, member.h)), 1e-12)
    errors = np.clip(errors, -3 * sd, 3 * sd)
    centre = at_rows(at, S, own)[0]
    h = member.variance.at(S, centre) if member.variance else np.ones(len(centre))
    made = np.exp(errors[None, :] * np.sqrt(h[:, None] / member.h[None, :])).sum(axis=1)
    rows = at.df - len(errors)  # what is believed of the noise counts as rows, half of them above
    if rows <= 0:
        return np.asarray(made / len(errors))
    believed = np.cosh(np.sqrt(h * noise_variance(at)))
    return np.asarray(np.maximum((made + rows * believed) / (len(errors) + rows), 1.0))
