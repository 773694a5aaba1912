"""The forms for a piece's whole life, driven as a page would; the timer over a closed page."""

import os
from datetime import date, datetime

import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.books.accounts import accounts
from fleetlib.desk.forms.costs import cost_form
from fleetlib.desk.forms.life import (
    after_sale_form,
    bought_form,
    line_form,
    story_form,
    timer_form,
)
from fleetlib.desk.forms.logging import sale_form, work_form
from fleetlib.desk.forms.pricing import find_form
from fleetlib.desk.forms.regroup import regroup_form
from fleetlib.desk.start import start_shop
from fleetlib.desk.timer import running, start_timer, stop_timer
from fleetlib.shop import open_shop


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "flips.csv").write_text("piece,furniture_type,sale_price\n")
    (tmp_path / "settings.toml").write_text("as_of = 2026-06-30\n")
    return open_shop(tmp_path)


def _all(box):
    yield box
    for child in getattr(box, "children", ()):
        yield from _all(child)


def _one(box, name):
    return next(w for w in _all(box) if name in getattr(w, "_dom_classes", ()))


def _press(box, label):
    next(w for w in _all(box) if getattr(w, "description", "") == label).click()


def _fill(box, **values):
    for key, value in values.items():
        _one(box, f"f-{key}").value = value


def _bought(shop, **cells):
    form = bought_form(shop)
    _fill(form, **cells)
    _press(form, "Log it")
    return form


def test_a_piece_is_bought_by_a_form_and_a_line_sells_it(shop):
    form = _bought(
        shop, piece="A-1", furniture_type="dresser", wood="oak", buy_price="80", width_in="50"
    )
    assert shop.flips[["piece", "wood", "buy_price", "width_in"]].values.tolist() == [
        ["A-1", "oak", 80, 50]
    ]
    assert _one(form, "f-piece").value == "A-2"
    line = line_form(shop)
    _press(line, "Log it")
    assert "Read a line first" in _one(line, "a-saved").value
    _one(line, "f-line").value = "sold A-1 for 420 at the market today"
    _press(line, "Read it")
    assert shop.flips["status"].tolist() == ["in work"]
    assert "Understood: A-1: sold, $420.00" in _one(line, "a-saved").value
    _press(line, "Log it")
    assert shop.flips["sale_price"].tolist() == [420]
    told = story_form(shop)
    _fill(told, piece="A-1")
    _press(told, "Show its story")
    assert "sold" in _one(told, "a-answer").value


def test_a_whole_life_by_forms_alone_every_list_kept_up_to_date(shop):
    sale, after, work = sale_form(shop), after_sale_form(shop), work_form(shop)
    _bought(shop, piece="A-1", furniture_type="dresser", buy_price="80", day="2026-01-05")

    def log(form, **values):
        _fill(form, **values)
        _press(form, "Log it")
        assert "Logged" in _one(form, "a-saved").value

    log(work, piece="A-1", minutes="6h", step="sand", materials="12.50", day="2026-01-09")
    _fill(sale, piece="A-1", what="listed", amount="450")
    _press(sale, "Log it")
    assert "on instinct" in _one(sale, "m-own").value
    assert _one(sale, "f-channel").layout.display != "none"
    log(sale, own="430", day="2026-02-01")
    log(sale, piece="A-1", what="asking_price", amount="430", day="2026-02-20")
    log(sale, piece="A-1", what="offer", amount="380", day="2026-03-01")
    log(sale, piece="A-1", what="sold", amount="420", fees="21", channel="market", day="2026-03-20")
    log(after, piece="A-1", after="returned", day="2026-04-10")
    assert shop.flips["status"].tolist() == ["listed"]
    log(sale, piece="A-1", what="sold", amount="380", day="2026-05-02")
    log(after, piece="A-1", after="touch_up", minutes="30", day="2026-05-03")
    log(after, piece="A-1", after="refund", amount="10", note="a scratch", day="2026-05-04")
    assert shop.records.questions.empty
    row = shop.flips.iloc[0]
    assert (row["sale_price"], row["gut_price"], row["asking_price"], row["hours"]) == (
        380,
        430,
        430,
        6.5,
    )
    profits = [
        accounts(shop.records, start=first, end=last).value("profit")
        for first, last in (
            (date(2026, 1, 1), date(2026, 3, 31)),
            (date(2026, 4, 1), date(2026, 6, 30)),
        )
    ]
    # by hand: 420 - 21 - 80 - 12.50; then 380 - 420 given back - 10 refunded, its cost back and out again
    assert profits == [306.5, -50.0]


def test_a_find_becomes_a_bought_piece_with_one_press_and_the_plan_it_was_bought_on_is_kept(
    tmp_path,
):
    start_shop(tmp_path / "demo", demo=True)
    shop = open_shop(tmp_path / "demo")
    form = find_form(shop)
    _fill(form, type="dresser", wood="oak", height="34", gut="450", asked="60", hours="9")
    called = _one(form, "f-called").value
    assert called and called not in set(shop.flips["piece"])
    _press(form, "I bought it for that")
    assert "Logged" in _one(form, "a-saved").value
    row = shop.flips[shop.flips["piece"] == called].iloc[0]
    assert (row["wood"], row["height_in"], row["gut_price"], row["buy_price"]) == (
        "oak",
        34,
        450,
        60,
    )
    assert pd.isna(row["hours"])  # the hours it would take are not work done
    kept = shop.records.advice_log.iloc[-1]
    assert (kept["piece"], kept["gut_price"]) == (called, 450)
    assert kept["expected_net"] == pytest.approx(shop.plan(called).expected_net, rel=0.05)
    assert _one(form, "f-called").value not in ("", called)
    _fill(form, type="dresser", called=called)
    _press(form, "I bought it for that")
    assert "called " + called in _one(form, "m-called").value
    assert "what you paid" in _one(form, "m-asked").value


def test_a_pair_is_split_and_two_are_made_a_set_by_a_form(shop):
    for name in ("P", "C-1", "C-2"):
        _bought(shop, piece=name, furniture_type="chair", buy_price="80.01", day="2026-01-05")
    form = regroup_form(shop)
    _fill(form, piece="P", group="split", names="P a, P b", shares="60, 40", day="2026-02-01")
    _press(form, "Log it")
    assert "Logged: P: split" in _one(form, "a-saved").value
    _fill(form, piece="C-1", group="joined", names="C-2")
    _press(form, "Log it")
    assert "name of the set" in _one(form, "m-as").value
    _fill(form, **{"as": "Set"})
    _press(form, "Log it")
    rows = shop.flips.set_index("piece")["buy_price"]
    assert rows.to_dict() == {"P a": 48.01, "P b": 32.0, "Set": 160.02}


def test_costs_supplies_and_tools_are_logged_by_one_form(shop):
    _bought(shop, piece="A-1", furniture_type="chair", buy_price="80")
    form = cost_form(shop)
    for what, item, more in (
        ("cost", "hauling", {"piece": "A-1"}),
        ("supplies", "sandpaper", {"shared": "pieces"}),
        ("tool", "orbital sander", {}),
    ):
        _fill(form, spent=what, amount="25.40", item=item, **more)
        _press(form, "Log it")
        assert "$25.40" in _one(form, "a-saved").value
    assert shop.flips["other_costs"].tolist() == [25.4]
    assert shop.records.supplies[["item", "shared_by"]].values.tolist() == [
        ["sandpaper", "pieces"],
        ["orbital sander", "none"],
    ]
    _fill(form, spent="cost")
    _press(form, "Log it")
    assert all(_one(form, f"m-{key}").value for key in ("piece", "amount", "item"))


def test_a_buyer_who_backs_out_after_all_ends_the_sale_by_a_form(shop):
    _bought(shop, piece="A-1", furniture_type="chair", buy_price="80", day="2026-01-05")
    sale, after = sale_form(shop), after_sale_form(shop)
    _fill(sale, piece="A-1", what="sold", amount="300", day="2026-03-01")
    _press(sale, "Log it")
    _fill(after, piece="A-1", after="backed_out", amount="20", day="2026-03-03")
    _press(after, "Log it")
    assert shop.flips["status"].tolist() == ["in work"]
    books = accounts(shop.records, start=date(2026, 1, 1), end=date(2026, 3, 31))
    assert books.value("profit") == 20  # by hand: 300 taken, 280 given back


def test_what_a_bought_piece_is_said_to_be_is_read_or_refused_beside_its_field(shop):
    form = _bought(
        shop, piece="A-1", furniture_type="chair", buy_price="80", width_in="fifty", year_made="old"
    )
    assert "is not a size" in _one(form, "m-width_in").value
    assert "is not a year" in _one(form, "m-year_made").value
    assert not len(shop.flips)


def test_two_doubts_are_each_put_once_and_put_anew_for_the_next_entry(shop):
    _bought(shop, piece="A-1", furniture_type="chair", buy_price="80", day="2026-01-05")
    form = work_form(shop)
    for _ in range(2):
        _fill(form, piece="A-1", minutes="9h", step="sand", day="2026-02-01")
        _press(form, "Log it")
        assert "more than a working day" in _one(form, "m-minutes").value
        _press(form, "Log it")
        assert "Logged for A-1" in _one(form, "a-saved").value
    assert shop.flips["hours"].tolist() == [18]


def test_the_timer_survives_a_closed_page(shop):
    _bought(shop, piece="A-1", furniture_type="dresser", buy_price="80")
    start_timer(shop.records, "A-1", "sand", now=datetime(2026, 6, 29, 9, 0))
    again = open_shop(shop.records.folder)
    assert [(r.piece, r.step) for r in running(again.records.logged)] == [("A-1", "sand")]
    assert "A-1 (sand) since 09:00" in _one(timer_form(again), "a-saved").value
    with pytest.raises(BadQuestion, match="runs already"):
        start_timer(again.records, "A-1", "sand", now=datetime(2026, 6, 29, 9, 5))
    with pytest.raises(BadQuestion, match="no day's work"):
        stop_timer(again.records, "A-1", now=datetime(2026, 6, 30, 9, 5))
    assert stop_timer(again.records, "A-1", now=datetime(2026, 6, 29, 10, 30)) == 1.5
    again.reread()
    assert again.flips["hours"].tolist() == [1.5]
    assert again.flips["hours_sand"].tolist() == [1.5]
    assert running(again.records.logged) == []


def test_what_was_logged_is_said_when_the_folder_cannot_be_read_again(shop, tmp_path):
    _bought(shop, piece="A-1", furniture_type="dresser", buy_price="80")
    form = work_form(shop)
    _fill(form, piece="A-1", minutes="30", materials="4", day="2026-06-29")
    (tmp_path / "flips.csv").rename(tmp_path / "held.csv")
    _press(form, "Log it")
    said = _one(form, "a-saved").value
    assert "Logged for A-1: 30 minutes (clean) and $4.00." in said
    assert "do not log it again" in said
    assert "There is no flips.csv" in said
    before = (tmp_path / "events.csv").read_bytes()
    _press(form, "Log it")  # pressed again: the fields are empty, so nothing counts twice
    assert (tmp_path / "events.csv").read_bytes() == before
    (tmp_path / "held.csv").rename(tmp_path / "flips.csv")
    shop.reread()
    assert shop.records.logged["event"].tolist() == ["bought", "hours", "cost"]


def test_hours_and_materials_are_one_write(shop, tmp_path, monkeypatch):
    _bought(shop, piece="A-1", furniture_type="dresser", buy_price="80")
    before = (tmp_path / "events.csv").read_bytes()
    form = work_form(shop)
    _fill(form, piece="A-1", minutes="30", materials="4", day="2026-06-29")
    real = os.write

    def full(handle, data):
        real(handle, data[: len(data) // 2])
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", full)
        _press(form, "Log it")
    assert "No space left on device. Nothing was written." in _one(form, "a-saved").value
    assert (tmp_path / "events.csv").read_bytes() == before


def test_an_answer_that_cannot_be_given_does_not_hide_what_was_logged(shop):
    _bought(shop, piece="A-1", furniture_type="dresser", buy_price="80")
    form = sale_form(shop)
    shop.plan = lambda *_, **__: (_ for _ in ()).throw(BadQuestion("No plan today."))
    _fill(form, piece="A-1", what="listed", own="300", amount="320", day="2026-06-29")
    _press(form, "Log it")
    assert "Logged for A-1" in _one(form, "a-saved").value
    assert "No plan today." in _one(form, "a-answer").value


def test_two_windows_stop_one_timer_once_and_buy_one_name_once(shop):
    _bought(shop, piece="A-1", furniture_type="dresser", buy_price="80")
    other = open_shop(shop.records.folder)
    start_timer(shop.records, "A-1", "sand", now=datetime(2026, 6, 30, 9))
    with pytest.raises(BadQuestion, match="runs already"):
        start_timer(other.records, "A-1", "sand", now=datetime(2026, 6, 30, 9))
    stop_timer(other.records, "A-1", now=datetime(2026, 6, 30, 10))
    with pytest.raises(BadQuestion, match="No timer runs"):
        stop_timer(shop.records, "A-1", now=datetime(2026, 6, 30, 11))
    form = _bought(other, piece="A-2", furniture_type="desk", buy_price="20")
    assert "Logged" in _one(form, "a-saved").value
    form = _bought(shop, piece="A-2", furniture_type="chair", buy_price="5")
    assert "already" in _one(form, "a-saved").value
    shop.reread()
    assert shop.records.logged["event"].tolist() == ["bought", "timer_started", "hours", "bought"]
