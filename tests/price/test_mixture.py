"""Mixtures of Student-t against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleetlib.price.regression.mixture import Mixture


def two_rows(stretch: float = 1.0) -> Mixture:
    return Mixture(
        np.array([[5.0, 6.0], [5.5, 6.0], [4.0, 6.1]]),
        np.array([[0.2, 0.3], [0.4, 0.1], [1.5, 0.2]]),
        np.full(3, 9.0),
        np.array([0.5, 0.3, 0.2]),
        stretch,
    )


def test_one_component_is_students_t() -> None:
    one = Mixture(np.array([[5.0]]), np.array([[0.3]]), np.array([7.0]), np.ones(1))
    for p in (0.001, 0.025, 0.5, 0.9, 0.999):
        assert one.quantile(p)[0] == pytest.approx(stats.t.ppf(p, 7, 5.0, 0.3))


@pytest.mark.parametrize("stretch", [1.0, 1.15])
def test_quantiles_invert_the_distribution(stretch: float) -> None:
    mixture = two_rows(stretch)
    for p in (0.001, 0.1, 0.5, 0.8, 0.975):
        assert mixture.share_below(mixture.quantile(p)) == pytest.approx([p, p], abs=1e-9)
    plain = two_rows()
    x = np.array([5.3, 5.9])
    expected = sum(
        w * stats.t.cdf(x, 9, m, s)
        for w, m, s in zip(plain.weights, plain.location, plain.scale, strict=True)
    )
    assert plain.share_below(x) == pytest.approx(expected)


def test_a_narrow_component_does_not_throw_the_search_to_and_fro() -> None:
    spiked = Mixture(
        np.array([[0.0], [-1.9], [0.4], [-0.8], [0.9], [0.13], [0.63]]),
        np.array([[0.58], [0.92], [0.25], [1.04], [0.11], [0.018], [0.87]]),
        np.array([4.0, 1.5, 4.0, 30.0, 4.0, 4.0, 1.5]),
        np.full(7, 1 / 7),
    )
    assert spiked.share_below(spiked.quantile(0.5)) == pytest.approx(0.5, abs=1e-7)
    for p in (0.025, 0.3, 0.55, 0.975):
        assert spiked.share_below(spiked.quantile(p)) == pytest.approx(p, abs=1e-7)


def test_the_search_among_many_components_begins_where_a_few_put_it(monkeypatch) -> None:
    rng = np.random.default_rng(5)
    asked = []
    cdf = Mixture._plain_cdf
    monkeypatch.setattr(Mixture, "_plain_cdf", lambda m, x: asked.append(len(m.df)) or cdf(m, x))
    for spread in (0.3, 3.0):
        weights = (
            rng.random(3000) ** 8
        )  # the heaviest counts for more than a fortieth, or a thousandth
        weights[0] += spread * weights.sum()
        many = Mixture(
            rng.normal(6, spread, (3000, 1)),
            rng.uniform(0.05, 0.4, (3000, 1)),
            np.full(3000, 9.0),
            weights / weights.sum(),
        )
        for p in (0.001, 0.1, 0.5, 0.9, 0.999):
            asked.clear()
            x = many._plain_quantile(p)
            if spread < 1 and abs(p - 0.5) < 0.45:
                assert sum(n == 3000 for n in asked) <= 3
            assert cdf(many, x)[0] == pytest.approx(p, abs=1e-10)


def test_ranges_are_nested_and_widening_keeps_the_middle() -> None:
    plain, wide = two_rows(), two_rows(1.15)
    low_80, high_80 = plain.interval(0.80).T
    low_95, high_95 = plain.interval(0.95).T
    assert (low_95 < low_80).all() and (high_80 < high_95).all()
    assert wide.median() == pytest.approx(plain.median())
    assert np.ptp(wide.interval(0.8), axis=1) == pytest.approx(1.15 * (high_80 - low_80))
