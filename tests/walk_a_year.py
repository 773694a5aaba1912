"""A year with the kit on a fresh machine, by a frozen clock: each command typed, and what it answered.

    python -m tests.walk_a_year [--install] > walk.md

With --install the wheel is built and put into an empty environment first, and taken out again in the end (uv and a
package index are needed). The shop, its pieces and its sales are invented.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# Run first by every Python started below: today is the day of the walk. What is compiled has its own clock by then.
CLOCK = """
import datetime, os
import openpyxl, pandas
_date, _datetime = datetime.date, datetime.datetime
_day = lambda: _date.fromisoformat(os.environ["WALK_DAY"])
class _Kind(type):
    def __instancecheck__(cls, it): return isinstance(it, cls.real)
    def __subclasscheck__(cls, it): return issubclass(it, cls.real)
class date(_date, metaclass=_Kind):
    real = _date
    def __new__(cls, *parts): return _date(*parts) if cls is date else _date.__new__(cls, *parts)
    today = staticmethod(_day)
class datetime_(_datetime, metaclass=_Kind):
    real = _datetime
    def __new__(cls, *parts, **more):
        return _datetime(*parts, **more) if cls is datetime_ else _datetime.__new__(cls, *parts, **more)
    now = staticmethod(lambda tz=None: _datetime.combine(_day(), datetime.time(9), tz))
datetime.date, datetime.datetime = date, datetime_
"""
KINDS = ("dresser", "nightstand", "desk", "bookcase")


@dataclass
class Walk:
    """The commands typed so far. `kit` is how fleetlib is started; every one is run in `home`, on the day `day`."""

    home: Path
    kit: list[str]
    day: date = date(2026, 1, 5)
    said: list[str] = field(default_factory=list)

    def types(self, *words: str, status: int = 0, shown: int = 12, answer: str = "") -> str:
        """Type `fleetlib WORDS`; its output. Raises AssertionError where the exit status is another."""
        return self.runs([*self.kit, *words], ["fleetlib", *words], status, shown, answer)

    def runs(
        self,
        command: Sequence[str],
        typed: Sequence[str],
        status: int = 0,
        shown: int = 5,
        answer: str = "",
    ) -> str:
        """Run `command`, noted as `typed` with the first `shown` lines of its output."""
        ours = ("PYTHON", "VIRTUAL", "FLEET")
        kept = {k: v for k, v in os.environ.items() if not k.startswith(ours)}
        path = [str(self.home / "clock")]
        if self.kit[0] == sys.executable:
            path.append(str(ROOT))
        kept |= {"HOME": str(self.home), "PYTHONPATH": os.pathsep.join(path)}
        done = subprocess.run(
            command,
            cwd=self.home,
            env=kept | {"WALK_DAY": self.day.isoformat()},
            input=answer,
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=900,
        )
        out = (done.stdout + done.stderr).replace(str(self.home), "~").strip()
        line = " ".join(f'"{w}"' if " " in w else w for w in typed).replace(str(self.home), "~")
        lines = out.splitlines()
        more = f"\n... {len(lines) - shown} more lines" if len(lines) > shown else ""
        self.said.append(f"{self.day}\n$ {line}\n" + "\n".join(lines[:shown]) + more)
        assert done.returncode == status, f"{line}: exit status {done.returncode}\n{out}"
        return done.stdout

    def notes(self, sentence: str) -> None:
        """A sentence between the commands."""
        self.said.append(f"# {sentence}")

    def files(self, folder: str) -> dict[str, bytes]:
        """Every file of a folder, to see what was changed."""
        place = self.home / folder
        return {
            p.relative_to(place).as_posix(): p.read_bytes() for p in place.rglob("*") if p.is_file()
        }


def old_sheet() -> bytes:
    """The rough spreadsheet of the year before, as a Windows program saved it: CRLF, cp1252, headings of one's own."""
    rows = ["Nr;What;Wood;Paid;Hrs;Listed;Asking;Sold on;Sold for;Remarks"]
    for n in range(24):
        kind, listed = KINDS[n % 4], date(2025, 1, 10) + timedelta(14 * n)
        sold = listed + timedelta(9 + 5 * (n % 6))
        paid, ask = 20 + 7 * (n % 5), 180 + 55 * (n % 4) + 5 * (n % 7)
        left = f"{sold};{ask - 15 - 5 * (n % 4)}" if sold < date(2026, 1, 5) else ";"
        rows.append(f"M-{n + 1};{kind};oak;{paid};{5 + n % 4};{listed};{ask};{left};gewöhnlich")
    return "\r\n".join([*rows, ""]).encode("cp1252")


def lines_of(quarter: int) -> list[str]:
    """What is written on the phone in a quarter: three pieces bought, worked on, listed, sold; one comes back."""
    lines = []
    for n in range(3):
        name, kind = f"N-{3 * quarter + n - 2}", KINDS[(quarter + n) % 4]
        start = date(2026, 3 * quarter - 2, 8 + 4 * n)
        on = [(start + timedelta(d)).isoformat() for d in (0, 2, 9, 10, 30, 40)]
        ask = 230 + 45 * n
        lines += [
            f"bought {name} for {30 + 5 * n} furniture_type={kind} wood=oak on {on[0]}",
            f"worked {name} 3 h sand on {on[1]}",
            f"cost {name} 12.50 paint on {on[1]}",
            f"finished {name} finish=oil on {on[2]}",
            f"listed {name} at {ask} gut_price={ask - 20} on {on[3]}",
            f"offer {name} {ask - 60} on {on[4]}",
        ]
        if n < 2:
            lines.append(f"sold {name} for {ask - 25} at the market on {on[5]}")
    return [*lines, f"supplies {20 + quarter} sandpaper on {2026}-{3 * quarter:02d}-05"]


def a_year(walk: Walk) -> None:
    """From the first folder to the last quarter: records read, logged, reviewed, backed up."""
    shop = "Documents/My shop (Möbel)"
    walk.types("--version")
    walk.types("start", shop)
    (walk.home / shop / "flips.xlsx").unlink()
    (walk.home / shop / "flips.csv").write_bytes(old_sheet())
    walk.notes(
        "The spreadsheet of the year before is put in place of the blank sheet, as it was: flips.csv."
    )
    walk.types("check", shop, shown=20)
    walk.types("today", shop)
    for quarter in (1, 2, 3, 4):
        walk.day = date(2026, 3 * quarter, 27)
        inbox = walk.home / shop / "inbox.txt"
        before = inbox.read_bytes() if inbox.is_file() else b""
        inbox.write_bytes(before + "".join(f"{line}\r\n" for line in lines_of(quarter)).encode())
        walk.notes(f"inbox.txt, written on the phone, holds {len(lines_of(quarter))} new lines.")
        walk.types("log", "--yes", "--in", shop, shown=8)
        if quarter == 2:
            walk.types("log", "returned N-1: it wobbles", "--in", shop, answer="y\n")
            walk.types("log", "sold N-1 for 180", "--in", shop, answer="n\n")
            walk.types("log", "sold N-1", "--yes", "--in", shop, status=2)
            walk.types("log", "returned N-6", "--yes", "--in", shop, status=2)
        walk.types("today", shop)
        walk.types("price", shop, "--piece", f"N-{3 * quarter}", "--save", f"{shop}/advice")
        walk.types("piece", f"N-{3 * quarter - 2}", "--in", shop)
        walk.day = date(2026 + quarter // 4, (3 * quarter) % 12 + 1, 4)
        walk.types(
            "review",
            shop,
            "--quarter",
            f"2026-Q{quarter}",
            "--save",
            f"{shop}/review-{quarter}.html",
        )
        walk.types("backup", shop, "--to", "Backups")
    walk.types("earnings", shop)


def an_upgrade(walk: Walk) -> None:
    """A folder of the first release, read, logged to and given the newer notebooks; what it held stays to the byte."""
    shutil.copytree(ROOT / "tests" / "data" / "folders" / "0.1", walk.home / "old-shop")
    before = walk.files("old-shop")
    walk.notes("old-shop was made by version 0.1.")
    walk.types("check", "old-shop")
    walk.types("price", "old-shop", "--piece", "A-234")
    walk.types("log", "offer A-234 300", "--yes", "--in", "old-shop")
    walk.types("start", "old-shop", "--notebooks")
    after = walk.files("old-shop")
    changed = [n for n, data in before.items() if after[n] != data]
    assert changed == ["events.csv"], changed
    assert after["events.csv"].startswith(before["events.csv"])
    walk.notes("Of its files only events.csv is another: the same lines, and one more.")


def a_restore(walk: Walk) -> None:
    """The last backup laid down elsewhere answers as the shop does; what was exported is a shop that does."""
    shop = "Documents/My shop (Möbel)"
    newest = sorted((walk.home / "Backups").glob("*.zip"))[-1]
    walk.types("start", "Documents/again", "--from", str(newest))
    walk.types("start", "Documents/again", "--from", str(newest), status=2)
    walk.types("export", shop, "--to", "taken")
    places = (shop, "Documents/again", "taken/shop")
    first, *others = (walk.types("price", place, shown=9) for place in places)
    assert all(other == first for other in others)
    walk.notes("The three answers are the same, to the letter.")


def begin(place: Path) -> Walk:
    """A home whose name has a space and an umlaut, and the clock."""
    home = place / "Ünal Example"
    (home / "clock").mkdir(parents=True)
    (home / "clock" / "sitecustomize.py").write_text(CLOCK, encoding="utf-8")
    return Walk(home, [sys.executable, "-m", "fleetlib"])


def install(walk: Walk) -> None:
    """Build the wheel and install it as a tool of its own; from here on the walk uses that."""
    uv, home = [shutil.which("uv") or "uv"], walk.home
    dist = str(home / "dist")
    walk.runs(
        [*uv, "build", "--wheel", "--quiet", "--out-dir", dist, str(ROOT)],
        ["uv", "build", "--wheel"],
    )
    (wheel,) = (home / "dist").glob("*.whl")
    os.environ |= {"UV_TOOL_DIR": str(home / "tools"), "UV_TOOL_BIN_DIR": str(home / "bin")}
    walk.runs(
        [*uv, "tool", "install", "--python", sys.executable, str(wheel)],
        ["uv", "tool", "install", wheel.name],
    )
    walk.kit = [str(home / "bin" / "fleetlib")]


def uninstall(walk: Walk) -> None:
    """Take the tool away; what the person has stays, to the byte."""
    before = walk.files("Documents")
    typed = ["uv", "tool", "uninstall", "fleetlib"]
    walk.runs([shutil.which("uv") or "uv", *typed[1:]], typed)
    assert walk.files("Documents") == before
    assert not Path(walk.kit[0]).exists()
    walk.notes("The kit is gone; shops and backups are as they were.")


def main() -> None:
    """Walk the year and print it; with --install the kit comes from a wheel in an empty environment."""
    steps = [a_year, an_upgrade, a_restore]
    if "--install" in sys.argv:
        steps = [install, *steps, uninstall]
    with tempfile.TemporaryDirectory() as place:
        walk = begin(Path(place))
        try:
            for step in steps:
                step(walk)
        finally:
            sys.stdout.write("\n\n".join(walk.said) + "\n")


if __name__ == "__main__":
    main()
