"""The best set of finds within a budget of cash and of hours: a small exact optimisation."""

from __future__ import annotations

import numpy as np

from fleetlib.base.errors import BadQuestion


def steadied_worth(worth: np.ndarray, doubt: np.ndarray) -> np.ndarray:
    """`worth` (n,) drawn toward the average of the finds on offer, each by its own `doubt` (n,), standard deviations.

    Whoever takes the best of uncertain figures takes the ones that flatter: the chosen ones turn out worth less than
    they looked. With A the variance of true worth between finds (what their figures vary beyond the doubt),
    A / (A + doubt^2) of a find's distance from the average is left (Efron and Morris 1975, JASA 70, 311-319). One or
    two finds tell nothing of A and stay as they are.

    >>> steadied_worth(np.array([-30.0, 0.0, 30.0]), np.full(3, 15.0)).tolist()
    [-22.5, 0.0, 22.5]
    """
    w, s2 = np.asarray(worth, dtype=float), np.asarray(doubt, dtype=float) ** 2
    if len(w) < 3 or not s2.any():
        return w.copy()
    varies = float(w.var(ddof=1))
    between = max(varies - float(s2.mean()), 0.05 * varies)
    total = np.maximum(between + s2, 1e-12)
    centre = float((w / total).sum() / (1 / total).sum())
    return np.asarray(centre + between / total * (w - centre))


def best_set(
    worth: np.ndarray,
    outlay: np.ndarray,
    hours: np.ndarray,
    *,
    cash: float | None = None,
    most_hours: float | None = None,
) -> np.ndarray:
    """Which of n finds (n,) bool to buy so that the sum of `worth` is largest.

    Each find is taken whole or not at all; the chosen ones' `outlay` add up to at most `cash` and their
    `hours` to at most `most_hours` (None: no limit). Solved exactly as a 0-1 linear programme by
    scipy.optimize.milp (HiGHS). A find that is worth 0 or less is never taken.
    """
    w, o, h = (np.asarray(v, dtype=float) for v in (worth, outlay, hours))
    for name, limit in (("cash", cash), ("hours", most_hours)):
        if limit is not None and not limit >= 0:
            raise BadQuestion(f"{name} is {limit:g}; the budget must be 0 or more.")
    chosen = np.zeros(len(w), dtype=bool)
    wanted = w > 0
    for used, limit in ((o, cash), (h, most_hours)):
        if limit is not None:
            wanted &= used <= limit
    at = np.flatnonzero(wanted)
    if not len(at):
        return chosen
    rows, limits = [], []
    for used, limit in ((o, cash), (h, most_hours)):
        if limit is not None:
            rows.append(used[at])
            limits.append(limit)
    if not rows:
        chosen[at] = True
        return chosen
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        -w[at],
        integrality=np.ones(len(at)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(np.array(rows), -np.inf, np.array(limits)),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise BadQuestion(f"no best set could be found: {found.message}")
    chosen[at] = found.x > 0.5
    return chosen
