"""With no news nothing jumps: one end date, a lowest offer that never rises, old stock down from where it stands."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from fleetlib.base.settings import settings_from
from fleetlib.plan.case import case_for
from fleetlib.plan.dates import periods, weeks_to_come_down
from fleetlib.plan.habits import deepest_cut
from fleetlib.plan.markdowns import plan
from tests.plan.plan_shop import AS_OF, LISTED, SHOP, KnownPace, events_of, shop

LISTED_ON = date(2026, 3, 4)


def held(day, *, ask=420.0, sensitivity=4.0, events=(), **own):
    fits = shop(
        settings=replace(SHOP, **own), pace=KnownPace(sensitivity=sensitivity), events=events
    )
    piece = replace(LISTED, listed_on=LISTED_ON, asking_price=ask)
    return plan(fits, piece, as_of=LISTED_ON + timedelta(days=day), alternatives=False)


@pytest.mark.parametrize(("ask", "sensitivity"), [(420.0, 4.0), (420.0, 2.0), (650.0, 4.0)])
def test_a_lowest_offer_never_rises_while_nothing_happens(ask, sensitivity):
    # Four weeks of grace that began anew each day gave $175 on day 139 and $285 on day 140.
    days = [*range(0, 130, 13), *range(134, 144), 160, 200]
    made = [held(d, ask=ask, sensitivity=sensitivity) for d in days]
    lowest = np.array([m.lowest_now for m in made])
    assert np.all(
        np.diff(lowest) <= 0.002 * lowest[0]
    )  # the search is exact to a fifth of a per cent
    assert lowest[-1] < lowest[0]
    for m in made:
        assert np.all(np.diff(m.weekly["lowest_offer"]) <= 0)
    before = {m.ends_on for m, d in zip(made, days, strict=True) if d < 140}
    after = {m.ends_on for m, d in zip(made, days, strict=True) if d >= 140}
    assert before == {LISTED_ON + timedelta(weeks=20)}
    assert len(after) == 1


def test_every_day_past_the_horizon_has_the_same_end_until_it_is_there():
    for weeks in (4, 7):
        for over in range(3 * 7 * weeks):
            as_of = LISTED_ON + timedelta(days=140 + over)
            so_far = case_for(shop(), replace(LISTED, listed_on=LISTED_ON), as_of).so_far
            edges, dates, past = periods(as_of, so_far, SHOP, last_weeks=weeks)
            assert past
            assert (edges[-1] - 140) % (7 * weeks) == 0
            assert 0 < (dates[-1] - as_of).days <= 7 * weeks


def test_weeks_to_come_down_are_counted_from_the_ask_at_the_horizon():
    so_far = case_for(
        shop(), replace(LISTED, listed_on=LISTED_ON, asking_price=420.0), AS_OF
    ).so_far
    # 420 x .85^n <= 113: n = 9 (420 x .85^8 = 114.4), two weeks apart
    assert weeks_to_come_down(so_far, SHOP, floor=113.0, deepest_cut=0.15) == 18
    assert weeks_to_come_down(so_far, SHOP, floor=1.0, deepest_cut=0.15) == SHOP.horizon_weeks
    assert weeks_to_come_down(so_far, SHOP, floor=400.0, deepest_cut=0.15) == 4
    later = replace(so_far, asks=(420.0, 120.0), since=(0, 150))
    assert weeks_to_come_down(later, SHOP, floor=113.0, deepest_cut=0.15) == 18


def test_the_deepest_markdown_on_record():
    flips = pd.DataFrame({"piece": ["A-2", "B"], "asking_price": [400.0, 200.0]})
    rows = [
        ("2026-05-01", "a-2", "asking_price", 360),  # 10 %
        ("2026-06-01", "A-2", "asking_price", 288),  # 20 %
        ("2026-06-01", "B", "asking_price", 20),  # 90 %: repriced, or a slip of the hand
        ("2026-06-09", "B", "offer", 10),
    ]
    assert deepest_cut(flips, events_of(*rows)) == pytest.approx(0.2)
    assert deepest_cut(flips, events_of(*rows[:1])) == pytest.approx(0.1)
    assert deepest_cut(flips, events_of()) == 0.15
    assert deepest_cut(None, None) == 0.15


def test_old_stock_comes_down_no_deeper_than_ever_unless_that_is_worth_more_than_the_doubt():
    piece = replace(LISTED, listed_on=LISTED_ON, asking_price=420.0)
    sure = case_for(shop(), piece, LISTED_ON + timedelta(days=147))
    unsure = replace(
        sure,
        draws=tuple(replace(sure.hazard, sensitivity=b, baseline=-b / 2) for b in (1.0, 3.0, 9.0)),
    )
    free = replace(sure, deepest_cut=0.5).best_path()
    steps = {case: case.best_path().prices for case in (sure, unsure)}
    first = {case: path[path < 420.0][0] for case, path in steps.items()}
    assert first[unsure] >= 420.0 * 0.85
    assert first[sure] == free.prices[free.prices < 420.0][0] < 420.0 * 0.85
    deeper = replace(unsure, deepest_cut=0.5).best_path()
    gain, doubt = unsure.gain_and_doubt(deeper, unsure.best_path())
    assert deeper.prices[deeper.prices < 420.0][0] < 420.0 * 0.85
    assert 0 < gain <= doubt
    gain, doubt = sure.gain_and_doubt(free, unsure.best_path())
    assert gain > doubt > 0
    assert sure.gain_and_doubt(free, free) == (0.0, 0.0)


def test_what_nobody_chose_is_said_to_be_the_kits():
    def said(**chosen):
        own = settings_from({"price_step": 10, **chosen})
        old = replace(LISTED, listed_on=LISTED_ON)
        made = plan(shop(settings=own), old, as_of=LISTED_ON + timedelta(days=150))
        return " ".join(made.notes)

    assert "past the kit's (you chose none) 20 weeks" in said()
    assert "(35% of its usual price, the kit's figure" in said()
    assert "past your own 20 weeks" in said(horizon_weeks=20)
    assert "the kit's figure" not in said(horizon_weeks=20, salvage_share=0.35)


def test_an_offer_past_the_weeks_is_within_the_terms_and_the_owners_to_decide():
    made = held(150)
    answer = plan(
        shop(),
        replace(LISTED, listed_on=LISTED_ON),
        as_of=LISTED_ON + timedelta(days=150),
        offer=made.lowest_now + 20,
    ).offer
    assert answer.take and answer.brings < answer.waiting_brings
    assert "by your own terms it may go" in str(answer) and "Yours to decide" in str(answer)
