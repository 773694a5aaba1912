"""The Sobol points against those of scipy.stats.qmc (general-purpose reference), bit for bit."""

import warnings

import numpy as np
import pytest
from scipy.stats import qmc

from fleetlib.base.sobol import sobol_points


@pytest.mark.parametrize(("count", "size"), [(1, 1), (8, 2), (8, 17), (96, 9), (256, 40), (8, 45)])
@pytest.mark.parametrize("seed", [0, 2026])
def test_points_are_those_of_the_reference_library(count: int, size: int, seed: int) -> None:
    reference = qmc.Sobol(size, scramble=True, rng=np.random.default_rng(seed))
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore", UserWarning
        )  # the library would have counts that are powers of two
        expected = reference.random(count)
    assert np.array_equal(sobol_points(count, size, seed), expected)
