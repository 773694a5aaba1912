"""Days by the calendar, the room and its places: by hand, against lifelines, and the order of work they change."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from lifelines import KaplanMeierFitter

from fleetlib.base.errors import BadQuestion
from fleetlib.base.settings import Settings
from fleetlib.desk.pictures import picture
from fleetlib.fits import Fits
from fleetlib.pay import work_order
from fleetlib.pay.days_and_space import days_and_space
from fleetlib.pay.ratio import fieller
from fleetlib.pay.stages import drying, hours_a_week, stage_days, waiting_days
from fleetlib.pay.work_order import what_next
from tests.histories import AS_OF
from tests.invented_flips import KnownHours, KnownSelling, fits_of, piece


def event(on: str, name: str, what: str, note: str = "", amount: float = 1.0) -> dict[str, object]:
    return {"on": pd.Timestamp(on), "piece": name, "event": what, "amount": amount, "note": note}


def bought(day: str, profit: float, hours: float | None, **more: object) -> dict[str, object]:
    return piece("desk", profit, hours, bought_on=day, **more)


def test_each_stage_by_hand() -> None:
    rows = [bought(f"2026-05-{d:02}", 100, 5, piece=f"B-{d}") for d in (2, 12, 22)]
    events = [event("2026-05-27", f"B-{d}", "finished") for d in (2, 12, 22)]
    stages = {s.stage: s for s in stage_days(fits_of(rows, events=events))}
    # finished 27 May: 25, 15 and 5 days after; listed 1 June: 5 days later; sold 15 June: 14 days later
    assert [(s.low, s.mid, s.high) for s in [stages["bought to ready"]]] == [(5, 15, 25)]
    assert (stages["ready to listed"].low, stages["ready to listed"].high) == (5, 5)
    assert (stages["bought to listed"].low, stages["bought to listed"].high) == (10, 30)
    assert (stages["listed to sold"].mid, stages["bought to gone"].mid) == (14, 34)
    assert all(s.pieces == s.over == 3 for s in stages.values())


def test_pieces_still_there_count_for_their_days() -> None:
    days = ("2026-05-22", "2026-05-12", "2026-05-02", "2026-04-22")
    done = [bought(day, 100, 5) for day in days]
    waiting = {"furniture_type": "desk", "buy_price": 20.0, "bought_on": "2026-07-02"}  # 90 days
    stage = stage_days(fits_of([*done, *[waiting] * 3]))[2]
    assert (stage.pieces, stage.over) == (7, 4)
    assert (stage.low, stage.mid) == (10, 40)  # after 40 days 4 of 7 are listed
    assert np.isnan(stage.high)  # nine of ten never were on record
    lengths, over = [10, 20, 30, 40, 90, 90, 90], [1, 1, 1, 1, 0, 0, 0]
    outside = KaplanMeierFitter().fit(lengths, over)
    left = outside.survival_function_["KM_estimate"]
    assert (left.index[left <= 0.9][0], left.index[left <= 0.5][0]) == (stage.low, stage.mid)


def test_under_three_pieces_nothing_is_said() -> None:
    made = days_and_space(fits_of([bought("2026-05-22", 100, 5)], selling=KnownSelling()))
    assert made.stages["mid"].isna().all()
    assert "too few to say" in str(made)
    assert made.table["says"].tolist() == ["too few to say"]


def test_waiting_is_the_days_without_work_between_finishing_and_finished() -> None:
    rows = [bought("2026-05-02", 100, 5, piece="B-1", finish="oil")]
    events = [
        event("2026-05-08", "B-1", "hours", "sand"),
        event("2026-05-10", "B-1", "hours", "finish"),
        event("2026-05-13", "B-1", "hours", "finish second coat"),
        event("2026-05-17", "B-1", "finished"),
    ]
    # between the 10th and the 17th lie six days; on the 13th there was work
    assert waiting_days(fits_of(rows, events=events))["days"].tolist() == [5]


def test_drying_is_as_logged_from_three_pieces_on_else_the_owners_figure() -> None:
    rows, events = [], []
    for k in range(3):
        rows.append(bought("2026-05-02", 100, 5, piece=f"B-{k}", finish="oil"))
        events += [event("2026-05-10", f"B-{k}", "hours", "finish")]
        events += [event(f"2026-05-{15 + k}", f"B-{k}", "finished")]
    own = Settings(as_of=AS_OF, drying_days={"oil": 30.0, "wax": 2.0})
    known = drying(fits_of(rows, events=events, settings=own))
    assert (known.days("oil"), known.whose("oil")) == (5, "3 logged")
    assert (known.days("wax"), known.whose("wax")) == (2, "your figure")
    assert np.isnan(known.days("shellac"))
    few = drying(fits_of(rows[:2], events=events[:4], settings=own))
    assert (few.days("oil"), few.whose("oil")) == (30, "your figure")


def test_profit_per_place_and_week_by_hand() -> None:
    rows = [bought("2026-06-01", 100, 5), bought("2026-05-18", 50, 5), bought("2026-05-04", 30, 2)]
    made = days_and_space(fits_of(rows, selling=KnownSelling()))
    line = made.table.iloc[0]
    weeks = np.array([2.0, 4.0, 6.0])
    assert line["place_weeks"] == 12
    assert line["per_place_week"] == pytest.approx(180 / 12)
    assert line["per_hour"] == pytest.approx(180 / 12)
    ends = fieller(np.array([100.0, 50.0, 30.0]), weeks, level=0.80)
    assert (line["low"], line["high"]) == (ends.low, ends.high)
    assert "$15.00" in str(made)


def test_groups_of_place_weeks_add_up_to_the_shop() -> None:
    rows = [
        bought(f"2026-0{m}-03", 10.0 * m, 4.0, finish=f)
        for m in (2, 3, 4, 5)
        for f in ("oil", "wax")
    ]
    fits = fits_of(rows, selling=KnownSelling())
    parts, whole = days_and_space(fits, by="finish").table, days_and_space(fits, by=()).table
    for column in ("pieces", "place_weeks", "profit"):
        assert parts[column].sum() == pytest.approx(whole[column].iloc[0])


def test_a_question_that_does_not_group_is_refused() -> None:
    with pytest.raises(BadQuestion, match='cannot be grouped by "colour"'):
        days_and_space(fits_of([bought("2026-05-02", 1, 1)]), by="colour")


def test_hours_a_week_are_those_of_the_last_year() -> None:
    rows = [
        bought("2024-01-02", 100, 900, listed_on="2024-02-01", sold_on="2024-03-01"),
        bought("2026-05-02", 100, 300),
        {"furniture_type": "desk", "bought_on": "2026-09-01", "hours": 65.0},
    ]
    assert hours_a_week(fits_of(rows)) == pytest.approx(365 / (365 / 7))
    assert np.isnan(hours_a_week(fits_of([bought("2026-05-02", 1, None)])))


class _Path:
    """A plan whose expected net and weeks are told."""

    def __init__(self, net: float, weeks: float) -> None:
        self.expected_net, self.expected_weeks = net, weeks


def _two_pieces(monkeypatch: pytest.MonkeyPatch, *, places: int, drying_days: float = 0.0) -> Fits:
    """A slow dear piece and a quick cheap one, whose plans are told: nets 500 in 20 weeks and 300 in 3."""
    told = {"slow": _Path(500.0, 20.0), "quick": _Path(300.0, 3.0)}
    rows = [bought("2025-10-01", 100, 521.0)] + [
        {"piece": n, "furniture_type": "desk", "finish": f, "buy_price": 50.0, "hours": 2.0}
        for n, f in (("slow", "oil"), ("quick", "wax"))
    ]
    monkeypatch.setattr(
        work_order,
        "planned",
        lambda fits, piece: (SimpleNamespace(salvage=100.0, holding=0.0), told[piece.piece]),
    )
    settings = Settings(as_of=AS_OF, places=places, drying_days={"wax": drying_days})
    return fits_of(rows, settings=settings, hours=KnownHours(6.0, log_sd=1e-9))


def test_with_room_to_spare_the_hours_set_the_order(monkeypatch: pytest.MonkeyPatch) -> None:
    made = what_next(_two_pieces(monkeypatch, places=3))
    # 6 hours in all, 2 spent: (500 - 100) / 4 = 100 an hour against (300 - 100) / 4 = 50
    assert made.table["piece"].tolist() == ["slow", "quick"]
    assert made.table["per_hour"].tolist() == pytest.approx([100, 50])
    assert not made.full and "a place-week" not in str(made)


def test_in_a_full_room_the_places_set_the_order(monkeypatch: pytest.MonkeyPatch) -> None:
    made = what_next(_two_pieces(monkeypatch, places=2))
    # 364 days on record with 525 hours: 10.096 a week, so 4 hours take 0.396 weeks
    weeks = 4 / (525 / 52) + np.array([3, 20])
    assert made.full and made.table["piece"].tolist() == ["quick", "slow"]
    assert made.table["days_left"].tolist() == pytest.approx(7 * weeks)
    assert made.table["per_place_week"].tolist() == pytest.approx(np.array([200, 400]) / weeks)
    assert "All 2 places are taken" in str(made)
    assert max(len(line) for line in str(made).splitlines()) <= 80
    assert "room is full" in picture(made).alt


def test_drying_can_turn_the_order_of_a_full_room(monkeypatch: pytest.MonkeyPatch) -> None:
    slow_to_dry = what_next(_two_pieces(monkeypatch, places=2, drying_days=70))
    # 200 over 3.4 + 10 weeks is 15 a week; 400 over 20.4 is 20
    assert slow_to_dry.table["piece"].tolist() == ["slow", "quick"]
    assert any("how long oil dries is not known" in n for n in slow_to_dry.notes)


def test_the_room_is_said() -> None:
    rows = [bought("2026-05-02", 100, 5), {"furniture_type": "desk", "bought_on": "2026-09-01"}]
    free = days_and_space(fits_of(rows, settings=Settings(as_of=AS_OF, places=3)))
    assert free.room() == "Your room holds 1 piece and has 3 places: 2 free."
    full = replace(free, on_hand=3)
    assert full.full and "places come before hours" in full.room()
    unset = days_and_space(fits_of(rows))
    assert not unset.full and "is not set (places in settings.toml)" in unset.room()


def test_text_and_html_say_the_same_and_fit() -> None:
    rows = [bought(f"2026-0{m}-03", 10.0 * m, 4.0, finish="oil") for m in (2, 3, 4, 5)]
    made = days_and_space(fits_of(rows, selling=KnownSelling()), by="finish")
    assert max(len(line) for line in str(made).splitlines()) <= 80
    for said in ("bought to listed", "place-weeks", "oil"):
        assert said in str(made) and said in made._repr_html_()
