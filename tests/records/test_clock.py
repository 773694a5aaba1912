"""A clock years behind the records is asked about; a day in a wrong year is a slip of the pen."""

from datetime import date
from pathlib import Path

import pytest

from fleetlib.base.errors import BadRecords
from fleetlib.records import folder as folders
from fleetlib.records.folder import read_records

HEAD = "piece,type,bought on,listed on,sold on,sale price\n"


def shop(folder: Path, *rows: str, events: str = "") -> Path:
    (folder / "flips.csv").write_text(HEAD + "".join(r + "\n" for r in rows))
    if events:
        (folder / "events.csv").write_text("on,piece,event,amount,note\n" + events)
    return folder


@pytest.fixture
def clock(monkeypatch):
    def stand_at(day: date) -> None:
        class Clock(date):
            @classmethod
            def today(cls) -> date:
                return day

        monkeypatch.setattr(folders, "date", Clock)

    return stand_at


SOLD = tuple(f"A-{n},desk,2026-0{n}-01,2026-0{n}-05,2026-0{n}-20,300" for n in range(1, 7))


def test_a_clock_years_behind_is_asked_about_and_the_settings_settle_it(tmp_path, clock) -> None:
    place = shop(tmp_path, *SOLD)
    clock(date(2019, 1, 1))
    with pytest.raises(BadRecords, match=r"Is it 2019-01-01 today\?.*records go on to 2026-0"):
        read_records(place)
    (place / "settings.toml").write_text("as_of = 2019-01-01\n")
    assert read_records(place).as_of == date(2019, 1, 1)


def test_events_alone_tell_it_too(tmp_path, clock) -> None:
    place = shop(tmp_path, "A-1,desk,,,,", events="2026-03-01,A-1,listed,300,\n")
    clock(date(2015, 1, 1))
    with pytest.raises(BadRecords, match="records go on to 2026-03-01"):
        read_records(place)


def test_a_slip_of_the_pen_is_no_matter_of_the_clock(tmp_path, clock) -> None:
    place = shop(tmp_path, *SOLD, "A-9,desk,2062-01-01,,,")
    clock(date(2026, 9, 30))
    read = read_records(place)
    assert read.changes["why"].str.contains("lies after").sum() == 1


def test_a_clock_a_few_days_behind_is_not_asked_about(tmp_path, clock) -> None:
    place = shop(tmp_path, *SOLD)
    clock(date(2026, 6, 3))
    assert len(read_records(place).flips) == 6
