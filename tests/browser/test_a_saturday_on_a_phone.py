"""A Saturday with a phone: two lines in inbox.txt, a sale in a form, the wall sheet printed; Sunday's listing."""

from __future__ import annotations

import re
import shutil
import subprocess
from datetime import date
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib.base.said import day_said
from fleetlib.cli import main
from fleetlib.desk.logging_lines import inbox, log_entry, understood
from fleetlib.desk.pages import save_today
from fleetlib.desk.start import start_shop
from tests.desk.test_forms import fill, inside, press, words

pytestmark = pytest.mark.browser
SATURDAY, SUNDAY = date(2026, 10, 3), date(2026, 10, 4)


def _on(folder: Path, day: date) -> fl.Shop:
    """The shop as it is on `day`, which the settings name."""
    settings = folder / "settings.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(re.sub(r"as_of = \S+", f"as_of = {day}", text), encoding="utf-8")
    return fl.open_shop(folder)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    start_shop(tmp_path / "shop", demo=True)
    return tmp_path / "shop"


def test_two_lines_and_a_form_are_on_the_wall_sheet_by_evening(
    folder: Path, browser, opened
) -> None:
    shop = _on(folder, SATURDAY)
    listed = shop.flips.loc[shop.flips["status"] == "listed", "piece"].tolist()
    at_work = shop.flips.loc[shop.flips["status"] == "in work", "piece"].iloc[0]
    sold, asked = listed[0], listed[1]
    # In the workshop, typed on the phone.
    (folder / "inbox.txt").write_text(
        f"worked {at_work} 90 min\noffer {asked} 20\n", encoding="utf-8"
    )
    for line in inbox(shop.records):
        assert line.entry is not None, line.why
        log_entry(shop.records, line.entry)
    shop.reread()
    assert inbox(shop.records) == [], "a line is logged once"
    # At the kitchen table, in the form.
    form = fl.sale_form(shop)
    fill(form, piece=sold, what="sold", amount="310")
    press(form, "log")
    assert words(inside(form, "m-amount")) == ""
    # The wall sheet.
    shop.reread()
    page, calendar, tags = save_today(shop.fits, folder / "wall")
    on_phone = opened(page, width=390)
    told = on_phone.inner_text("main")
    assert f"Saturday {day_said(SATURDAY)}" in told
    assert f"offer refused {asked}" in told
    assert sold not in told, "what is sold is off the wall"
    assert on_phone.evaluate("document.documentElement.scrollWidth") <= 390
    assert on_phone.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 15
    on_phone.emulate_media(media="print")
    for paper in ("A4", "Letter"):
        printed = on_phone.pdf(format=paper)
        assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    assert [u for u in on_phone.asked if not u.startswith("data:")] == [page.as_uri()]
    assert on_phone.trouble == []
    for written in (page, tags):
        assert sold not in written.read_text(encoding="utf-8")
    assert sold.encode() not in calendar.read_bytes()


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext to read the print with")
def test_the_printed_wall_sheet_can_be_read_as_text(folder: Path, opened, tmp_path: Path) -> None:
    shop = _on(folder, SATURDAY)
    page, *_ = save_today(shop.fits, tmp_path / "wall")
    sheet = opened(page)
    sheet.emulate_media(media="print")
    (tmp_path / "wall.pdf").write_bytes(sheet.pdf(format="Letter"))
    asked = ["pdftotext", "-layout", str(tmp_path / "wall.pdf"), "-"]
    said = " ".join(
        subprocess.run(asked, capture_output=True, text=True, check=True).stdout.split()
    )
    assert day_said(SATURDAY) in said
    for name in shop.today().cards["piece"]:
        assert name in said


def test_from_a_find_on_saturday_to_its_words_on_sunday_evening(folder: Path, capsys) -> None:
    shop = _on(folder, SATURDAY)
    # A find: what to pay at most, said before it is bought.
    find = fl.Piece(furniture_type="nightstand", wood="oak", width_in=20, depth_in=16, height_in=26)
    most = shop.what_to_pay(find).highest_price
    assert most > 0
    paid = int(most)

    def typed(line: str, day: date) -> None:
        log_entry(shop.records, understood(shop.records, line, today=day))
        shop.reread()

    typed(
        f"bought F-1 for {paid} furniture_type=nightstand wood=oak width_in=20 depth_in=16 height_in=26",
        SATURDAY,
    )
    typed("worked F-1 150 min sand", SATURDAY)
    shop = _on(folder, SUNDAY)
    typed("worked F-1 60 min finish", SUNDAY)
    advice = shop.advise("F-1")
    ask = int(advice.plan.table["asking_price"].iloc[0])
    lowest = int(advice.plan.table["lowest_offer"].iloc[0])
    typed(f"listed F-1 at {ask} finish=oil gut_price={ask}", SUNDAY)
    row = shop.flips[shop.flips["piece"] == "F-1"].iloc[0]
    assert (row["status"], row["asking_price"], row["buy_price"]) == ("listed", ask, paid)
    assert row["hours"] == pytest.approx(3.5)
    # Sunday evening: the words to paste.
    assert main(["listing", "F-1", "--in", str(folder), "--repaired", "a loose top glued"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("A listing to paste: F-1\n\nOak nightstand, oil finish\n")
    assert f"${ask:,}" in said
    assert "20 in wide, 16 in deep, 26 in high" in said
    assert "Done to it: a loose top glued." in said
    for own in (f"${paid}", f"${lowest}", "lowest offer", "gut price", "floor"):
        assert own not in said
    assert set(shop.today().cards["piece"]) >= {"F-1"}
