"""How fast the kit is, in one table: python -m tests.bench [--large] [--pages] [--browser] [--store FILE.csv]

Seconds of processor time (user and system, all threads), which a busy machine stretches less than the clock does; the
least of the runs. Everything is timed with an empty cache but what is "asked again", which finds what the same
question kept (`base/kept_numbers.py`). Each is also given as a ratio to
`import pandas, scipy.optimize, scipy.stats`, run again beside it in the same minute. --large adds
shops of 1,250, 5,000 and 20,000 flips with four events a flip and the exponent of the growth between the last two;
--pages adds all pages of the demo and its six notebooks; --browser what someone waits for at the weekly page, by the
clock, in a Chromium. Without them it takes about three minutes.
"""

from __future__ import annotations

import argparse
import io
import math
import os
import platform
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.desk.pictures import picture
from fleetlib.shop import open_shop
from tests.bench_records import untidy_csv

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "data_demo"
# The command as it is, and what the system says of its peak memory when it ends.
KIT = """import atexit, sys
atexit.register(lambda: sys.stderr.write(open("/proc/self/status").read()))
from fleetlib.cli import main
sys.exit(main(sys.argv[1:]))"""
FLOOR = [sys.executable, "-c", "import pandas, scipy.optimize, scipy.stats"]
EVENTS_A_FLIP = 4
ON_HAND = 400


@dataclass(frozen=True, slots=True)
class Row:
    """One measured thing: processor seconds, the floor's beside it, peak memory (MB; NaN within a process)."""

    what: str
    seconds: float
    floor: float
    memory: float
    aim: str

    @property
    def ratio(self) -> float:
        return self.seconds / self.floor


def of_command(arguments: Sequence[str]) -> tuple[float, float]:
    """Processor seconds and peak memory (MB; NaN unless it says so) of one command; a failure stops the table."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(arguments, capture_output=True, text=True, cwd=ROOT, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode != 0:
        sys.exit(f"{' '.join(arguments)} ended with {done.returncode}: {done.stderr}")
    peak = re.search(r"VmHWM:\s+(\d+) kB", done.stderr)
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, int(peak[1]) / 1024 if peak else math.nan


def forget() -> None:
    """Empty the cache that this table is measured with."""
    shutil.rmtree(os.environ["FLEETLIB_CACHE"], ignore_errors=True)


def command(
    what: str, arguments: Sequence[str], aim: str = "", *, runs: int = 2, again: bool = False
) -> Row:
    """The least of `runs` runs of a command of the kit, the floor run before; `again`: asked before."""
    floor = min(of_command(FLOOR)[0] for _ in range(runs))
    tried = []
    for _ in range(runs):
        if not again:
            forget()
        tried.append(of_command([sys.executable, "-c", KIT, *arguments]))
    return Row(what, min(s for s, _ in tried), floor, max(m for _, m in tried), aim)


def within(what: str, work: Callable[[], object], aim: str = "", *, runs: int = 3) -> Row:
    """The least of `runs` runs of a call within this process."""
    floor = of_command(FLOOR)[0]
    best = math.inf
    for _ in range(runs):
        forget()
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return Row(what, best, floor, math.nan, aim)


def everyday() -> list[Row]:
    """What one person waits for, on the demo."""
    demo = str(DEMO)
    shop = open_shop(demo)
    # Fitted and loaded before anything is timed; then each run takes another piece: what is worked out once is kept.
    on_hand = iter(shop.flips.loc[shop.flips["status"] == "listed", "piece"])
    shop.advise(next(on_hand))
    plans = iter([shop.plan(next(on_hand)) for _ in range(3)])
    with tempfile.TemporaryDirectory() as spare:
        fits = [
            within(f"fit of {n} sales", lambda place=place: open_shop(place).fits, aim, runs=2)
            for n, aim in ((250, ".4 s"), (600, "2 s"))
            for place in [big_shop(Path(spare) / f"{n}", n + 20, on_hand=20)]
        ]

    return [
        command("--help", ["--help"]),
        command("check", ["check", demo]),
        command("price", ["price", demo], "2 times the floor"),
        command("price, asked again", ["price", demo], "2 times the floor", again=True),
        command("earnings", ["earnings", demo], "2 s"),
        command("review", ["review", demo], "2.5 s"),
        command("review, asked again", ["review", demo], "2.5 s", again=True),
        command("today", ["today", demo]),
        within("fit of the demo", lambda: open_shop(demo).fits),
        *fits,
        within("one plan", lambda: shop.plan(next(on_hand)), ".06 s"),
        within("advice on one piece", lambda: shop.advise(next(on_hand)), ".15 s"),
        within("one picture", lambda: picture(next(plans)), ".3 s"),
    ]


def big_shop(place: Path, flips: int, on_hand: int = ON_HAND) -> Path:
    """A folder of `flips` flips, `on_hand` of them unsold, with four dated events a flip."""
    place.mkdir()
    made = pd.read_csv(io.StringIO(untidy_csv(2 * flips)), dtype=str, keep_default_na=False)
    unsold = made["Date sold"] == ""
    kept = np.sort(
        np.r_[np.flatnonzero(~unsold)[: flips - on_hand], np.flatnonzero(unsold)[:on_hand]]
    )
    made.iloc[kept].to_csv(place / "flips.csv", index=False)
    names = made["Piece"].iloc[kept]
    rng = np.random.default_rng(2026)
    start = date(2023, 1, 1)
    rows = [
        (start + timedelta(days=int(day)), name, "hours", round(int(minutes) / 60, 2), "strip")
        for name in names
        for day, minutes in zip(rng.integers(0, 900, EVENTS_A_FLIP), rng.integers(10, 200, EVENTS_A_FLIP), strict=True)
    ]  # fmt: skip
    events = pd.DataFrame(rows, columns=["on", "piece", "event", "amount", "note"])
    events.sort_values("on").to_csv(place / "events.csv", index=False)
    return place


def large(sizes: Sequence[int] = (1250, 5000, 20_000)) -> list[Row]:
    """Whole commands on large shops, with the exponent of their growth."""
    rows = []
    with tempfile.TemporaryDirectory() as spare:
        folders = [big_shop(Path(spare) / f"shop{n}", n) for n in sizes]
        for word in ("check", "price", "earnings", "review"):
            made = [
                command(
                    f"{word}, {n:,} flips",
                    [word, str(f)],
                    "12 s, 700 MB" * (n == 5000),
                    runs=1,
                )
                for n, f in zip(sizes, folders, strict=True)
            ]
            grew = math.log(made[-1].seconds / made[-2].seconds) / math.log(sizes[-1] / sizes[-2])
            rows += [*made, Row(f"{word}: exponent of growth", grew, 1.0, math.nan, "1")]
    return rows


def pages() -> list[Row]:
    """Every page of the demo, and its notebooks."""
    with tempfile.TemporaryDirectory() as spare:
        saved = command(
            "price --save, 20 pieces", ["price", str(DEMO), "--save", spare], "10 s", runs=1
        )
        floor = of_command(FLOOR)[0]
        for folder in ("notebooks", "data_demo"):
            shutil.copytree(ROOT / folder, Path(spare) / "copy" / folder)
        copies = [str(p) for p in sorted((Path(spare) / "copy" / "notebooks").glob("*.ipynb"))]
        seconds, memory = of_command([sys.executable, ".ci/run_notebooks.py", *copies])
    return [saved, Row("six notebooks", seconds, floor, memory, "25 s")]


def weekly_page() -> list[Row]:
    """From typing `lab` to live forms and a first answer, and from a later click to its answer."""
    from playwright.sync_api import sync_playwright

    from fleetlib.desk.start import start_shop
    from tests.browser.conftest import FLAGS
    from tests.browser.opened import Typed, seen, tab

    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as spare, sync_playwright() as driver:
        start_shop(Path(spare) / "shop", demo=True)
        floor = of_command(FLOOR)[0]
        chromium = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        for run in ("never opened", "opened before"):
            begun = time.monotonic()
            typed = Typed(Path(spare) / "shop", Path(spare) / "cache")
            page, _asked = seen(browser, typed.address)
            waited = [time.monotonic() - begun]
            tab(page, "Price")
            form = page.locator(".fleet-form:has(.b-price)")
            for piece in (1, 2):
                form.locator(".f-onhand select").select_option(index=piece)
                name = form.locator(".f-onhand select option").nth(piece).inner_text().split(":")[0]
                form.locator(".f-noidea input").check()
                pressed = time.monotonic()
                form.locator(".b-price").click()
                form.locator(f'.a-answer:has-text("{name}") img').first.wait_for()
                waited.append(time.monotonic() - pressed)
                page.wait_for_timeout(3000)  # who reads the answer does not press at once
            waited[1] += waited[0]
            told = ("live forms", "first answer", "answer to a later click")
            rows += [
                Row(f"weekly page, {run}: {what}, by the clock", seconds, floor, math.nan, aim)
                for what, seconds, aim in zip(told, waited, ("", "10 s", "1 s"), strict=True)
            ]
            page.close()
            typed.stop()
        browser.close()
    return rows


def main() -> None:
    """Print the table; --store writes it."""
    read = argparse.ArgumentParser(description=__doc__)
    read.add_argument("--large", action="store_true")
    read.add_argument("--pages", action="store_true")
    read.add_argument("--browser", action="store_true")
    read.add_argument("--store", type=Path)
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as cache:
        os.environ["FLEETLIB_CACHE"] = cache
        more = ((asked.large, large), (asked.pages, pages), (asked.browser, weekly_page))
        rows = everyday() + [row for wanted, measured in more if wanted for row in measured()]
    table = pd.DataFrame(
        {
            "what": [r.what for r in rows],
            "seconds": [round(r.seconds, 2) for r in rows],
            "times the floor": [round(r.ratio, 2) for r in rows],
            "MB": [round(r.memory) if r.memory == r.memory else "" for r in rows],
            "aim": [r.aim for r in rows],
        }
    )
    print(
        f"{date.today()}, {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    )
    print(table.to_string(index=False))
    if asked.store:
        machine = (
            f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}"
        )
        table["command"] = f"python -m tests.bench on {machine}"
        table.assign(measured_on=date.today()).to_csv(asked.store, index=False)


if __name__ == "__main__":
    main()
