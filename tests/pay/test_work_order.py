"""Unfinished work in the order that pays, by hand and against the chance that the order is wrong."""

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.settings import Settings
from fleetlib.fits import Fits
from fleetlib.pay.work_order import what_next
from fleetlib.plan.case import case_for
from fleetlib.records.piece import piece_from_row
from tests.histories import AS_OF
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece


class KnownPrices:
    """Usual prices that are the gut price, with a lognormal spread of .3."""

    log_sd = 0.3

    def usual(self, pieces: list[object]) -> np.ndarray:
        return np.array([p.gut_price for p in pieces])  # type: ignore[attr-defined]

    def distribution(self, piece: object) -> "KnownPrices":
        return self

    def sample(self, rng: np.random.Generator, n: int) -> np.ndarray:
        return np.exp(0.3 * rng.standard_normal(n))


def unfinished(name: str, gut: float, hours: float | None, **more: object) -> dict[str, object]:
    start = {"piece": name, "furniture_type": "desk", "buy_price": 50.0, "materials_cost": 10.0}
    return {**start, "gut_price": gut, "hours": hours, **more}


def a_shop(*rows: dict[str, object], **more: object) -> Fits:
    done = [piece("desk", 200, 6, materials_cost=30.0) for _ in range(3)]
    models = {"selling": KnownSelling(), "hours": KnownHours(6.0), "prices": KnownPrices(), **more}
    chosen = Settings(as_of=AS_OF, target_hourly_pay=15.0, borrow=False)
    return fits_of([*done, *rows], settings=chosen, **models)


def test_gain_and_pay_by_hand() -> None:
    fits = a_shop(unfinished("W-1", 300, None))
    line = what_next(fits).table.iloc[0]
    case = case_for(fits, piece_from_row(fits.records.flips.iloc[3]), AS_OF)
    path = case.best_path()  # its holding cost is in no pay
    money = path.expected_net + case.holding * path.expected_weeks
    assert line["expected_net"] == pytest.approx(money)
    assert line["as_it_stands"] == pytest.approx(0.35 * 300)
    assert line["cost_left"] == pytest.approx(20)  # usual materials 30, of which 10 are spent
    assert line["gain"] == pytest.approx(line["expected_net"] - 105 - 20)
    assert line["hours_left"] == pytest.approx(6, rel=0.03)
    assert line["per_hour"] == pytest.approx(line["gain"] / line["hours_left"])


def test_the_piece_that_is_nearly_done_comes_first() -> None:
    made = what_next(a_shop(unfinished("new", 300, None), unfinished("nearly", 300, 5.5)))
    assert made.table["piece"].tolist() == ["nearly", "new"]
    assert made.table["chance_first"].sum() == pytest.approx(1)
    assert made.table["chance_first"].iloc[0] > 0.8


def test_what_was_paid_plays_no_part() -> None:
    cheap = what_next(a_shop(unfinished("W-1", 300, 2.0, buy_price=0.0)))
    dear = what_next(a_shop(unfinished("W-1", 300, 2.0, buy_price=250.0)))
    assert cheap.table["per_hour"].iloc[0] == pytest.approx(dear.table["per_hour"].iloc[0])


def test_two_like_pieces_are_as_likely_either_way_round() -> None:
    made = what_next(a_shop(unfinished("W-1", 300, None), unfinished("W-2", 300, None)))
    assert made.table["chance_next_better"].iloc[0] == pytest.approx(0.5, abs=0.03)
    assert np.isnan(made.table["chance_next_better"].iloc[1])


def test_a_finished_piece_waits_to_be_listed_and_is_not_ranked() -> None:
    fits = fits_of(
        [piece("desk", 200, 6), unfinished("W-1", 300, 6.0), unfinished("W-2", 300, 1.0)],
        events=[{"on": pd.Timestamp("2026-09-01"), "piece": "W-1", "event": "finished"}],
        selling=KnownSelling(),
        hours=KnownHours(6.0),
    )
    made = what_next(fits)
    assert made.table["piece"].tolist() == ["W-2"]
    assert any("waiting to be listed" in n and "W-1" in n for n in made.notes)


def test_hours_that_pay_under_the_target_are_said() -> None:
    made = what_next(a_shop(unfinished("W-1", 60, None)))
    assert made.table["per_hour"].iloc[0] < 15
    assert any("less than your target of $15 for W-1" in n for n in made.notes)


def test_without_any_hours_the_order_follows_the_gain() -> None:
    made = what_next(a_shop(unfinished("W-1", 200, None), unfinished("W-2", 400, None), hours=None))
    assert made.table["piece"].tolist() == ["W-2", "W-1"]
    assert made.table["per_hour"].isna().all()
    assert any(n.startswith("too few hours are on record") for n in made.notes)
    assert max(len(line) for line in str(made).splitlines()) <= 80


def test_a_piece_that_cannot_be_planned_is_named() -> None:
    made = what_next(
        a_shop(
            unfinished("W-1", 300, 2.0),
            {**unfinished("W-2", 1, 1.0), "gut_price": None},
            prices=None,
        )
    )
    assert made.table["piece"].tolist() == ["W-1"]
    assert any("1 piece cannot be planned for" in n and "W-2" in n for n in made.notes)


def test_no_unfinished_work_is_a_plain_answer() -> None:
    made = what_next(a_shop())
    assert made.table.empty
    assert str(made) == "No unfinished work is on record."
    assert "No unfinished work" in made._repr_html_()


def test_text_fits_the_terminal_and_is_the_same_each_time() -> None:
    fits = a_shop(unfinished("W-1", 300, None), unfinished("W-2", 350, 3.0))
    assert str(what_next(fits)) == str(what_next(fits))
    assert max(len(line) for line in str(what_next(fits)).splitlines()) <= 80
