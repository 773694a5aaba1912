"""The plan and the range never contradict each other: an ask outside the range it stands beside says why."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

import fleetlib as fl
from fleetlib.base.money import format_money
from fleetlib.fits import Fits
from fleetlib.records.piece import Piece
from fleetlib.week.advice import advise, advise_all

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


def test_a_range_above_the_lowest_offer_of_a_piece_long_unsold_says_that_it_is(tmp_path) -> None:
    """A hutch held at $650 for eight months, among eight quick sales: the range is of those, the plan of this one."""
    sold = [
        ("dresser", 450, 410),
        ("nightstand", 180, 160),
        ("desk", 350, 325),
        ("bookcase", 200, 180),
    ] * 2
    rows = [
        f"{kind},2026-0{1 + i % 5}-03,{ask},2026-0{1 + i % 5}-24,{got}"
        for i, (kind, ask, got) in enumerate(sold)
    ]
    text = "furniture_type,listed_on,asking_price,sold_on,sale_price\n" + "\n".join(rows)
    (tmp_path / "flips.csv").write_text(text + "\nhutch,2026-01-10,650,,\nhutch,2026-09-20,650,,\n")
    shop = fl.open_shop(tmp_path, as_of=date(2026, 9, 30))
    old, fresh = (shop.advise(name) for name in shop.flips["piece"][-2:])
    said = "this one has stayed 263 days unsold"
    assert old.estimate is not None and old.plan.lowest_now < old.estimate.low
    assert said in old.short[-1] and said in old._repr_html_()
    assert not any("days unsold, which" in line for line in fresh.short)


def test_an_ask_that_reads_as_the_end_of_its_range_is_not_marked_as_out_of_it(demo_fits) -> None:
    made = advise_all(demo_fits)
    listed = made.table["status"].eq("listed")
    ask = made.table.loc[listed, "asking_price"]
    for off, marks in ((0.4, 0), (5.0, int(listed.sum()))):
        ends = made.table.assign(low=1.0, high=made.table["high"].where(~listed, ask - off))
        shown = replace(made, table=ends).shown("listed")
        assert shown["ask"].str.startswith("*").sum() == marks
