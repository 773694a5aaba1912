"""From typing `lab` to the first price: clicks and seconds, in a real browser on this machine.

    python -m tests.bench_first_price [times]

The demo shop, a warm machine: one opening before counts for nothing, and the browser is the one that was used for it.
The piece is the one last used whose own price is on record, so that nothing need be typed. The answer counts as there
when "Ask" stands in large letters. Seconds by the clock grow with whatever else the machine does; the processor's own
seconds, of all that `lab` started, do not.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import psutil

from fleetlib.desk.forms.layout import last_used
from fleetlib.desk.forms.pricing import QUICK
from fleetlib.desk.start import start_shop
from fleetlib.shop import open_shop
from tests.browser.conftest import FLAGS
from tests.browser.opened import PATIENCE_MS, READY, Typed

LOOKS_S = 3.0


def quick(folder: Path) -> list[tuple[str, str]]:
    """(button, name) of the pieces last used whose own price is on record: a press on one of them and on the price
    are the two clicks."""
    shop = open_shop(folder)
    names = last_used(shop, QUICK)
    return [(f".b-last{k}", n) for k, n in enumerate(names) if shop.piece(n).gut_price is not None]


def worked(typed: Typed) -> float:
    """Processor seconds so far of `lab`, its server and its kernel."""
    lab = psutil.Process(typed.process.pid)
    times = [p.cpu_times() for p in (lab, *lab.children(recursive=True))]
    return sum(t.user + t.system for t in times)


def once(browser, folder: Path, cache: Path) -> tuple[float, ...]:  # type: ignore[no-untyped-def]
    """Seconds from typing to the forms, to the answer, from the last click to the answer, the processor's of these; at
    last from the click on the price of another piece to its answer, as a person looks a few seconds at each."""
    (first, _), (second, name) = quick(folder)[:2]
    began = time.monotonic()
    typed = Typed(folder, cache)
    page = browser.new_page()
    page.set_default_timeout(PATIENCE_MS)
    try:
        page.goto(typed.address)
        page.wait_for_selector(READY)
        page.locator(first).click()
        ready = time.monotonic()
        page.wait_for_function("() => document.querySelector('.f-gut input').value !== ''")
        before = worked(typed)
        page.locator(".b-price").click()
        clicked = time.monotonic()
        page.locator('.a-answer:has-text("Ask $")').first.wait_for()
        done, spent = time.monotonic(), worked(typed)
        time.sleep(LOOKS_S)
        page.locator(second).click()
        time.sleep(LOOKS_S)
        again = time.monotonic()
        page.locator(".b-price").click()
        page.locator(f'.a-answer:has-text("{name}")').first.wait_for()
        next_one = time.monotonic() - again
    finally:
        page.close()
        typed.stop()
    return ready - began, done - began, done - clicked, spent - before, spent, next_one


def main() -> None:
    """Print the median and the range of each, and how busy the machine was."""
    from playwright.sync_api import sync_playwright

    times = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as place, sync_playwright() as driver:
        found = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = driver.chromium.launch_persistent_context(
            Path(place) / "browser",
            executable_path=found,
            args=FLAGS,
            viewport={"width": 1280, "height": 900},
        )
        folder = Path(place) / "shop"
        start_shop(folder, demo=True)
        runs = [once(browser, folder, Path(place) / "cache") for _ in range(times + 1)][1:]
        browser.close()
    print(
        f"clicks: 2; load average of the last minute: {os.getloadavg()[0]:.1f}, {os.cpu_count()} processors"
    )
    names = (
        "typing to the forms",
        "typing to the first price",
        "last click to the price",
        "processor, last click to the price",
        "processor, typing to the price",
        "click to the price of another piece",
    )
    for name, values in zip(names, zip(*runs, strict=True), strict=True):
        print(
            f"{name}: {median(values):.1f} s ({min(values):.1f} to {max(values):.1f}), {times} runs"
        )


if __name__ == "__main__":
    main()
