"""What an estimate says about one piece, on a simulated shop."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.base.settings import Settings
from fleetlib.price import breaks
from fleetlib.price.breaks import find_break
from fleetlib.price.estimate import estimate, times
from fleetlib.price.fit import fit_prices
from fleetlib.price.notes import one_in, slope_notes
from fleetlib.price.priors import usual_cuft
from fleetlib.price.regression.regression import Regression
from fleetlib.records.piece import Piece, piece_from_row
from tests.true_records import records_of, shop_of

AS_OF = date(2026, 9, 30)
DRESSER = Piece(
    furniture_type="dresser", wood="oak", finish="oil", width_in=48, depth_in=20, height_in=36
)


@pytest.fixture(scope="module")
def fits() -> Any:
    rng = np.random.default_rng(11)
    n = 90
    kinds = np.array(["dresser", "sideboard", "nightstand", "desk"])[rng.integers(0, 4, n)]
    kinds[0] = "hutch"
    effects = {"dresser": 0.1, "sideboard": 0.3, "nightstand": -0.6, "desk": 0.0, "hutch": 0.2}
    woods = np.array(["oak", "walnut", "pine"])[rng.integers(0, 3, n)]
    wood_effects = {"oak": 0.0, "walnut": 0.2, "pine": -0.2}
    width, days = rng.uniform(20, 70, n).round(), rng.exponential(30, n).round()
    height, depth = rng.uniform(24, 44, n).round(), rng.uniform(15, 24, n).round()
    log_price = [
        5.3 + effects[k] + wood_effects[w] + 0.4 * np.log(s)
        for k, w, s in zip(kinds, woods, width * height * depth / 1728, strict=True)
    ] + rng.normal(0, 0.2, n)
    flips = pd.DataFrame(
        {
            "piece": [f"B-{i}" for i in range(n)],
            "line": np.arange(2, n + 2),
            "furniture_type": kinds,
            "wood": woods,
            "finish": np.array(["oil", "wax"])[rng.integers(0, 2, n)],
            "width_in": width,
            "depth_in": depth,
            "height_in": height,
            "days_listed": days,
            "sold_on": pd.Timestamp(AS_OF) - pd.to_timedelta(rng.integers(0, 900, n), unit="D"),
            "sale_price": np.exp(log_price),
        }
    )
    records = records_of(flips, settings=Settings(), as_of=AS_OF)
    return shop_of(records, prices=fit_prices(flips, as_of=AS_OF))


def test_the_range_holds_the_middle_and_widens_with_the_level(fits: Any) -> None:
    usual, wide = estimate(fits, DRESSER), estimate(fits, DRESSER, level=0.95)
    assert wide.low < usual.low < usual.mid < usual.mean < usual.high < wide.high
    assert usual.mid == wide.mid
    assert usual.days_listed == fits.prices.sales["days_listed"].median()


def test_the_reasons_multiply_up_to_the_middle_price(fits: Any) -> None:
    made = estimate(fits, DRESSER, adjustment=0.1)
    product = made.average_price * np.prod(1 + made.reasons["effect"] / 100)
    assert product == pytest.approx(made.mid)
    assert (made.reasons["low"].dropna() <= made.reasons["effect"][:-1]).all()


def test_a_size_nobody_stated_is_said_to_be_taken_as_usual_of_the_kind(fits: Any) -> None:
    told = estimate(fits, DRESSER).reasons.set_index("feature")["this_piece"]["size"]
    sizeless = estimate(fits, Piece(furniture_type="dresser", wood="oak")).reasons
    unsaid = sizeless.set_index("feature")["this_piece"]["size"]
    assert told.endswith("cu ft") and "usual" not in told
    assert unsaid == f"not stated: as a usual dresser, {usual_cuft('dresser'):.0f} cu ft"


def test_the_owners_adjustment_moves_everything_by_itself_and_is_shown(fits: Any) -> None:
    plain, better = estimate(fits, DRESSER), estimate(fits, DRESSER, adjustment=0.10)
    for name in ("low", "mid", "high", "mean"):
        assert getattr(better, name) == pytest.approx(1.1 * getattr(plain, name))
    assert better.reasons.iloc[-1]["feature"] == "your own adjustment"
    assert "your own adjustment" not in set(plain.reasons["feature"])
    assert (better.comparables["adjusted_price"] > plain.comparables["adjusted_price"]).all()


def test_comparable_sales_come_with_their_weight_and_their_price_brought_to_this_piece(
    fits: Any,
) -> None:
    made = estimate(fits, DRESSER)
    grid = made.comparables
    assert (grid["weight"] > 0).all() and grid["weight"].is_monotonic_decreasing
    sales = fits.prices.sales.set_index("piece")["sale_price"]
    assert np.allclose(grid["sale_price"], sales.loc[grid["piece"]])
    # Brought to the piece, sales lie closer to its middle price than as sold.
    off, as_sold = [], []
    for kind in ("nightstand", "hutch", "desk"):
        other = estimate(fits, Piece(furniture_type=kind, wood="walnut", width_in=30, depth_in=16,
                                     height_in=26))  # fmt: skip
        as_sold += list(np.abs(np.log(other.comparables["sale_price"] / other.mid)))
        off += list(np.abs(np.log(other.comparables["adjusted_price"] / other.mid)))
    assert np.mean(off) < 0.75 * np.mean(as_sold)
    same = fits.prices.sales.iloc[-1]  # the newest: time has changed little since
    one = Piece(**{k: same[k] for k in ("furniture_type", "wood", "finish", "width_in", "depth_in",
                                         "height_in")})  # fmt: skip
    own = estimate(fits, one, days=float(same["days_listed"])).comparables.set_index("piece")
    assert own.loc[same["piece"], "differs"] == "alike"
    assert own.loc[same["piece"], "adjusted_price"] == pytest.approx(same["sale_price"], rel=0.1)


def test_a_wood_never_sold_widens_the_range_and_is_said(fits: Any) -> None:
    known = estimate(fits, DRESSER)
    teak = estimate(fits, Piece(furniture_type="dresser", wood="teak", finish="oil", width_in=48,
                                depth_in=20, height_in=36))  # fmt: skip
    assert teak.high / teak.low > known.high / known.low
    assert any("none of your sales has wood teak" in n for n in teak.notes)
    assert not any("none of your sales" in n for n in known.notes)


def test_what_leans_on_few_or_lies_outside_or_is_missing_is_said(fits: Any) -> None:
    hutch = estimate(fits, Piece(furniture_type="hutch", width_in=120, depth_in=40, height_in=90))
    said = " | ".join(hutch.notes)
    assert "only 1 sale has type hutch" in said
    assert "size 250.0 cu ft is outside your past sales" in said
    assert "not stated: wood, finish" in said


def test_what_is_the_same_for_every_piece_is_worked_out_for_the_first(
    monkeypatch, fits: Any
) -> None:
    asked = []
    effects, left = Regression.effects, breaks._left_to_time
    monkeypatch.setattr(Regression, "effects", lambda *a: asked.append("effects") or effects(*a))
    monkeypatch.setattr(breaks, "_left_to_time", lambda fit: asked.append("break") or left(fit))
    slope_notes.cache_clear()
    find_break.cache_clear()
    told = [estimate(fits, replace(DRESSER, width_in=width)).notes for width in (40, 48, 52)]
    assert sorted(asked) == ["break", "effects"]
    assert all(set(slope_notes(fits.prices)) <= set(notes) for notes in told)


def test_days_listed_without_an_effect_is_called_no_evidence(fits: Any) -> None:
    made = estimate(fits, DRESSER)
    assert any("no evidence that days listed go with the price" in n for n in made.notes)
    assert not any("no evidence that size" in n for n in made.notes)
    assert "Waiting does not cause the price" in str(made)
    assert "Waiting does not cause the price" in made._repr_html_()
    assert list(made.over_days.columns) == ["days_listed", "low", "mid", "high"]


def test_where_the_owners_own_idea_stands_even_above_anything_sold(fits: Any) -> None:
    plain = estimate(fits, DRESSER)
    assert plain.idea == ""
    ninth = fits.prices.distribution(DRESSER).quantile(8 / 9)
    idea = estimate(fits, Piece(**{**_fields(DRESSER), "gut_price": float(ninth)}))
    assert "1 in 9 of such pieces sells above" in idea.idea
    dream = estimate(fits, Piece(**{**_fields(DRESSER), "gut_price": 20_000.0}))
    assert "fewer than 1 in 200" in dream.idea
    assert "nothing of yours has sold for more than" in dream.idea


def test_questions_that_cannot_be_answered_are_refused_with_the_value(fits: Any) -> None:
    with pytest.raises(BadQuestion, match="level is 80"):
        estimate(fits, DRESSER, level=80)
    with pytest.raises(BadQuestion, match="days is -1"):
        estimate(fits, DRESSER, days=-1)
    with pytest.raises(BadQuestion, match="adjustment is 10"):
        estimate(fits, DRESSER, adjustment=10)
    settings = Settings(borrow=False)
    records = records_of(fits.records.flips.head(3), settings=settings)
    few = replace(fits, prices=None, settings=settings, records=records)
    with pytest.raises(TooFewSales, match="There are 3 sales"):
        estimate(few, DRESSER)


def test_the_text_fits_a_terminal_and_the_page_is_the_same_each_time(fits: Any) -> None:
    made = estimate(fits, Piece(**{**_fields(DRESSER), "gut_price": 820.0}))
    assert max(len(line) for line in str(made).splitlines()) <= 80
    assert made._repr_html_() == estimate(fits, made.piece)._repr_html_()


def test_shares_read_as_people_say_them() -> None:
    assert [one_in(s) for s in (1 / 9, 0.001, 0.5, 6 / 7)] == [
        "1 in 9", "fewer than 1 in 200", "about every second", "6 in 7",
    ]  # fmt: skip
    assert [times(v) for v in (0.8, 0.95, 0.99, 0.825)] == [
        "8 times out of 10", "19 times out of 20", "99 times out of 100", "82.5 times out of 100",
    ]  # fmt: skip


def _fields(piece: Piece) -> dict[str, Any]:
    return {name: getattr(piece, name) for name in Piece.__dataclass_fields__}


def test_the_average_piece_is_one_price_for_the_whole_shop_and_the_effects_lead_from_it_to_the_mid(
    demo_fits,
) -> None:
    flips = demo_fits.records.flips
    rows = flips[flips["status"] == "listed"].head(5)
    made = [estimate(demo_fits, piece_from_row(row)) for _, row in rows.iterrows()]
    for one in made:
        assert one.average_price == pytest.approx(made[0].average_price, rel=1e-9)
        reached = one.average_price * np.prod(1 + one.reasons["effect"] / 100)
        assert reached == pytest.approx(one.mid, rel=1e-9)
