"""What other systems do differently, as far as it can be tried on this one: names, line ends, consoles, locks.

Nothing here ran on Windows or macOS; README says so. What is tried: paths with spaces and letters beyond ASCII, files
with Windows line ends and code page, consoles that cannot show every letter, terminals of other widths, names that
Windows reserves, a file that another program holds, and how the command is spelt where `py` starts Python.
"""

import os
import subprocess
import sys
from datetime import date
from pathlib import Path, PureWindowsPath

import pytest

from fleetlib import cli
from fleetlib.base import saving
from fleetlib.base.errors import CannotSave
from fleetlib.desk.pages import safe_name
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event
from fleetlib.shop import open_shop
from fleetlib.shown import html_blocks

HEAD = "piece,furniture_type,wood,buy_price,hours,listed_on,asking_price,sold_on,sale_price,notes"
DAY = date(2026, 9, 30)


def a_shop(place: Path, *, name: str = "Ä", note: str = "größer – “fein”") -> Path:
    """Twelve sold desks and one listed, in a folder that may have any name."""
    place.mkdir(parents=True)
    rows = [HEAD]
    for k in range(12):
        rows.append(
            f"S-{k},desk,oak,40,{4 + k % 3},2026-0{1 + k % 8}-03,{200 + 9 * k},2026-0{1 + k % 8}-24,{180 + 9 * k},"
        )
    rows.append(f"{name},desk,oak,40,5,2026-09-02,260,,,{note}")
    (place / "flips.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (place / "settings.toml").write_text(f"as_of = {DAY}\n", encoding="utf-8")
    return place


def fleetlib(
    *words: object, encoding: str = "utf-8", **more: str
) -> subprocess.CompletedProcess[bytes]:
    """Run a command as a process of its own, whose console speaks `encoding`."""
    env = os.environ | {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"} | more
    return subprocess.run(
        [sys.executable, "-m", "fleetlib", *map(str, words)],
        capture_output=True,
        env=env,
        timeout=300,
    )


def test_a_folder_with_spaces_and_umlauts_goes_through_every_room(tmp_path: Path) -> None:
    shop = a_shop(tmp_path / "Möbel & Ähnliches, Jahr 2026" / "mein Laden")
    out = tmp_path / "zum Aufhängen"
    for words in (
        ("check", shop),
        ("log", "finished Ä", "--in", shop, "--yes"),
        ("today", shop, "--save", out),
        ("price", shop, "--piece", "Ä", "--save", out),
        ("backup", shop, "--to", tmp_path / "Sicherung é"),
        ("export", shop, "--to", tmp_path / "alles übrige"),
    ):
        done = fleetlib(*words)
        assert done.returncode == 0, (words, done.stderr.decode())
    (kept,) = (tmp_path / "Sicherung é").glob("*.zip")
    done = fleetlib("start", tmp_path / "zurück geholt", "--from", kept)
    assert done.returncode == 0, done.stderr.decode()
    back = tmp_path / "zurück geholt" / "flips.csv"
    assert back.read_bytes() == (shop / "flips.csv").read_bytes()
    assert "Ä" in (out / "today.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-16"])
def test_a_console_that_cannot_show_a_letter_never_ends_the_answer(
    tmp_path: Path, encoding: str
) -> None:
    shop = a_shop(tmp_path / "shop", name="Ω-Ж 桌", note="größer → 桌")
    for words in (
        ("check", shop),
        ("piece", "Ω-Ж 桌", "--in", shop),
        ("piece", "nò → 桌", "--in", shop),
    ):
        done = fleetlib(*words, encoding=encoding)
        assert done.returncode == (2 if "nò → 桌" in words else 0), done.stderr
        assert b"Traceback" not in done.stderr


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "utf-16"])
@pytest.mark.parametrize("ends", ["\r\n", "\r", "\n"])
def test_a_record_reads_alike_whatever_its_line_ends_and_code_page(
    tmp_path: Path, encoding: str, ends: str
) -> None:
    shop = a_shop(tmp_path / "shop")
    before = read_records(shop)
    text = (shop / "flips.csv").read_text(encoding="utf-8")
    (shop / "flips.csv").write_bytes(text.replace("\n", ends).encode(encoding))
    after = read_records(shop)
    assert after.flips["notes"].iloc[-1] == "größer – “fein”"
    assert after.flips.drop(columns="line").equals(before.flips.drop(columns="line"))


def test_no_file_gets_a_name_that_windows_reserves() -> None:
    # Microsoft, "Naming Files, Paths, and Namespaces" (Windows developer documentation); the list from memory.
    reserved = ["CON", "prn", "Aux", "NUL", *(f"{d}{n}" for d in ("com", "LPT") for n in range(10))]
    hard = [
        *reserved,
        *(f"{r}.txt" for r in reserved),
        "a/b",
        "a\\b",
        "a:b",
        "a?b*",
        "ends.",
        "ends ",
        "<x>",
        "|",
    ]
    made = [safe_name(name) for name in hard]
    for name in made:
        assert not PureWindowsPath(name).is_reserved() if sys.version_info < (3, 13) else True
        assert name.split(".")[0].lower() not in {r.lower() for r in reserved if r[-1] != "0"}
        assert not set(name) & set('<>:"/\\|?*') and name[-1] not in ". "
    assert len({name.lower() for name in made}) == len(made)  # Windows takes A and a for one


def test_a_file_open_in_another_program_is_said_and_nothing_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = a_shop(tmp_path / "shop")
    log = append_event(shop, on=DAY, piece="Ä", event="enquiry")
    before = log.read_bytes()
    whole = os.open

    def held(path: object, flags: int, *more: object, **named: object) -> int:
        if str(path).endswith("events.csv") and flags & os.O_WRONLY:
            raise PermissionError(13, "The process cannot access the file")
        return whole(path, flags, *more, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(saving.os, "open", held)
    with pytest.raises(
        CannotSave, match=r"cannot access.*Nothing was written; close the file where it is open"
    ):
        append_event(shop, on=DAY, piece="Ä", event="finished")
    assert log.read_bytes() == before


def test_a_page_open_in_another_program_stays_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "page.html"
    page.write_text("old")

    def held(*_: object) -> None:
        raise PermissionError(13, "The process cannot access the file")

    monkeypatch.setattr(saving.os, "replace", held)
    with pytest.raises(CannotSave, match="cannot access the file"):
        saving.write_whole(page, "new")
    assert page.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


def test_the_command_is_spelt_as_this_person_starts_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("UV", raising=False)
    assert cli._as_typed() == "fleetlib"
    monkeypatch.setenv("UV", "uv")
    assert cli._as_typed() == "python3 -m uv run --no-dev fleetlib"
    monkeypatch.setattr(cli.os, "name", "nt")
    assert cli._as_typed() == "py -m uv run --no-dev fleetlib"


def test_nothing_of_ours_needs_to_fork() -> None:
    package = Path(cli.__file__).parent
    for path in package.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        for word in ("os.fork", "multiprocessing", "ProcessPoolExecutor", "os.execv", "preexec_fn"):
            assert word not in text, path.name


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> list[object]:
    """An answer of each kind to one shop."""
    shop = open_shop(a_shop(tmp_path_factory.mktemp("wide") / "shop", note=""))
    return [
        shop.earnings(),
        shop.days_and_space(),
        shop.today(),
        shop.advise_all(),
        shop.advise("Ä"),
        shop.review(),
        shop.accuracy(),
        shop.finish_choice("Ä") if shop.flips["finish"].notna().any() else shop.what_next(),
    ]


@pytest.mark.parametrize("columns", [40, 60, 72, 80, 100, 160, 300])
def test_answers_use_the_width_of_the_terminal_between_60_and_160(
    answers: list[object], monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setattr(html_blocks, "_width", html_blocks.USUAL_WIDTH)
    cli._fit_the_width()
    wide = min(max(columns, 60), 160)
    longest = {type(a).__name__: max(map(len, str(a).splitlines())) for a in answers}
    assert {name: n for name, n in longest.items() if n > wide} == {}
    assert max(longest.values()) > 0.9 * wide


def test_what_is_written_to_a_file_is_80_wide_whatever_the_terminal(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "160")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: False, raising=False)
    cli._fit_the_width()
    assert html_blocks._width == 80
