"""The first hour: a folder that holds a record already, a file named, templates that are no rows, a blank shop."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

import fleetlib as fl
from fleetlib.base.errors import FleetError
from fleetlib.cli import main
from fleetlib.desk.start import TEMPLATES, start_shop
from fleetlib.quarter.which_quarter import quarter_to_review
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event
from fleetlib.records.log.side_files import read_events, read_supplies

AS_OF = date(2026, 9, 30)
ROWS = (
    "Type,Listed,Asking,Sold on,Price\ndesk,2026-03-01,200,2026-03-20,180\nhutch,2026-08-01,400,,\n"
)


def test_a_folder_that_holds_a_record_can_be_started_and_the_record_stays(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(ROWS)
    (tmp_path / "settings.toml").write_text('currency = "GBP"\n')
    names = {p.name for p in start_shop(tmp_path)}
    assert {"finds.csv", "supplies.csv", "events.csv", "1_check_your_records.ipynb"} <= names
    assert not names & {"flips.csv", "flips.xlsx", "settings.toml"}
    assert (tmp_path / "flips.csv").read_text() == ROWS and not (tmp_path / "flips.xlsx").exists()
    assert len(read_records(tmp_path, as_of=AS_OF).flips) == 2


def test_the_file_of_a_record_may_be_named_in_place_of_its_folder(tmp_path: Path) -> None:
    place = tmp_path / "my sales 2026.csv"
    place.write_text(ROWS)
    shop = fl.open_shop(place, as_of=AS_OF)
    assert len(shop.flips) == 2 and shop.records.folder == tmp_path
    append_event(
        tmp_path,
        on=AS_OF,
        piece=shop.flips["piece"][1],
        event="asking_price",
        amount=350,
        as_of=AS_OF,
    )
    shop.reread()
    assert shop.flips["last_asking_price"][1] == 350


def test_what_start_writes_beside_the_record_holds_no_row(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    start_shop(tmp_path)
    found = read_records(tmp_path, as_of=AS_OF)
    assert not len(found.flips) and not len(found.logged) and not len(found.supplies)
    assert not len(found.other_set_aside) and not found.notes[1:]
    for name in TEMPLATES:
        assert (tmp_path / name).read_text().startswith("# ")
    assert main(["buy", str(tmp_path), "--finds", str(tmp_path / "finds.csv")]) in (0, 2)
    said = "".join(capsys.readouterr())
    assert "Buy none of them" not in said and "dresser" not in said


def test_rows_under_the_templates_are_read_and_added_to(tmp_path: Path) -> None:
    start_shop(tmp_path)
    (tmp_path / "flips.csv").write_text(ROWS)
    (tmp_path / "flips.xlsx").unlink()
    with (tmp_path / "supplies.csv").open("a") as out:
        out.write("2026-09-01,sandpaper,25.40,\n")
    append_event(
        tmp_path, on=AS_OF, piece="hutch-2026-08-01-400", event="offer", amount=300, as_of=AS_OF
    )
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.supplies["cost"].tolist() == [25.4] and found.logged["amount"].tolist() == [300]
    assert (tmp_path / "events.csv").read_text().startswith(TEMPLATES["events.csv"])
    for read in (read_events, read_supplies):
        name = "events.csv" if read is read_events else "supplies.csv"
        assert not len(read(tmp_path / name, settings=found.settings, as_of=AS_OF).set_aside)


def test_a_blank_shop_is_told_what_to_do_first(tmp_path: Path) -> None:
    start_shop(tmp_path)
    said = str(fl.open_shop(tmp_path, as_of=AS_OF).advise_all())
    assert said.startswith(
        "Nothing is on record yet. Put your spreadsheet into the folder as flips.csv"
    )


def test_a_review_without_a_quarter_takes_the_last_one_with_a_sale() -> None:
    days = pd.DataFrame({"sold_on": pd.to_datetime(["2026-02-03", "2026-05-09", None])})
    assert str(quarter_to_review(days, AS_OF)) == "2026-Q2"
    assert str(quarter_to_review(days, date(2026, 4, 30))) == "2026-Q1"
    assert str(quarter_to_review(days.iloc[2:], AS_OF)) == "2026-Q3"
    only_now = pd.DataFrame({"sold_on": pd.to_datetime(["2026-09-20"])})
    assert str(quarter_to_review(only_now, date(2026, 9, 28))) == "2026-Q3"


def test_a_file_wholly_in_one_other_sign_takes_its_currency_and_says_so(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("Type,Asking,Price\ndesk,£200,£180\nhutch,400,£390\n")
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.settings.currency == "GBP" and found.flips["sale_price"].tolist() == [180, 390]
    assert any('set currency = "USD" in settings.toml' in n for n in found.notes)


def test_of_two_signs_none_is_taken_and_a_shared_sign_is_asked_about(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("Type,Asking,Price\ndesk,£200,$180\n")
    assert read_records(tmp_path, as_of=AS_OF).settings.currency == "USD"
    (tmp_path / "flips.csv").write_text("Type,Asking,Price\ndesk,200 kr,180 kr\n")
    asked = read_records(tmp_path, as_of=AS_OF).to_answer[0]
    assert (asked.about, {o.meaning for o in asked.options}) == (
        "currency",
        {"SEK", "NOK", "DKK", "ISK"},
    )
    (tmp_path / "answers.csv").write_text("on,about,text,meaning\n2026-09-30,currency,kr,SEK\n")
    assert read_records(tmp_path, as_of=AS_OF).flips["sale_price"].tolist() == [180]


def test_the_settings_keep_their_currency_whatever_the_signs(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("Type,Price\ndesk,£180\n")
    (tmp_path / "settings.toml").write_text('currency = "USD"\n')
    assert read_records(tmp_path, as_of=AS_OF).settings.currency == "USD"


def test_a_place_with_nothing_at_it_is_still_refused(tmp_path: Path) -> None:
    with pytest.raises(FleetError, match="There is no folder at"):
        read_records(tmp_path / "none")
