"""The format number of the kit's own files: carried, read past by others, and a newer one never written into."""

from datetime import date
from pathlib import Path

import pytest

from fleetlib.base.errors import BadSettings, CannotSave
from fleetlib.cli import main
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import SavedAdvice, append_advice, append_event
from fleetlib.records.log.format_number import FORMAT, format_of, newest_format

DAY = date(2026, 3, 4)
FLIPS = "piece,furniture_type,asking_price,listed_on\nA-1,desk,300,2026-03-01\n"
NEWER = f"on,piece,event,amount,note,mood,format {FORMAT + 1}\n"


def a_folder(place: Path, **files: str) -> Path:
    (place / "flips.csv").write_text(FLIPS, encoding="utf-8")
    for name, text in files.items():
        (place / name.replace("_csv", ".csv").replace("_toml", ".toml")).write_text(
            text, encoding="utf-8"
        )
    return place


@pytest.mark.parametrize(
    ("headings", "number"),
    [
        (["on", "piece"], 1),
        (["on", "format 2"], 2),
        (["Format_7", '"format 3"'], 7),
        (["formats 9"], 1),
    ],
)
def test_the_number_is_read_from_the_headings(headings: list[str], number: int) -> None:
    assert format_of(headings) == number


def test_each_file_the_kit_begins_carries_its_number_and_reads_back(tmp_path: Path) -> None:
    place = a_folder(tmp_path)
    events = append_event(place, on=DAY, piece="A-1", event="asking_price", amount=280)
    append_event(place, on=DAY, piece="A-1", event="enquiry", note="is it, still, there?")
    log = append_advice(place, SavedAdvice(on=DAY, piece="A-1", asking_price=280))
    for path in (events, log):
        assert path.read_text(encoding="utf-8").splitlines()[0].endswith(f",format {FORMAT}")
    records = read_records(place, as_of=DAY)
    assert (len(records.events), len(records.advice_log), len(records.other_set_aside)) == (2, 1, 0)
    assert newest_format(place) == FORMAT


def test_a_file_of_the_first_format_is_added_to_under_its_own_headings(tmp_path: Path) -> None:
    before = "on,piece,event,amount,note\n2026-03-02,A-1,enquiry,,\n"
    place = a_folder(tmp_path, events_csv=before)
    append_event(place, on=DAY, piece="A-1", event="asking_price", amount=280)
    assert (place / "events.csv").read_text() == before + "2026-03-04,A-1,asking_price,280,\n"
    assert newest_format(place) == 1


def test_an_older_kit_reads_what_it_can_of_a_newer_file_says_so_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = NEWER + "2026-03-02,A-1,enquiry,,,glad,\n2026-03-03,A-1,sung_to,3,,glad,\n"
    place = a_folder(tmp_path, events_csv=text)
    before = {p.name: p.read_bytes() for p in place.iterdir()}
    records = read_records(place, as_of=DAY)
    assert records.events["event"].tolist() == ["enquiry"]
    assert records.other_set_aside["value"].tolist() == ["sung_to"]
    assert any("events.csv was begun by a newer fleetlib" in n for n in records.notes)
    with pytest.raises(CannotSave, match=r"format 3; this one knows 2.*Nothing was written"):
        append_event(place, on=DAY, piece="A-1", event="enquiry")
    assert main(["log", "finished A-1 2026-03-04", "--in", str(place), "--yes"]) == 2
    assert "Upgrade fleetlib" in capsys.readouterr().err
    after = {p.name: p.read_bytes() for p in place.iterdir() if not p.name.startswith(".")}
    assert after == before


def test_settings_of_a_newer_kit_are_passed_over_only_in_a_folder_it_wrote(tmp_path: Path) -> None:
    settings = 'currency = "EUR"\nmoon_phase = "full"\n'
    place = a_folder(tmp_path, settings_toml=settings)
    with pytest.raises(BadSettings, match='no setting called "moon_phase"'):
        read_records(place, as_of=DAY)
    (place / "events.csv").write_text(NEWER, encoding="utf-8")
    records = read_records(place, as_of=DAY)
    assert records.settings.currency == "EUR"
    assert any("moon_phase is a setting of a newer fleetlib" in n for n in records.notes)
