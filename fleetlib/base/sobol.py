"""Scrambled Sobol points, bit for bit those of scipy.stats.qmc, without loading all of scipy.stats.

Loading scipy.stats takes longer than fitting a shop. Direction numbers: S. Joe and F. Y. Kuo (2008), SIAM J. Sci.
Comput. 30: 2635-2654. Scrambling by a random lower triangular matrix and a digital shift: J. Matousek (1998),
J. Complexity 14: 527-556. Where more coordinates are asked for than stand here, scipy's own points are taken.
"""

from __future__ import annotations

import numpy as np

_BITS = 30
# A coordinate a row, from the second: its primitive polynomial as a binary number, then its first direction numbers.
# fmt: off
_STARTS: tuple[tuple[int, ...], ...] = (
    (3, 1), (7, 1, 3), (11, 1, 3, 1), (13, 1, 1, 1), (19, 1, 1, 3, 3), (25, 1, 3, 5, 13), (37, 1, 1, 5, 5, 17),
    (41, 1, 1, 5, 5, 5), (47, 1, 1, 7, 11, 19), (55, 1, 1, 5, 1, 1), (59, 1, 1, 1, 3, 11), (61, 1, 3, 5, 5, 31),
    (67, 1, 3, 3, 9, 7, 49), (91, 1, 1, 1, 15, 21, 21), (97, 1, 3, 1, 13, 27, 49), (103, 1, 1, 1, 15, 7, 5),
    (109, 1, 3, 1, 15, 13, 25), (115, 1, 1, 5, 5, 19, 61), (131, 1, 3, 7, 11, 23, 15, 103),
    (137, 1, 3, 7, 13, 13, 15, 69), (143, 1, 1, 3, 13, 7, 35, 63), (145, 1, 3, 5, 9, 1, 25, 53),
    (157, 1, 3, 1, 13, 9, 35, 107), (167, 1, 3, 1, 5, 27, 61, 31), (171, 1, 1, 5, 11, 19, 41, 61),
    (185, 1, 3, 5, 3, 3, 13, 69), (191, 1, 1, 7, 13, 1, 19, 1), (193, 1, 3, 7, 5, 13, 19, 59),
    (203, 1, 1, 3, 9, 25, 29, 41), (211, 1, 3, 5, 13, 23, 1, 55), (213, 1, 3, 7, 3, 13, 59, 17),
    (229, 1, 3, 1, 3, 5, 53, 69), (239, 1, 1, 5, 5, 23, 33, 13), (241, 1, 1, 7, 7, 1, 61, 123),
    (247, 1, 1, 7, 9, 13, 61, 49), (253, 1, 3, 3, 5, 3, 55, 33), (285, 1, 3, 1, 15, 31, 13, 49, 245),
    (299, 1, 3, 5, 15, 31, 59, 63, 97), (301, 1, 3, 1, 11, 11, 11, 77, 249),
)
# fmt: on


def sobol_points(count: int, size: int, seed: int) -> np.ndarray:
    """`count` points (count, size) of the unit cube, spread evenly; the same for the same seed."""
    if size > len(_STARTS) + 1:
        from scipy.stats import qmc

        return np.asarray(
            qmc.Sobol(size, scramble=True, rng=np.random.default_rng(seed)).random(count)
        )
    rng = np.random.default_rng(seed).spawn(1)[0]  # as the library does
    places = np.arange(_BITS - 1, -1, -1)
    shift = rng.integers(2, size=(size, _BITS), dtype=np.uint32) @ (1 << np.arange(_BITS))
    lower = np.tril(rng.integers(2, size=(size, _BITS, _BITS), dtype=np.uint32)).astype(np.int64)
    lower[:, np.arange(_BITS), np.arange(_BITS)] = 1
    digits = (_directions(size)[:, :, None] >> places) & 1  # highest bit first
    scrambled = ((np.einsum("dpk,djk->djp", lower, digits) & 1) << places).sum(axis=2)
    # Point i differs from the one before by the direction of the lowest set bit of i.
    lowest = [(i & -i).bit_length() - 1 for i in range(1, count)]
    steps = np.vstack([shift, scrambled[:, lowest].T])
    return np.asarray(np.bitwise_xor.accumulate(steps, axis=0) / 2.0**_BITS)


def _directions(size: int) -> np.ndarray:
    """The directions (size, bits) as whole numbers of `_BITS` bits."""
    made = np.ones((size, _BITS), dtype=np.int64)
    for row, (polynomial, *starts) in zip(made[1:], _STARTS, strict=False):
        degree = len(starts)
        row[:degree] = starts
        for j in range(degree, _BITS):
            new = row[j - degree]
            for k in range(degree):
                if polynomial >> (degree - 1 - k) & 1:
                    new ^= row[j - k - 1] << (k + 1)
            row[j] = new
    return made << np.arange(_BITS - 1, -1, -1)
