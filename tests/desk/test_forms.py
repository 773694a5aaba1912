"""The forms, driven without a browser: what each button reads, refuses, shows and writes."""

from __future__ import annotations

import asyncio
import base64
import html
import re
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date

import pytest

import fleetlib as fl
from fleetlib.base.errors import BadQuestion
from fleetlib.base.kit import SHOP_FOLDER, demo_folder
from fleetlib.base.money import format_money
from fleetlib.base.saving import LOCK
from fleetlib.desk.forms import clicks, fields
from fleetlib.desk.start import start_shop
from fleetlib.records.log.grammar import read_entry


@pytest.fixture
def shop(tmp_path):
    start_shop(tmp_path / "shop", demo=True)
    return fl.open_shop(tmp_path / "shop")


def inside(box, name: str):
    """The one widget of the form that carries the class `name`."""
    found = []

    def walk(widget) -> None:
        if name in getattr(widget, "_dom_classes", ()):
            found.append(widget)
        for child in getattr(widget, "children", ()):
            walk(child)

    walk(box)
    assert len(found) == 1, f"{name}: {len(found)}"
    return found[0]


def press(box, name: str) -> None:
    inside(box, f"b-{name}").click()


def words(widget) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", widget.value))


def fill(box, **values) -> None:
    for key, value in values.items():
        inside(box, f"f-{key}").value = value


def first(form) -> str:
    """Choose the first piece of the form's list."""
    name = inside(form, "f-piece").options[1][1]
    fill(form, piece=name)
    return name


def files(folder) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_the_price_form_asks_for_your_own_price_first(shop) -> None:
    form = fl.price_form(shop)
    fill(form, type="sideboard", wood="oak")
    press(form, "price")
    assert "before you look" in words(inside(form, "m-gut"))
    assert "low" not in words(inside(form, "a-answer"))
    fill(form, gut="$450")
    press(form, "price")
    assert words(inside(form, "m-gut")) == ""
    answer = inside(form, "a-answer").value
    assert "8 times out of 10" in answer
    shown = re.sub(r"<style>.*?</style>", "", answer, flags=re.S)
    assert re.sub(r"<[^>]+>", " ", shown).index("Ask $") < 120
    before = words(inside(form, "a-tryask"))
    began = time.monotonic()
    press(form, "more")
    assert time.monotonic() - began < 0.5
    chances = [
        [int(n) for n in re.findall(r"(\d+)%", said)]
        for said in (before, words(inside(form, "a-tryask")))
    ]
    assert len(chances[0]) == 3
    assert chances[0] == sorted(chances[0])
    assert all(dearer <= first for first, dearer in zip(*chances, strict=True))
    assert re.search(r'<img alt="[^"]{40,}" src="data:image/png', answer)


def test_the_pieces_last_used_are_one_press_away_the_latest_first(shop) -> None:
    form = fl.price_form(shop)
    names = [inside(form, f"b-last{i}").description for i in range(4)]
    log = shop.records.logged.sort_values(["on", "line"])
    hand = shop.flips.loc[shop.flips["status"].isin(["listed", "in work"]), "piece"]
    used = log.loc[log["piece"].isin(hand), "piece"].drop_duplicates(keep="last").tolist()[::-1]
    assert len(set(names)) == 4
    assert [n for n in names if n in used] == [n for n in used if n in names]
    press(form, "last1")
    assert inside(form, "f-onhand").value == names[1]
    assert inside(form, "f-type").value == shop.piece(names[1]).furniture_type


@pytest.mark.slow
def test_pricing_writes_nothing_and_saving_writes_page_tag_calendar_and_log(shop) -> None:
    before = files(shop.records.folder)
    form = fl.price_form(shop)
    press(form, "save")
    assert "Price the piece first" in words(inside(form, "a-saved"))
    fill(
        form,
        type="sideboard",
        wood="oak",
        noidea=True,
        width="60",
        depth="18 1/2",
        height="2' 10\"",
    )
    press(form, "price")
    press(form, "save")
    assert "name first" in words(inside(form, "m-piece"))
    fill(form, piece="new find")
    press(form, "price")
    links = re.findall(
        r'download="([^"]+)" href="data:([^;]+);.*?base64,([^"]+)"', inside(form, "a-links").value
    )
    assert files(shop.records.folder) == before
    press(form, "save")
    after = files(shop.records.folder)
    assert [kind for _, kind, _ in links] == ["text/html", "text/html", "text/calendar"]
    for name, _, held in links:  # what the link carries is what is saved, to the byte
        assert base64.b64decode(held) == after[f"advice/{name}"]
    assert {n for n in before if after[n] != before[n]} <= {"advice_log.csv"}
    assert {n.rsplit(".")[-1] for n in after.keys() - before.keys()} >= {"html", "ics"}
    assert b"new find" in after["advice_log.csv"]


def test_a_piece_on_record_fills_the_form_in(shop) -> None:
    form = fl.price_form(shop)
    name = shop.flips.loc[shop.flips["status"] == "listed", "piece"].iloc[0]
    piece = shop.piece(name)
    fill(form, onhand=name)
    assert inside(form, "f-type").value == piece.furniture_type
    assert float(inside(form, "f-height").value) == piece.height_in


def test_a_list_goes_on_showing_its_empty_choice(shop) -> None:
    form = fl.price_form(shop)
    name = shop.flips.loc[shop.flips["status"] == "listed", "piece"].iloc[0]
    for key, empty in {"wood": "(not known)", "onhand": "(a new piece)"}.items():
        control = inside(form, f"f-{key}")
        assert control.label == empty  # with None behind it, a list showed nothing at all
        control.value = name if key == "onhand" else "oak"
        control.index = 0
        assert control.label == empty
    fill(form, type="sideboard", noidea=True, gut="")
    press(form, "price")
    assert "<img" in inside(form, "a-answer").value


@pytest.mark.parametrize(
    ("field", "typed"),
    [("height", "tall"), ("buy", "45/60"), ("hours", "all day"), ("gut", "120-140")],
)
def test_what_cannot_be_read_is_answered_beside_its_field(shop, field, typed) -> None:
    form = fl.price_form(shop)
    fill(form, **{"type": "sideboard", "gut": "450", field: typed})
    press(form, "price")
    said = words(inside(form, f"m-{field}"))
    assert typed in said
    assert "Write it like this" in said
    assert "img" not in inside(form, "a-answer").value


def test_work_is_logged_in_minutes_and_can_be_undone(shop) -> None:
    form = fl.work_form(shop)
    name = first(form)
    before = files(shop.records.folder)
    worked = shop.piece(name).hours or 0.0
    press(form, "m90")
    fill(form, step="sand", materials="$12.50")
    press(form, "log")
    assert "90 minutes" in words(inside(form, "a-saved"))
    assert shop.piece(name).hours == pytest.approx(worked + 1.5)
    after = files(shop.records.folder)
    assert {n for n in after if after[n] != before.get(n)} - {LOCK} == {"events.csv"}
    assert after["events.csv"].startswith(before["events.csv"])
    press(form, "undo")
    press(form, "undo")
    assert (shop.piece(name).hours or 0.0) == pytest.approx(worked)
    assert files(shop.records.folder)["events.csv"].startswith(after["events.csv"])


def test_an_empty_work_entry_is_refused_and_writes_nothing(shop) -> None:
    form = fl.work_form(shop)
    before = files(shop.records.folder)
    press(form, "log")
    assert "minutes" in words(inside(form, "m-minutes"))
    assert files(shop.records.folder) == before


def test_a_sale_is_logged_and_the_piece_leaves_the_list(shop) -> None:
    form = fl.sale_form(shop)
    name = shop.flips.loc[shop.flips["status"] == "listed", "piece"].iloc[0]
    fill(form, piece=name, what="sold")
    press(form, "log")
    assert "what the buyer paid" in words(inside(form, "m-amount"))
    fill(form, amount="310")
    press(form, "log")
    row = shop.flips[shop.flips["piece"] == name].iloc[0]
    assert (row["status"], row["sale_price"]) == ("sold", 310)
    assert name not in {meant for _, meant in inside(form, "f-piece").options}
    press(form, "undo")
    assert shop.flips.loc[shop.flips["piece"] == name, "status"].iloc[0] == "listed"
    assert name in {meant for _, meant in inside(form, "f-piece").options}


def test_an_offer_is_answered_with_the_plan(shop) -> None:
    form = fl.sale_form(shop)
    fill(form, piece=first(form), what="offer", amount="20")
    press(form, "log")
    assert "$20" in words(inside(form, "a-answer"))


def test_while_an_answer_is_worked_out_no_earlier_sentence_stands(shop) -> None:
    form = fl.find_form(shop)
    press(form, "weigh")
    said: list[str] = []
    inside(form, "a-answer").observe(lambda change: said.append(change.new), names="value")
    fill(form, type="dresser")
    press(form, "weigh")
    assert said[0] == ""
    assert "Working it out" in said[1]
    assert "<img" in said[2]


def test_a_pair_is_weighed_up_as_a_pair(shop) -> None:
    form = fl.find_form(shop)
    fill(form, type="nightstand", wood="oak", finish="oil", asked="40")
    press(form, "weigh")
    one = words(inside(form, "a-answer"))
    fill(form, lot=2)
    press(form, "weigh")
    pair = words(inside(form, "a-answer"))

    asked = fl.Piece(furniture_type="nightstand", wood="oak", finish="oil", buy_price=40)
    known = [shop.what_to_pay(replace(asked, pieces_in_lot=n)).highest_price for n in (1, 2)]
    shown = [format_money(price, "USD") for price in known]
    assert shown[0] != shown[1]
    assert shown[0] in one
    assert shown[1] in pair


def test_a_find_is_weighed_up(shop) -> None:
    form = fl.find_form(shop)
    press(form, "weigh")
    assert "Choose what it is" in words(inside(form, "m-type"))
    fill(form, type="dresser", wood="walnut", finish="oil", asked="60")
    press(form, "weigh")
    assert "$" in words(inside(form, "a-answer"))


def test_the_demo_that_came_with_the_kit_is_never_written_to() -> None:
    shop = fl.open_shop(demo_folder())
    before = files(demo_folder())
    form = fl.work_form(shop)
    fill(form, piece=first(form), minutes="30")
    press(form, "log")
    assert "invented demo shop" in words(inside(form, "a-saved"))
    assert files(demo_folder()) == before


def test_every_control_has_a_label_of_its_own(shop) -> None:
    for make in (fl.price_form, fl.work_form, fl.sale_form, fl.find_form):
        labels = []

        def walk(widget, labels=labels) -> None:
            if any(c.startswith(("f-", "b-")) for c in getattr(widget, "_dom_classes", ())):
                labels.append(widget.description)
            for child in getattr(widget, "children", ()):
                walk(child)

        walk(make(shop))
        assert all(labels), make
        assert len(set(labels)) == len(labels), make


def test_every_mistake_is_shown_at_once_and_nothing_is_written(shop) -> None:
    form = fl.sale_form(shop)
    before = files(shop.records.folder)
    fill(form, day="some day")
    press(form, "log")
    said = [words(inside(form, f"m-{key}")).strip() for key in ("piece", "what", "amount", "day")]
    assert said[:2] == ["Choose the piece.", "Choose what happened."]
    assert said[2] == ""
    assert "some day" in said[3]
    price = fl.price_form(shop)
    fill(price, height="tall")
    press(price, "price")
    assert all(words(inside(price, f"m-{key}")).strip() for key in ("type", "height", "gut"))
    assert files(shop.records.folder) == before


def test_after_logging_the_lists_stand_on_their_empty_choice_and_the_last_piece_comes_first(
    shop,
) -> None:
    form = fl.sale_form(shop)
    name = inside(form, "f-piece").options[3][1]
    fill(form, piece=name, what="enquiry")
    press(form, "log")
    assert (inside(form, "f-piece").value, inside(form, "f-what").value) == ("", "")
    assert inside(form, "f-piece").options[1][1] == name
    assert fl.work_form(shop) and inside(fl.work_form(shop), "f-piece").options[1][1] == name


@pytest.mark.parametrize(
    ("typed", "asked"), [("9h", "more than a working day"), ("0", "nothing to log")]
)
def test_odd_minutes_are_questioned(shop, typed, asked) -> None:
    form = fl.work_form(shop)
    name, before = first(form), files(shop.records.folder)
    worked = shop.piece(name).hours or 0.0
    fill(form, minutes=typed)
    press(form, "log")
    assert asked in words(inside(form, "m-minutes"))
    assert files(shop.records.folder) == before
    press(form, "log")
    assert (shop.piece(name).hours or 0.0) == pytest.approx(worked + (9 if typed == "9h" else 0))


def test_a_day_ahead_is_questioned_and_logged_when_meant(shop) -> None:
    form = fl.work_form(shop)
    before = files(shop.records.folder)
    first(form)
    fill(form, minutes="30", day="2099-01-31")
    press(form, "log")
    assert "still ahead" in words(inside(form, "m-day"))
    assert files(shop.records.folder) == before


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("yesterday", "2026-09-29"),
        ("today", "2026-09-30"),
        ("fri", "2026-09-25"),
        ("3 days ago", "2026-09-27"),
        ("last Wednesday", "2026-09-23"),
    ],
)
def test_days_are_understood_as_they_are_said_in_a_form_as_in_a_line(typed, meant) -> None:
    today = date(2026, 9, 30)  # a Wednesday, by the calendar
    one = fields.day("day", "Day", today)
    one.control.value = typed
    assert one.read() == date.fromisoformat(meant)
    assert read_entry(f"finished A-1 {typed}", today=today).on == date.fromisoformat(meant)


def test_a_weekday_said_on_that_day_is_asked_about_in_a_form_as_in_a_line() -> None:
    one = fields.day("day", "Day", date(2026, 9, 30))
    one.control.value = "wed"
    with pytest.raises(fields.FieldError, match='write "today" or "last wednesday"'):
        one.read()
    with pytest.raises(BadQuestion, match='write "today" or "last wednesday"'):
        read_entry("finished A-1 on Wednesday", today=date(2026, 9, 30))


def test_a_decimal_comma_is_understood_in_hours_and_sizes() -> None:
    hours, width = fields.hours("h", "Hours"), fields.size("w", "Width", "in", example="60")
    hours.control.value, width.control.value = "1,5", "60,5"
    assert (hours.read(), width.read()) == (1.5, 60.5)


@pytest.mark.slow
def test_going_back_to_a_new_piece_empties_the_fields_and_an_emptied_field_counts(
    shop, monkeypatch
) -> None:
    form = fl.price_form(shop)
    listed = shop.flips[(shop.flips["status"] == "listed") & shop.flips["height_in"].notna()]
    fill(form, onhand=listed["piece"].iloc[0])
    asked = []
    real = shop.advise
    monkeypatch.setattr(shop, "advise", lambda piece: asked.append(piece) or real(piece))
    fill(form, height="", noidea=True)
    press(form, "price")
    assert asked[0].height_in is None
    assert asked[0].width_in == shop.piece(listed["piece"].iloc[0]).width_in
    fill(form, onhand="")
    assert [
        inside(form, f"f-{key}").value for key in ("type", "wood", "width", "gut", "piece")
    ] == [""] * 5


def test_a_first_ask_standing_in_is_not_shown_as_ones_own_price(shop) -> None:
    changes = shop.records.changes
    lines = changes.loc[changes["why"].str.contains("stands in"), "line"]
    on_hand = shop.flips[shop.flips["status"].eq("listed") & shop.flips["line"].isin(lines)]
    form = fl.price_form(shop)
    for name in on_hand["piece"]:
        fill(form, onhand=name)
        assert inside(form, "f-gut").value == ""
    own = shop.flips[
        shop.flips["status"].eq("listed")
        & shop.flips["gut_price"].notna()
        & ~shop.flips["line"].isin(lines)
    ]
    fill(form, onhand=own["piece"].iloc[0])
    assert inside(form, "f-gut").value != ""


def test_a_find_is_weighed_up_with_your_own_price_and_its_condition(shop, monkeypatch) -> None:
    form = fl.find_form(shop)
    asked = []
    real = shop.what_to_pay
    monkeypatch.setattr(shop, "what_to_pay", lambda piece: asked.append(piece) or real(piece))
    fill(form, type="dresser", wood="oak", gut="$500", year="1960", grade="4", construction="solid")
    press(form, "weigh")
    (piece,) = asked
    assert (piece.gut_price, piece.year_made, piece.grade, piece.construction) == (
        500,
        1960,
        4,
        "solid",
    )


def test_a_click_made_before_the_last_one_was_answered_does_nothing(monkeypatch) -> None:
    done, now = [], [100.0]
    monkeypatch.setattr(clicks, "sent_at", lambda: now[0])
    monkeypatch.setattr(clicks.time, "time", lambda: 105.0)
    button = clicks.Clicks()
    button.take(lambda: done.append("first"))
    for made in (100.2, 104.9):  # the double, and one made while the first was being answered
        now[0] = made
        button.take(lambda: done.append("too soon"))
    now[0] = 105.5
    button.take(lambda: done.append("second"))
    assert done == ["first", "second"]


@pytest.mark.slow
def test_a_second_save_of_one_pricing_logs_nothing_more(shop) -> None:
    form = fl.price_form(shop)
    fill(form, type="sideboard", piece="new find", noidea=True)
    press(form, "price")
    press(form, "save")
    log = (shop.records.folder / "advice_log.csv").read_bytes()
    press(form, "save")
    assert (shop.records.folder / "advice_log.csv").read_bytes() == log


def test_the_week_has_one_tab_a_form(shop) -> None:
    tabs = inside(fl.week_forms(shop), "fleet-tabs")
    assert list(tabs.titles)[:4] == ["Price", "Work", "Sale", "Find"]
    assert len(tabs.children) == len(tabs.titles)


def test_a_form_of_the_week_is_made_when_it_is_turned_to_and_stays(shop, monkeypatch) -> None:
    monkeypatch.setenv(SHOP_FOLDER, str(shop.records.folder))
    tabs = inside(fl.week_forms(shop), "fleet-tabs")
    assert inside(tabs.children[0], "b-price") is not None
    assert "moment" in tabs.children[2].children[0].value
    tabs.selected_index = 2
    made = tabs.children[2].children
    assert inside(made[0], "b-log") is not None
    tabs.selected_index = 0
    tabs.selected_index = 2
    assert tabs.children[2].children is made


@pytest.mark.slow
def test_the_other_forms_are_made_one_by_one_after_the_first_turn(shop, monkeypatch) -> None:
    monkeypatch.setenv(SHOP_FOLDER, str(shop.records.folder))

    async def page() -> list[list[bool]]:
        tabs = inside(fl.week_forms(shop), "fleet-tabs")
        seen = []
        for _ in range(2):
            await asyncio.sleep(0.5)
            seen.append([hasattr(room.children[0], "children") for room in tabs.children])
        tabs.selected_index = 3
        for _ in range(600):
            await asyncio.sleep(0.1)
            seen.append([hasattr(room.children[0], "children") for room in tabs.children])
            if all(seen[-1]):
                break
        return seen

    with ThreadPoolExecutor(
        1
    ) as aside:  # a browser test before it may have left a loop in this thread
        seen = aside.submit(asyncio.run, page()).result()
    assert seen[0] == seen[1] == [True] + [False] * 6
    assert seen[2][3]
    assert all(seen[-1])
