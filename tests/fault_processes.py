"""Counted trials of what goes wrong from outside: kills, several writers at once, a full disk, no permission.

They fork, so they are for systems that can; a kind that this machine does not allow is skipped by name.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from functools import partial
from pathlib import Path

from fleetlib.base.errors import BadQuestion, CannotSave, FleetError
from fleetlib.base.saving import is_half_made, write_whole
from fleetlib.desk.start import start_shop
from fleetlib.records.log.append import append_event, standing_events, undo_last
from tests.fault_trials import Tally, command, manners

DAY = date(2026, 3, 4)
HEAD = "piece,type,wood,sale price,sold on,notes\n"
RECORD = HEAD + "".join(f"A-{n},desk,oak,{200 + n},2026-03-0{n},x\n" for n in range(1, 9))
FORKS = hasattr(os, "fork")


def _forked(task: Callable[[], None]) -> int:
    """`task` in a process of its own; returns the process. It ends without any of this one's endings."""
    child = os.fork()
    if child == 0:
        code = 0
        try:
            task()
        except BaseException:
            code = 1
        os._exit(code)
    return child


def _ended(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


# ---- kills --------------------------------------------------------------------------------------------


def kill_a_writer(place: Path, rng: random.Random) -> str:
    """A process that logs entry after entry and writes a page is killed; what it was told is written is there whole."""
    told, tell = os.pipe()

    def work() -> None:
        for n in range(1000):
            append_event(place, on=DAY, piece=f"A-{n}", event="enquiry", note=f'"entry", {n};')
            os.write(tell, b"%d\n" % n)
            write_whole(place / "page.html", "<p>" + "x" * 50_000 + f"{n}</p>")

    child = _forked(work)
    os.close(tell)
    time.sleep(rng.random() * 0.08)
    os.kill(child, signal.SIGKILL)
    _ended(child)
    with os.fdopen(told, "rb") as stream:
        acknowledged = [int(line) for line in stream.read().split(b"\n")[:-1]]
    append_event(place, on=DAY, piece="last", event="enquiry")
    logged = standing_events(place)
    names = [*(f"A-{n}" for n in acknowledged), "last"]
    found = logged["piece"].tolist()
    one_more = [
        *names[:-1],
        f"A-{len(acknowledged)}",
        "last",
    ]  # written, but killed before it could say so
    if found not in (names, one_more):
        return f"{len(acknowledged)} entries acknowledged, {len(found) - 1} there"
    page = place / "page.html"
    if page.exists() and not (
        page.read_text().startswith("<p>") and page.read_text().endswith("</p>")
    ):
        return "a torn page"
    write_whole(page, "<p></p>")
    left = [p.name for p in place.iterdir() if is_half_made(p.name)]
    return f"left behind: {left}" if left else ""


def kill_a_start(place: Path, rng: random.Random) -> str:
    """`start` is killed and asked for again: then the shop is whole, and nothing is left behind."""
    child = _forked(lambda: [None for _ in start_shop(place / "shop")][:0] and None)
    time.sleep(rng.random() * 0.15)
    os.kill(child, signal.SIGKILL)
    _ended(child)
    start_shop(place / "whole")
    with contextlib.suppress(CannotSave):  # it was done before it could be killed
        start_shop(place / "shop")
    shops = [
        {
            p.name: p.read_bytes()
            for p in (place / n).iterdir()
            if p.suffix in (".xlsx", ".csv", ".toml", ".ipynb")
        }
        for n in ("whole", "shop")
    ]
    if shops[0] != shops[1]:
        return f"{len(shops[1])} of {len(shops[0])} files"
    left = [p.name for p in (place / "shop").iterdir() if is_half_made(p.name)]
    return f"left behind: {left}" if left else ""


def kills(count: int, *, seed: int = 0, until: float = 1e18) -> Tally:
    """`count` kills at random moments: four of a writer to one of a start."""
    made = Tally("kills")
    if not FORKS:
        made.skipped = "this system cannot fork"
        return made
    for n in range(seed, seed + count):
        if time.monotonic() > until:
            break
        with tempfile.TemporaryDirectory() as folder:
            trial = kill_a_start if n % 5 == 0 else kill_a_writer
            failure = trial(Path(folder), random.Random(n))
        made.add(f"kill {n}: {failure}" if failure else "")
    return made


# ---- writers ------------------------------------------------------------------------------------------


def writers(entries: int, undos: int, *, processes: int = 8) -> Tally:
    """`entries` logged by eight processes at once, which take `undos` of them back: a trial an entry and an undo."""
    made = Tally("entries by 8 at once, undos beside them")
    if not FORKS:
        made.skipped = "this system cannot fork"
        return made
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        shares = [range(w, entries, processes) for w in range(processes)]
        back = [set(share[: len(range(w, undos, processes))]) for w, share in enumerate(shares)]
        children = [
            _forked(partial(_write, place, share, mine))
            for share, mine in zip(shares, back, strict=True)
        ]
        codes = [_ended(child) for child in children]
        events = standing_events(place)
        undone = {f"W-{n}" for mine in back for n in mine}
        found = events["piece"].tolist()
        for n in range(entries):
            times, wanted = found.count(f"W-{n}"), int(f"W-{n}" not in undone)
            made.add("" if times == wanted else f"W-{n} stands {times} times, not {wanted}")
        for name in sorted(undone):
            made.add(f"{name} was not taken back" if name in found else "")
        made.add("" if codes == [0] * processes else f"processes ended with {codes}")
    return made


def _write(place: Path, numbers: range, back: set[int]) -> None:
    """Log each, and take back those in `back` by name once something else has been logged after them."""
    waiting: list[int] = []
    for n in numbers:
        append_event(place, on=DAY, piece=f"W-{n}", event="offer", amount=100 + n)
        waiting += [n] if n in back else []
        if len(waiting) > 1 or (waiting and n == numbers[-1]):
            _take_back(place, f"W-{waiting.pop(0)}")
    for n in waiting:
        _take_back(place, f"W-{n}")


def _take_back(place: Path, name: str) -> None:
    events = standing_events(place)
    entry = events[events["piece"] == name].iloc[-1].to_dict()
    undo_last(place, on=DAY, entry=entry)
    with contextlib.suppress(BadQuestion):
        undo_last(
            place, on=DAY, entry=entry
        )  # asked for twice, as in two windows: takes nothing more back
        raise AssertionError(f"{name} was taken back twice")


# ---- a full disk --------------------------------------------------------------------------------------


@contextlib.contextmanager
def small_disk(kilobytes: int = 200) -> Iterator[Path | None]:
    """A file system of so many kB; None where this machine does not let us make one."""
    place = Path(tempfile.mkdtemp())
    made = shutil.which("mount") is not None and hasattr(os, "geteuid") and os.geteuid() == 0
    if made:
        asked = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(place)]
        made = subprocess.run(asked, capture_output=True, check=False).returncode == 0
    try:
        yield place if made else None
    finally:
        if made:
            subprocess.run(["umount", str(place)], capture_output=True, check=False)
        shutil.rmtree(place, ignore_errors=True)


def full_disk(count: int, *, seed: int = 0) -> Tally:
    """On a disk of 200 kB: entries and pages until it is full; every one is there whole or refused in a sentence."""
    made = Tally("writes on a disk of 200 kB")
    with small_disk() as place:
        if place is None:
            made.skipped = "this machine lets us mount no file system"
            return made
        (place / "flips.csv").write_text(RECORD)
        rng, disk = random.Random(seed), _Disk(place)
        for n in range(count):
            try:
                disk.write(n, rng)
            except FleetError as refusal:
                said = str(refusal)
                failure = "" if "No space left" in said and "\n" not in said else said
            else:
                failure = ""
            failure = failure or disk.wrong()
            made.add(f"write {n}: {failure}" if failure else "")
    return made


class _Disk:
    """A small disk, and what should be on it."""

    def __init__(self, place: Path) -> None:
        self.place, self.kept, self.page = place, 0, ""

    def write(self, n: int, rng: random.Random) -> None:
        """A page, an entry, or something that fills the disk."""
        filler = self.place / "filler"
        if rng.random() < 0.1:
            filler.unlink(missing_ok=True)
        if n % 3 == 0:
            text = f"{n} " + "p" * rng.randrange(60_000)
            write_whole(self.place / "page.html", text)
            self.page = text
        elif n % 3 == 1:
            note = "n" * rng.randrange(3000)
            append_event(self.place, on=DAY, piece=f"A-{self.kept}", event="enquiry", note=note)
            self.kept += 1
        else:
            write_whole(filler, "f" * rng.randrange(150_000))

    def wrong(self) -> str:
        """What is not as it should be; "" where all is."""
        page = self.place / "page.html"
        if page.exists() and page.read_text() != self.page:
            return "the page is not the last one written"
        there = len(standing_events(self.place))
        if there != self.kept:
            return f"{self.kept} entries were kept, {there} are there"
        return "" if (self.place / "flips.csv").read_text() == RECORD else "the record changed"


# ---- no permission ------------------------------------------------------------------------------------

_BARRED: dict[str, Callable[[Path], object]] = {
    "a record that may not be read": lambda p: (p / "flips.csv").chmod(0),
    "settings that may not be read": lambda p: (p / "settings.toml").chmod(0),
    "a log that may not be read": lambda p: (p / "events.csv").chmod(0),
    "a log that may not be written": lambda p: (p / "events.csv").chmod(0o444),
    "a folder that may not be written": lambda p: p.chmod(0o555),
    "a folder that may not be entered": lambda p: p.chmod(0),
    "a folder that may not be listed": lambda p: p.chmod(0o333),
}
_ASKED: tuple[tuple[str, ...], ...] = (
    ("check", "{shop}"),
    ("check", "{shop}", "--save", "{shop}/out"),
    ("log", "enquiry A-1", "--yes", "--in", "{shop}"),
    ("piece", "A-1", "--in", "{shop}"),
    ("start", "{shop}/new"),
    ("backup", "{shop}", "--to", "{shop}x"),
    ("export", "{shop}", "--to", "{shop}/export"),
    ("buy", "{shop}", "--finds", "{shop}/finds.csv"),
)


def no_permission() -> Tally:
    """Each command on each folder that a person may not read or write, as a user with no rights of its own."""
    made = Tally("commands without permission")
    if not FORKS or not hasattr(os, "setuid"):
        made.skipped = "this system has no such users"
        return made
    for barred, bar in _BARRED.items():
        for asked in _ASKED:
            with tempfile.TemporaryDirectory() as folder:
                failure = _barred_trial(Path(folder), bar, asked)
            made.add(f"{barred}, {asked[0]}: {failure}" if failure else "")
    return made


def _barred_trial(above: Path, bar: Callable[[Path], object], asked: tuple[str, ...]) -> str:
    place = above / "shop"
    place.mkdir()
    for name, text in (
        ("flips.csv", RECORD),
        ("settings.toml", "as_of = 2026-09-30\n"),
        ("events.csv", "on,piece,event,amount,note\n2026-03-01,A-1,enquiry,,\n"),
        ("finds.csv", "furniture_type,buy_price\ndresser,40\n"),
    ):
        (place / name).write_text(text)
    arguments = [a.format(shop=place) for a in asked]
    shutil.copytree(place, above / "good")  # asked first, so that what is imported late is imported
    command(*(a.format(shop=above / "good") for a in asked))
    nobody = os.geteuid() == 0
    if nobody:
        for path in (above, place, *place.iterdir()):
            os.chown(path, 65534, 65534)
    before = {p.name: p.read_bytes() for p in place.iterdir()}
    bar(place)
    told, tell = os.pipe()

    def ask() -> None:
        if nobody:
            os.setgid(65534)
            os.setuid(65534)
        ran = command(*arguments)
        os.write(tell, json.dumps([ran.code, ran.err, manners(ran)]).encode())

    child = _forked(ask)
    os.close(tell)
    with os.fdopen(told, "rb") as stream:
        said = stream.read()
    ended = _ended(child)
    place.chmod(0o755)
    if ended or not said:
        return f"ended with {ended}"
    code, _err, wrong = json.loads(said)
    for path in place.iterdir():
        if path.is_file() and path.name in before:
            path.chmod(0o644)
    own = {n: (place / n).read_bytes() for n in before}
    if own != before and not (asked[0] == "log" and code == 0):
        return "a file changed"
    return str(wrong)
