"""The forms for a piece's whole life, driven as a page would; the timer over a closed page."""

from datetime import datetime

import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.forms.life import bought_form, line_form, story_form, timer_form
from fleetlib.desk.timer import running, start_timer, stop_timer
from fleetlib.records.piece import Piece
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


def test_a_find_becomes_a_bought_piece_and_a_line_sells_it(shop):
    form = bought_form(shop, Piece(furniture_type="dresser", wood="oak", buy_price=80, width_in=50))
    _one(form, "f-piece").value = "A-1"
    _press(form, "Log it")
    assert shop.flips[["piece", "wood", "buy_price", "width_in"]].values.tolist() == [
        ["A-1", "oak", 80, 50]
    ]
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
    _press(told, "Show its story")
    assert "sold" in _one(told, "a-answer").value


def test_the_timer_survives_a_closed_page(shop):
    form = bought_form(shop, Piece(furniture_type="dresser", buy_price=80))
    _one(form, "f-piece").value = "A-1"
    _press(form, "Log it")
    start_timer(shop.records, "A-1", "sand", now=datetime(2026, 6, 29, 9, 0))
    again = open_shop(shop.records.folder)
    assert [(r.piece, r.step) for r in running(again.records)] == [("A-1", "sand")]
    assert "A-1 (sand) since 09:00" in _one(timer_form(again), "a-saved").value
    with pytest.raises(BadQuestion, match="runs already"):
        start_timer(again.records, "A-1", "sand", now=datetime(2026, 6, 29, 9, 5))
    with pytest.raises(BadQuestion, match="no day's work"):
        stop_timer(again.records, "A-1", now=datetime(2026, 6, 30, 9, 5))
    assert stop_timer(again.records, "A-1", now=datetime(2026, 6, 29, 10, 30)) == 1.5
    again.reread()
    assert again.flips["hours"].tolist() == [1.5]
    assert again.flips["hours_sand"].tolist() == [1.5]
    assert running(again.records) == []
