"""The same piece under each finish, with truths that are known."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.settings import Settings
from fleetlib.finish.before_price import prices_as_found
from fleetlib.finish.finish_choice import LIMIT, finish_choice
from fleetlib.fits import Fits
from fleetlib.price.fit import fit_prices
from fleetlib.records.piece import Piece
from fleetlib.work.hours import fit_hours
from tests.histories import AS_OF, events_of
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece
from tests.true_records import shop_of

DESK = Piece(furniture_type="desk", finish="wax", gut_price=300.0, buy_price=40.0)


def sold(finish: str, n: int, materials: float = 20.0) -> list[dict[str, object]]:
    return [piece("desk", 200, 6, finish=finish, materials_cost=materials) for _ in range(n)]


class KnownFinishes:
    """Usual price 300, times 1.2 for oil; each finish's effect known within a given standard error."""

    log_sd = 0.25

    def __init__(self, error: float) -> None:
        self.error = error
        self.regressor = self

    def usual(self, pieces: list[Piece]) -> np.ndarray:
        return np.array([360.0 if p.finish == "oil" else 300.0 for p in pieces])

    def doubt(self, piece: Piece) -> float:
        return 0.0

    def effects(self, level: float) -> pd.DataFrame:
        reach = 1.2816 * self.error
        made = pd.DataFrame({"feature": "finish", "setting": ["oil", "wax", "paint"]})
        ends = {"low": 100 * np.expm1(-reach), "high": 100 * np.expm1(reach)}
        return made.assign(effect=0.0, **ends)


def a_shop(rows: list[dict[str, object]], error: float = 0.05, **models: object) -> Fits:
    known = {"selling": KnownSelling(), "hours": KnownHours(6.0), "prices": KnownFinishes(error)}
    chosen = Settings(as_of=AS_OF, target_hourly_pay=20.0)
    return fits_of(rows, settings=chosen, **(known | models))


class HoursWithDraws(KnownHours):
    """Known hours whose averages are known exactly."""

    def expected_draws(self, pieces: list[Piece], rng: object, n: int) -> np.ndarray:
        return np.tile([self.expected(p) for p in pieces], (n, 1))


def test_the_dearer_finish_wins_where_all_else_is_equal() -> None:
    made = finish_choice(a_shop(sold("oil", 5) + sold("wax", 5), hours=HoursWithDraws(6.0)), DESK)
    assert made.table["finish"].tolist() == ["oil", "wax"]
    oil, wax = made.table.iloc[0], made.table.iloc[1]
    assert (oil["price"], wax["price"]) == (360, 300)
    assert oil["profit"] == pytest.approx(oil["net"] - 40 - oil["materials"])
    assert oil["per_hour"] == pytest.approx(oil["profit"] / 6)
    assert (
        made.table["chance_best"].isna().all()
    )  # nothing tells the finish from the pieces that got it
    assert made.table["says"].tolist() == ["went with it"] * 2
    assert "best" not in " ".join(made.notes).replace("better", "")


def test_the_owners_price_moves_with_the_finish() -> None:
    # The gut price is for wax; under oil it must not hide that oil is worth a fifth more.
    made = finish_choice(a_shop(sold("oil", 5) + sold("wax", 5), hours=HoursWithDraws(6.0)), DESK)
    net = made.table.set_index("finish")["net"]
    assert net["oil"] / net["wax"] == pytest.approx(1.2, abs=0.02)


def test_a_finish_that_takes_longer_can_lose_in_spite_of_its_price() -> None:
    slow = HoursWithDraws(6.0, seen={"oil": 9.0, "wax": 5.0})
    made = finish_choice(a_shop(sold("oil", 5) + sold("wax", 5), hours=slow), DESK)
    assert made.table["finish"].tolist() == ["wax", "oil"]
    assert made.table["hours"].tolist() == [5.0, 9.0]


def both(n: int) -> list[dict[str, object]]:
    """`n` sales with oil and as many with wax, dear and cheap ones alike."""
    nets = np.linspace(150, 350, n)
    return [
        piece("desk", v, 6, finish=f, materials_cost=20.0) for f in ("oil", "wax") for v in nets
    ]


def as_found(rows: list[dict[str, object]], times: dict[str, float]) -> Fits:
    """A shop whose pieces each sold for `times` its price as found, by finish, that price told when bought."""
    fits = a_shop(rows, hours=HoursWithDraws(6.0))
    flips = fits.records.flips
    factors = (
        flips["finish"].map(times).to_numpy(float) * np.tile([1.05, 0.95], len(flips))[: len(flips)]
    )
    told = [f"gut_price={p / f:.2f}" for p, f in zip(flips["sale_price"], factors, strict=True)]
    bought = [
        {"on": "2026-01-05", "piece": n, "event": "bought", "amount": 40.0, "note": t, "line": 2}
        for n, t in zip(flips["piece"], told, strict=True)
    ]
    logged = events_of(bought)
    return shop_of(
        replace(fits.records, logged=logged),
        prices=fits.prices,
        selling=fits.selling,
        hours=fits.hours,
    )


def test_prices_as_found_tell_what_a_finish_itself_does() -> None:
    fits = as_found(both(20), {"oil": 0.9, "wax": 1.1})
    made = finish_choice(fits, DESK)
    by = made.table.set_index("finish")
    # the records hold oil to be worth a fifth more, the prices as found a fifth less
    assert made.table["finish"].tolist() == ["wax", "oil"]
    assert by.loc["oil", "effect"] - by.loc["wax", "effect"] == pytest.approx(
        np.log(0.9 / 1.1), abs=0.04
    )
    assert by.loc["oil", "price"] / by.loc["wax", "price"] == pytest.approx(0.9 / 1.1, rel=0.04)
    assert by.loc["wax", "chance_best"] > 0.95
    assert by["chance_best"].sum() == pytest.approx(1)
    assert "wax has the best chance to pay best" in made.notes[0]


def test_an_entry_that_names_the_finish_was_made_with_it_in_mind() -> None:
    fits = as_found(both(20), {"oil": 0.9, "wax": 1.1})
    named = fits.records.logged.assign(note=lambda t: t["note"] + "; finish=oil")
    assert prices_as_found(fits.records).notna().all()
    assert prices_as_found(replace(fits.records, logged=named)).isna().all()


def test_a_column_of_prices_as_found_stands_before_the_entry_of_buying() -> None:
    fits = as_found(both(20), {"oil": 0.9, "wax": 1.1})
    flips = fits.records.flips.assign(found_price=np.nan)
    flips.loc[flips.index[:3], "found_price"] = 321.0
    noted = prices_as_found(replace(fits.records, flips=flips))
    assert noted.iloc[:3].tolist() == [321.0] * 3
    assert noted.iloc[3:].tolist() == prices_as_found(fits.records).iloc[3:].tolist()


def test_few_sales_with_a_price_as_found_tell_nothing() -> None:
    made = finish_choice(as_found(both(5), {"oil": 0.9, "wax": 1.1}), DESK)
    assert made.table["chance_best"].isna().all()
    assert LIMIT in made.notes


def test_a_finish_sold_twice_is_shown_but_not_called() -> None:
    made = finish_choice(a_shop(sold("oil", 2) + sold("wax", 5), hours=HoursWithDraws(6.0)), DESK)
    assert made.table["finish"].tolist() == ["wax", "oil"]
    assert made.table["says"].tolist() == ["went with it", "too few to say"]
    assert made.table["chance_best"].isna().all()  # nothing left to compare
    assert any("too few to say: oil" in n for n in made.notes)


def test_materials_follow_the_finish() -> None:
    rows = sold("oil", 20, materials=40.0) + sold("wax", 20, materials=10.0)
    made = finish_choice(a_shop(rows, hours=HoursWithDraws(6.0)), DESK).table.set_index("finish")
    assert made.loc["oil", "materials"] == pytest.approx(40, rel=0.15)
    assert made.loc["wax", "materials"] == pytest.approx(10, rel=0.4)


def test_the_limit_is_always_said() -> None:
    made = finish_choice(a_shop(sold("oil", 3), hours=HoursWithDraws(6.0)), DESK)
    assert LIMIT in made.notes
    assert "at random" in str(made).replace("\n  ", " ")


def test_without_a_price_fit_only_hours_and_materials_differ_and_that_is_said() -> None:
    fits = a_shop(sold("oil", 4) + sold("wax", 4), prices=None, hours=HoursWithDraws(6.0))
    made = finish_choice(fits, DESK)
    assert len(set(made.table["price"])) == 1
    assert any(n.startswith("there are too few sales to see") for n in made.notes)


def test_no_finish_on_record_is_refused() -> None:
    with pytest.raises(BadQuestion, match="No sold piece on record has a finish"):
        finish_choice(a_shop([piece("desk", 200, 6)]), DESK)


def test_no_hours_anywhere_is_refused() -> None:
    with pytest.raises(BadQuestion, match="say how many hours the whole job takes"):
        finish_choice(a_shop(sold("oil", 4), hours=None), DESK)


def test_the_truth_is_found_from_a_hundred_simulated_sales() -> None:
    # Oil truly brings 25% more for the same hours; lacquer 5% less and half as long again; wax is the base.
    rng = np.random.default_rng(2)
    rows = []
    for _ in range(100):
        finish = str(rng.choice(["oil", "wax", "lacquer"]))
        size = float(np.exp(0.3 * rng.standard_normal()))
        price = 320 * size**0.5 * {"oil": 1.25, "wax": 1.0, "lacquer": 0.95}[finish]
        hours = 7 * size**0.35 * {"oil": 1.0, "wax": 1.0, "lacquer": 1.5}[finish]
        rows.append(
            piece(
                "desk",
                price * float(np.exp(0.2 * rng.standard_normal())) - 20,
                hours * float(np.exp(0.3 * rng.standard_normal())),
                finish=finish,
                width_in=45.0 * size,
                depth_in=24.0,
                height_in=30.0,
            )
        )
    fits = fits_of(rows, settings=Settings(as_of=AS_OF), selling=KnownSelling())
    flips = fits.records.flips
    real = shop_of(
        fits.records,
        prices=fit_prices(flips, as_of=date(2026, 9, 30)),
        hours=fit_hours(flips),
        selling=fits.selling,
    )
    made = finish_choice(
        real, Piece(furniture_type="desk", width_in=45, depth_in=24, height_in=30, buy_price=40)
    )
    by = made.table.set_index("finish")
    assert made.table["finish"].tolist() == ["oil", "wax", "lacquer"]
    assert by.loc["oil", "price"] / by.loc["wax", "price"] == pytest.approx(1.25, rel=0.08)
    assert by.loc["lacquer", "hours"] / by.loc["wax", "hours"] == pytest.approx(1.5, rel=0.15)
    assert by["chance_best"].isna().all()
    assert max(len(line) for line in str(made).splitlines()) <= 80
    assert "<table>" in made._repr_html_()
