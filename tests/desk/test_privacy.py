"""What the person wrote for themselves stays theirs: readable by them alone, and never on a page for others."""

import os
import stat
from pathlib import Path

import pytest

from fleetlib.base.saving import write_whole
from fleetlib.cli import main
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event
from fleetlib.records.log.side_files import EVENTS
from fleetlib.records.piece import piece_named
from fleetlib.week.listing_text import listing_text
from tests.desk.hostile_shop import AS_OF

NAME, NUMBER = "Ottilie Quandt", "0155 5550142"
SECRET = f"{NAME} rings {NUMBER}"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop in whose every free cell, its own column and every kind of event stands a buyer's name and number."""
    place = tmp_path_factory.mktemp("private")
    rows = [
        "piece,furniture_type,wood,finish,buy_price,hours,listed_on,asking_price,sold_on,sale_price,notes,whom"
    ]
    for k in range(24):
        sold = f"2026-0{3 + k % 6}-20,{180 + 9 * (k % 7)}" if k < 18 else ","
        rows.append(
            f"P-{k},desk,oak,oil,40,{5 + k % 4},2026-0{3 + k % 6}-02,{220 + 5 * k},{sold},{SECRET},{SECRET}"
        )
    rows.append(f"W-1,dresser,oak,oil,40,3,,,,,{SECRET},{SECRET}")
    (place / "flips.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (place / "settings.toml").write_text(f"as_of = {AS_OF}\n", encoding="utf-8")
    apart = (
        "sold",
        "withdrawn",
        "kept",
        "given_away",
        "scrapped",
        "bought",
        "listed",
        "undo",
        "returned",
        "backed_out",
    )
    for at, kind in enumerate(sorted(set(EVENTS) - set(apart))):
        append_event(
            place, on=AS_OF, piece=f"P-{18 + at % 4}", event=kind, amount=100.0, note=SECRET
        )
    return place


def holding(text: str) -> bool:
    return any(word in text for word in (*NAME.split(), *NUMBER.split()))


def test_names_and_numbers_in_notes_reach_no_page_tag_listing_or_calendar(
    shop: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    assert main(["price", str(shop), "--save", str(out)]) == 0
    assert main(["today", str(shop), "--save", str(out)]) == 0
    assert main(["review", str(shop), "--quarter", "2026-Q3", "--save", str(out / "r.html")]) == 0
    written = list(out.rglob("*.*"))
    assert {p.suffix for p in written} >= {".html", ".ics"} and len(written) > 15
    for path in written:
        assert not holding(path.read_text(encoding="utf-8")), path.name
    records = read_records(shop)
    for name in records.flips["piece"]:
        assert not holding(str(listing_text(piece_named(records.flips, name))))


def test_the_story_of_a_piece_on_ones_own_screen_does_tell_its_notes(shop: Path, capsys) -> None:
    assert main(["piece", "P-18", "--in", str(shop)]) == 0
    assert NAME in capsys.readouterr().out


@pytest.mark.skipif(
    os.name == "nt", reason="Windows has no such modes; the folder's own rights hold"
)
def test_files_and_folders_the_kit_makes_are_for_the_person_alone(
    shop: Path, tmp_path: Path
) -> None:
    out = tmp_path / "new"
    assert main(["today", str(shop), "--save", str(out)]) == 0
    assert main(["start", str(tmp_path / "begun")]) == 0
    assert main(["export", str(shop), "--to", str(tmp_path / "taken")]) == 0
    assert main(["backup", str(shop), "--to", str(tmp_path / "kept")]) == 0
    for folder in ("new", "begun", "taken", "kept"):
        place = tmp_path / folder
        assert stat.S_IMODE(place.stat().st_mode) == 0o700, folder
        for path in place.rglob("*"):
            run = path.stem == "Open the weekly page"  # a file to double-click must be one to run
            wanted = 0o700 if path.is_dir() or run else 0o600
            assert stat.S_IMODE(path.stat().st_mode) == wanted, path
    assert stat.S_IMODE((shop / "events.csv").stat().st_mode) == 0o600


@pytest.mark.skipif(
    os.name == "nt", reason="Windows has no such modes; the folder's own rights hold"
)
def test_a_mode_the_person_chose_is_kept(tmp_path: Path) -> None:
    mine = tmp_path / "page.html"
    mine.write_text("old")
    mine.chmod(0o644)
    write_whole(mine, "new")
    assert stat.S_IMODE(mine.stat().st_mode) == 0o644
