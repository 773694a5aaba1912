"""A saved plan is kept while nothing better by more than the doubt is found; a change says by how much and why."""

import json
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from fleetlib.plan.markdowns import plan
from fleetlib.plan.saved import last_saved
from tests.plan.plan_shop import AS_OF, DRESSER, SHOP, KnownPace, shop

NEVER_SURE = KnownPace(draws=np.linspace(-6, 6, 12))


def saved(made, on=AS_OF, name="A-1"):
    """The advice log with one plan in it, as it is saved."""
    rows = made.table
    ends = [*rows["from_date"].iloc[1:], pd.Timestamp(made.ends_on)]
    steps = [
        {
            "from_date": f"{d:%Y-%m-%d}",
            "asking_price": a,
            "chance_sold": c,
            "by_date": f"{e:%Y-%m-%d}",
        }
        for d, a, c, e in zip(
            rows["from_date"], rows["asking_price"], rows["chance_sold"], ends, strict=True
        )
    ]
    return pd.DataFrame({"date": [pd.Timestamp(on)], "piece": [name], "plan": [json.dumps(steps)]})


def quick(*args, **more):
    return plan(*args, alternatives=False, **more)


FIRST = quick(shop(), DRESSER)


@pytest.mark.parametrize("level", [-1.9, -1.5])
def test_a_saved_plan_is_kept_where_a_new_one_gains_less_than_the_doubt(level):
    fits = shop(pace=replace(NEVER_SURE, level=level), advice_log=saved(FIRST))
    anew = quick(shop(pace=replace(NEVER_SURE, level=level)), DRESSER)
    made = quick(fits, DRESSER)
    assert anew.table["asking_price"].tolist() != FIRST.table["asking_price"].tolist()
    assert made.table["asking_price"].tolist() == FIRST.table["asking_price"].tolist()
    assert made.table["from_date"].tolist() == FIRST.table["from_date"].tolist()
    assert made.notes[0].startswith("This is the plan saved on 30 Sep 2026, kept")
    # the plan made anew gave up to half its doubt for the habit
    assert made.expected_net <= 1.02 * anew.expected_net


def test_a_saved_plan_changes_for_more_than_the_doubt_and_says_why():
    pace = KnownPace(level=0.0, draws=np.linspace(-0.1, 0.1, 12))
    flips = pd.DataFrame(
        {
            "piece": ["S-1"],
            "status": ["sold"],
            "sold_on": [pd.Timestamp("2026-10-02")],
            "withdrawn_on": [pd.NaT],
        }
    )
    listed = replace(DRESSER, listed_on=AS_OF, asking_price=FIRST.table["asking_price"].iloc[0])
    events = [("2026-10-05", "A-1", "offer", 300)]
    fits = shop(pace=replace(pace, level=-4.5), advice_log=saved(FIRST), events=events, flips=flips)
    made = quick(fits, listed, as_of=date(2026, 10, 7))
    said = made.notes[1]  # after the answer to the offer
    assert said.startswith(
        f"Changed from the plan saved on 30 Sep 2026 (${listed.asking_price:.0f} now)"
    )
    assert "What is new: an offer of $300, 1 sale since." in said
    assert made.table["asking_price"].tolist() != FIRST.table["asking_price"].tolist()


def test_with_no_news_the_saved_plan_is_today_s_and_nothing_is_said():
    made = quick(shop(advice_log=saved(FIRST)), DRESSER)
    assert made.table.equals(FIRST.table)
    assert not any("saved on" in n for n in made.notes)


def test_a_plan_saved_in_work_runs_from_the_day_of_listing():
    on = AS_OF - timedelta(days=14)
    before = quick(shop(), DRESSER, as_of=on)
    listed = replace(DRESSER, listed_on=AS_OF, asking_price=before.table["asking_price"].iloc[0])
    fits = shop(pace=NEVER_SURE, advice_log=saved(before, on=on))
    in_work = quick(fits, DRESSER)
    made = quick(fits, listed, as_of=AS_OF + timedelta(days=1))
    assert in_work.table["asking_price"].tolist() == made.table["asking_price"].tolist()
    assert in_work.table["from_date"].tolist()[1:] == made.table["from_date"].tolist()[1:]
    later = (in_work.table["from_date"] - before.table["from_date"]).dt.days
    assert set(later) == {14}


def test_an_overdue_markdown_of_the_saved_plan_is_made_next():
    due = FIRST.table["from_date"].iloc[1].date()
    ask = FIRST.table["asking_price"].iloc[0]
    listed = replace(DRESSER, listed_on=AS_OF, asking_price=ask)
    fits = shop(pace=NEVER_SURE, advice_log=saved(FIRST))
    made = quick(fits, listed, as_of=due + timedelta(days=3))
    assert made.table["asking_price"].tolist() == FIRST.table["asking_price"].tolist()
    assert made.table["from_date"].iloc[1].date() == due + timedelta(days=7)


def test_a_plan_that_has_ended_or_cannot_be_read_is_none():
    assert last_saved(None, "A-1", AS_OF) is None
    assert last_saved(saved(FIRST), "A-1", AS_OF - timedelta(days=1)) is None
    assert last_saved(saved(FIRST), "a-1", AS_OF).asks == tuple(FIRST.table["asking_price"])
    for text in ("", "[]", "{}", '[{"from_date": "x"}]', '[{"from_date": "2026-09-30"}]'):
        assert last_saved(saved(FIRST).assign(plan=text), "A-1", AS_OF) is None
    old = replace(DRESSER, listed_on=AS_OF - timedelta(days=150), asking_price=420.0)
    ended = saved(FIRST, on=AS_OF - timedelta(days=160))
    ended["plan"] = ended["plan"].str.replace("2026-", "2025-").str.replace("2027-", "2026-")
    plain = quick(shop(settings=SHOP), old)
    assert quick(shop(advice_log=ended), old).table.equals(plain.table)
