"""The plan and the range never contradict each other: an ask outside the range it stands beside says why."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleetlib.base.money import format_money
from fleetlib.fits import Fits
from fleetlib.records.piece import Piece
from fleetlib.week.advice import advise

HANDS = ("dresser", "nightstand")


@pytest.mark.parametrize("times", [0.0, 0.4, 1.0, 3.0])
def test_an_ask_outside_the_range_always_carries_its_reason(demo_fits: Fits, times: float) -> None:
    outside = 0
    for kind in HANDS:
        piece = Piece(furniture_type=kind, wood="oak", width_in=44, depth_in=19, height_in=36)
        if times:
            usual = float(demo_fits.prices.usual([piece])[0]) if demo_fits.prices else 0.0
            piece = replace(piece, gut_price=round(times * usual))
        made = advise(demo_fits, piece)
        assert made.estimate is not None
        ask = float(made.plan.table["asking_price"].iloc[0])
        low, high = made.estimate.low, made.estimate.high
        said = [n for n in (made.outside, *made.notes) if " the range" in n and "ask of" in n]
        assert len(said) == (not low <= ask <= high)
        if said:
            outside += 1
            # The range named is the one shown: with an own price, the one counting it.
            shown = [format_money(v, made.currency) for v in (low, high, ask)]
            assert all(v in said[0] for v in shown)
            assert ("above" in said[0]) == (ask > high)
            assert "A plan never puts a price up" not in said[0]  # that is said of a listed piece
        if made.estimate.idea:
            assert (made.estimate.low, made.estimate.high) != (
                made.estimate.alone.low,
                made.estimate.alone.high,
            )
    assert (
        outside or times != 1.0
    )  # asks that leave room for a better buyer stand above their range
