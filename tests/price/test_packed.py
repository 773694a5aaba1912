"""Symmetric matrices by half their numbers, against numpy's whole ones and cases by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import LinAlgError

from fleetlib.price.regression.packed import Packed, mirrored, plus_outer, times


def blocks_of(n: int, seed: int = 3) -> np.ndarray:
    rng = np.random.default_rng(seed)
    halves = rng.normal(size=(3, n, 2))
    return np.asarray(halves @ halves.transpose(0, 2, 1))


@pytest.mark.parametrize("n", [1, 2, 5, 8])  # an even and an odd order are packed in different ways
def test_the_inverse_and_the_determinant_are_numpys(n: int) -> None:
    S, weights, d = blocks_of(n), np.array([0.5, 2.0, 0.1]), np.linspace(1, 2, n)
    V = np.tensordot(weights, S, 1) + np.diag(d)
    upper, log_det = Packed.of(S).inverse(weights, d)
    assert mirrored(upper) == pytest.approx(np.linalg.inv(V), abs=1e-12)
    assert log_det == pytest.approx(np.linalg.slogdet(V)[1])
    assert times(upper, d) == pytest.approx(np.linalg.solve(V, d))


@pytest.mark.parametrize("n", [0, 1, 2, 5, 8])
def test_traces_read_the_upper_triangle_alone(n: int) -> None:
    S, M = blocks_of(n), blocks_of(n, seed=4).sum(axis=0)
    below = np.tril(np.full((n, n), 9.0), -1)
    assert Packed.of(S).traces(np.triu(M) + below) == pytest.approx([np.trace(s @ M) for s in S])


def test_a_rank_of_one_is_added_by_hand() -> None:
    upper = np.asfortranarray([[1.0, 2.0], [0.0, 3.0]])
    added = plus_outer(upper, 2.0, np.array([1.0, 10.0]))
    assert mirrored(added).tolist() == [[3.0, 22.0], [22.0, 203.0]]
    assert upper.tolist() == [[1.0, 2.0], [0.0, 3.0]]


def test_what_is_no_covariance_is_refused() -> None:
    with pytest.raises(LinAlgError, match="not positive definite"):
        Packed.of(np.array([[[0.0, 1.0], [1.0, 0.0]]])).inverse(np.ones(1), 0.0)
