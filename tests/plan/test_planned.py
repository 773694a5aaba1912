"""The best path of a piece and day is looked for once, whoever asks."""

from dataclasses import replace

import pytest

import fleetlib.plan.case
from fleetlib.plan.planned import planned
from fleetlib.quarter.review import review
from fleetlib.week.advice import advise_all
from fleetlib.week.today import today
from tests.plan.plan_shop import DRESSER, LISTED, shop


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """One entry for each time the solver looks for a best path."""
    found: list[object] = []
    whole = fleetlib.plan.case.plan_markdowns

    def counted(*given, **named):
        found.append(given[1])
        return whole(*given, **named)

    monkeypatch.setattr(fleetlib.plan.case, "plan_markdowns", counted)
    return found


def test_one_piece_and_day_is_planned_once(solved: list[object]) -> None:
    fits = shop()
    first = planned(fits, DRESSER)
    assert planned(fits, replace(DRESSER)) is first
    assert len(solved) == 1
    planned(fits, replace(DRESSER, gut_price=360.0))
    assert len(solved) == 2
    planned(replace(fits), DRESSER)  # other fits keep their own
    assert len(solved) == 3


def test_a_listed_piece_is_planned_anew_each_day(solved: list[object]) -> None:
    fits = shop()
    early = planned(fits, LISTED, as_of=LISTED.listed_on)
    assert early.case.as_of == LISTED.listed_on
    assert planned(fits, LISTED).case.as_of == fits.as_of


def test_all_that_is_on_hand_is_planned_once_for_every_question(demo_fits, solved) -> None:
    fits = replace(demo_fits)
    on_hand = fits.records.flips["status"].isin(["listed", "in work"])
    listed = int(fits.records.flips["status"].eq("listed").sum())
    advise_all(fits)
    once = len(solved)
    # a listed piece is also held against the plan of its listing day
    assert on_hand.sum() <= once <= on_hand.sum() + listed
    today(fits)
    review(fits)
    assert len(solved) == once
