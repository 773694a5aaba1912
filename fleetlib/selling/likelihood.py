"""The weekly chance of selling with frailty (unseen quality): log-likelihood and its exact gradient.

For one listing with weekly log rates eta_1..eta_T and a frailty phi that takes the value phi_j with
probability w_j, the chance of no sale in week t is exp(-phi e^eta_t), and

    L = sum_j w_j exp(-phi_j E) (1 - exp(-phi_j l))^sold ,   E = sum of e^eta over the weeks survived ,
                                                           l = e^eta of the week of sale.

This is the grouped form of proportional hazards (Prentice & Gloeckler 1978, Biometrics 34, 57-67).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(11)
NODES, LOG_WEIGHTS = NODES, np.log(WEIGHTS / WEIGHTS.sum())


@dataclass(frozen=True, eq=False, slots=True)
class ListingWeeks:
    """All listing-weeks in one long table of arrays.

    start: (n,) first long-table row of each listing; listing: (N,) the listing of each row; sale_row: (n,) the
    row of the week of sale, -1 while unsold. Every listing has at least one week.
    """

    start: np.ndarray = field(repr=False)
    listing: np.ndarray = field(repr=False)
    sale_row: np.ndarray = field(repr=False)


def listing_weeks(weeks: np.ndarray, sold: np.ndarray) -> ListingWeeks:
    """Lay out listings of `weeks` (n,) weeks each, the last one the week of sale where `sold` (n,)."""
    end = np.cumsum(weeks)
    return ListingWeeks(
        start=end - weeks,
        listing=np.repeat(np.arange(len(weeks)), weeks),
        sale_row=np.where(sold, end - 1, -1),
    )


def log_likelihood(
    eta: np.ndarray, log_phi: np.ndarray, log_weights: np.ndarray, *, layout: ListingWeeks
) -> tuple[float, np.ndarray, np.ndarray]:
    """The log-likelihood, its gradient in eta (N,) and in log phi (n, J).

    eta: (N,) weekly log rates; log_phi: (n, J) log multipliers of each listing; log_weights: (J,).
    """
    rate = np.exp(np.clip(eta, -40.0, 40.0))
    survived = rate.copy()
    sold = layout.sale_row >= 0
    rows = layout.sale_row[sold]
    survived[rows] = 0.0
    exposure = np.add.reduceat(survived, layout.start)
    phi = np.exp(np.clip(log_phi, -40.0, 40.0))
    lasting = phi * exposure[:, None]
    terms = log_weights - lasting
    selling = np.minimum(phi[sold] * rate[rows, None], 700.0)
    terms[sold] += np.log(-np.expm1(-selling))
    top = terms.max(axis=1, keepdims=True)
    parts = np.exp(terms - top)
    total = parts.sum(axis=1, keepdims=True)
    value = float((np.log(total) + top).sum())
    belief = parts / total
    pull = np.where(selling < 1e-8, 1.0, selling / np.expm1(np.maximum(selling, 1e-8)))
    slope_phi = -belief * lasting
    slope_phi[sold] += belief[sold] * pull
    slope_eta = -(belief * phi).sum(axis=1)[layout.listing] * survived
    slope_eta[rows] = (belief[sold] * pull).sum(axis=1)
    return value, slope_eta, slope_phi


def log_likelihoods(
    eta: np.ndarray, log_phi: np.ndarray, log_weights: np.ndarray, *, layout: ListingWeeks
) -> np.ndarray:
    """(S,) `log_likelihood` of S parameter sets at once, without slopes: eta (S, N), log_phi (S, n, J)."""
    rate = np.exp(np.clip(eta, -40.0, 40.0))
    survived = rate.copy()
    sold = layout.sale_row >= 0
    rows = layout.sale_row[sold]
    survived[:, rows] = 0.0
    exposure = np.add.reduceat(survived, layout.start, axis=1)
    phi = np.exp(np.clip(log_phi, -40.0, 40.0))
    terms = log_weights - phi * exposure[..., None]
    selling = np.minimum(phi[:, sold] * rate[:, rows, None], 700.0)
    terms[:, sold] += np.log(-np.expm1(-selling))
    top = terms.max(axis=2)
    return np.asarray((np.log(np.exp(terms - top[..., None]).sum(axis=2)) + top).sum(axis=1))


def price_response(y: np.ndarray, sensitivity: float, curvature: float) -> tuple[np.ndarray, ...]:
    """f(y) = -B (e^(kap y) - 1) / kap of y = log(ask / anchored value), and its slopes in B, kap and y.

    B: at y = 0 a price 1% higher lowers the weekly rate of sale by B %. kap = 0: the same at every price;
    kap > 0: dearer pieces lose buyers faster.
    """
    y = np.clip(y, -4.0, 4.0)
    if curvature < 1e-4:  # the series to second order
        bend = y + curvature * y**2 / 2
        bend_kap = y**2 / 2 + curvature * y**3 / 3
        steep = 1 + curvature * y
    else:
        steep = np.exp(curvature * y)
        bend = (steep - 1) / curvature
        bend_kap = (y * steep - bend) / curvature
    return -sensitivity * bend, -bend, -sensitivity * bend_kap, -sensitivity * steep
