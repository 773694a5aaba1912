"""The similarity matrices: what a level, a number, an unseen word and a missing entry are alike to."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from fleetlib.price.regression.kernels import (
    around_the_year,
    bell,
    learn_coding,
    own_similarity,
    similarities,
)


@pytest.fixture
def frame() -> pd.DataFrame:
    rng = np.random.default_rng(4)
    made = pd.DataFrame(
        {
            "wood": rng.choice(["oak", "pine", "ash", None], 40, p=[0.5, 0.25, 0.15, 0.1]),
            "size": np.exp(rng.normal(3, 1, 40)),
            "grade": rng.integers(1, 6, 40).astype(float),
            "turn": rng.random(40),
        }
    )
    made.loc[[3, 9], "size"] = np.nan
    made.loc[[9, 20], "grade"] = np.nan
    made.loc[5, "turn"] = np.nan
    return made


def test_every_block_is_a_proper_covariance_even_with_missing_entries(frame: pd.DataFrame) -> None:
    coding = learn_coding(frame, factors=["wood"], measures=["size", "grade"], cycles=["turn"])
    coded = coding.code(frame)
    S = similarities(coding, coded, coded, same=True)
    assert [kind for _, kind in coding.blocks] == [
        "factor", "measure", "measure", "cycle", "smooth", "combination",
    ]  # fmt: skip
    for block in S:
        assert np.allclose(block, block.T)
        assert np.linalg.eigvalsh(block).min() > -1e-9
    own = np.array([np.diag(block) for block in S])
    assert own == pytest.approx(own_similarity(coding, coded))


def test_a_missing_number_keeps_the_variance_of_one_not_known(frame: pd.DataFrame) -> None:
    coding = learn_coding(frame, factors=[], measures=["size", "grade"])
    new = coding.code(pd.DataFrame({"size": [np.nan, 20.0], "grade": [3.0, np.nan]}))
    own = own_similarity(coding, new)
    assert own[0, 0] == 1.0 and own[1, 1] == 1.0  # the variance of a standardised number
    assert own[0, 1] < 1.0


def test_an_unseen_level_is_like_no_sale_and_still_has_its_own_variance(
    frame: pd.DataFrame,
) -> None:
    coding = learn_coding(frame, factors=["wood"], measures=["size"])
    new = coding.code(pd.DataFrame({"wood": ["teak", "oak"], "size": [20.0, 20.0]}))
    S = similarities(coding, new, coding.code(frame))
    assert (S[0][0] == 0).all()
    oak = (frame["wood"] == "oak").to_numpy()
    assert (S[0][1][oak] == 1).all() and (S[0][1][(frame["wood"] == "pine").to_numpy()] == 0).all()
    assert (own_similarity(coding, new)[0] == 1).all()


def test_a_missing_word_counts_as_what_the_column_usually_holds(frame: pd.DataFrame) -> None:
    coding = learn_coding(frame, factors=["wood"], measures=[])
    new = coding.code(pd.DataFrame({"wood": [None]}))
    S = similarities(coding, new, coding.code(frame))[0, 0]
    stated = frame["wood"].dropna()
    assert S[(frame["wood"] == "oak").to_numpy()][0] == pytest.approx((stated == "oak").mean())


def test_a_missing_number_is_alike_by_the_expected_similarity() -> None:
    # Averages over a standard normal number, by Gauss-Hermite quadrature.
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    weights = weights / weights.sum()
    z = np.array([-1.3, 0.0, 2.2])
    for d in (1.0, 3.0):
        expected = [weights @ np.exp(-((nodes - v) ** 2) / (2 * d)) for v in z]
        assert bell(np.array([np.nan]), z, d)[0] == pytest.approx(expected)
        both = weights @ np.exp(-((nodes[:, None] - nodes[None, :]) ** 2) / (2 * d)) @ weights
        assert bell(np.array([np.nan]), np.array([np.nan]), d)[0, 0] == pytest.approx(both)
    year = np.exp(-2 * np.sin(np.pi * np.linspace(0, 1, 1000, endpoint=False)) ** 2).mean()
    assert around_the_year(np.array([np.nan]), np.array([0.3]))[0, 0] == pytest.approx(year)


def test_the_turn_of_the_year_is_no_edge() -> None:
    december, january, july = np.array([0.99]), np.array([0.01]), np.array([0.5])
    assert around_the_year(december, january)[0, 0] > 0.99
    assert around_the_year(december, july)[0, 0] < 0.2


def test_skewed_positive_numbers_are_logged_and_even_ones_are_not(frame: pd.DataFrame) -> None:
    frame = frame.assign(days=np.r_[0.0, np.random.default_rng(1).exponential(30, 39).round()])
    coding = learn_coding(frame, factors=[], measures=["size", "grade", "days"])
    assert [m.transform for m in coding.measures] == ["log", "", "log1p"]
    z = coding.measures[0].standardise(frame["size"].to_numpy())
    assert (np.nanmean(z), np.nanstd(z)) == pytest.approx((0.0, 1.0))
    # A number whose logarithm does not exist counts as the smallest one seen.
    assert coding.measures[0].standardise(np.array([0.0]))[0] == pytest.approx(np.nanmin(z))


def test_columns_that_say_nothing_are_left_out() -> None:
    frame = pd.DataFrame(
        {
            "same": ["a"] * 8,
            "all different": list("abcdefgh"),
            "useful": list("aabbccdd"),
            "constant": [2.0] * 8,
            "one value": [1.0] + [np.nan] * 7,
        }
    )
    coding = learn_coding(
        frame,
        factors=["same", "all different", "useful"],
        measures=["constant", "one value"],
    )
    assert [f.name for f in coding.factors] == ["useful"]
    assert coding.measures == ()
