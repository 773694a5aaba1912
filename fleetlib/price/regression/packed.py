"""Symmetric matrices by their upper triangle alone, in LAPACK's rectangular full packed format.

Half the numbers to add up, factored as fast as a whole matrix (Gustavson, Wasniewski, Dongarra & Langou 2010, ACM
Trans. Math. Softw. 37: 18).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError
from scipy.linalg.blas import dsymv, dsyr
from scipy.linalg.lapack import dpftrf, dpftri, dtfttr, dtrttf


@dataclass(frozen=True, eq=False, slots=True)
class Packed:
    """K symmetric matrices (n, n), packed: `blocks` (K, n(n+1)/2); `diagonal` (n,) says where theirs are."""

    n: int
    blocks: np.ndarray
    diagonal: np.ndarray

    @classmethod
    def of(cls, S: np.ndarray | Packed) -> Packed:
        """The matrices S (K, n, n), or those that are packed already."""
        if isinstance(S, Packed):
            return S
        n = S.shape[-1]
        places = _pack(np.diag(np.arange(1.0, n + 1)))
        diagonal = np.argsort(np.where(places > 0, places, n + 1), kind="stable")[:n]
        blocks = np.empty((len(S), len(places)))
        for block, whole in zip(blocks, S, strict=True):
            block[:] = _pack(whole)
        return cls(n, blocks, diagonal)

    def inverse(self, weights: np.ndarray, d: np.ndarray | float) -> tuple[np.ndarray, float]:
        """Of V = D + sum_k weights_k S_k: the upper triangle of its inverse (n, n), and log|V|.

        Raises LinAlgError where V is not positive definite.
        """
        V = weights @ self.blocks
        V[self.diagonal] += d
        factor, failed = dpftrf(self.n, V, transr="N", uplo="U", overwrite_a=1)
        if failed:
            raise LinAlgError("the covariance of the sales is not positive definite")
        log_det = 2 * float(np.log(factor[self.diagonal]).sum())
        inverse, _ = dpftri(self.n, factor, transr="N", uplo="U", overwrite_a=1)
        return dtfttr(self.n, inverse, transr="N", uplo="U")[0], log_det

    def projected(
        self, weights: np.ndarray, d: np.ndarray | float, weight: float = 0.0
    ) -> tuple[np.ndarray, np.ndarray, float, float]:
        """P's upper triangle (n, n), a = V^-1 1 (n,), s = 1'a + `weight` and log|V|, P = V^-1 - a a'/s."""
        inverse, log_det = self.inverse(weights, d)
        a = times(inverse, np.ones(self.n))
        s = float(a.sum()) + weight
        return plus_outer(inverse, -1 / s, a, here=True), a, s, log_det

    def traces(self, upper: np.ndarray) -> np.ndarray:
        """tr(S_k M) (K,) of the symmetric M whose upper triangle is `upper` (n, n)."""
        twice = 2 * _pack(upper)
        twice[self.diagonal] /= 2
        return np.asarray(self.blocks @ twice)


def _pack(whole: np.ndarray) -> np.ndarray:
    if not whole.size:  # no sale yet
        return np.zeros(0)
    return np.asarray(dtrttf(np.asfortranarray(whole), transr="N", uplo="U")[0])


def times(upper: np.ndarray, x: np.ndarray) -> np.ndarray:
    """M x (n,) of the symmetric M whose upper triangle is `upper` (n, n)."""
    return np.asarray(dsymv(1.0, upper, x))


def plus_outer(
    upper: np.ndarray, weight: float, x: np.ndarray, *, here: bool = False
) -> np.ndarray:
    """The upper triangle of M + weight x x' (n, n); `here`: written over `upper`."""
    return np.asarray(dsyr(weight, x, a=upper, overwrite_a=here)) if len(x) else upper


def mirrored(upper: np.ndarray) -> np.ndarray:
    """The whole symmetric matrix (n, n) of which `upper` has the upper triangle."""
    return np.asarray(np.triu(upper) + np.triu(upper, 1).T)
