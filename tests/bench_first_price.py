"""From typing `lab` to the first price: clicks and seconds, in a real browser on this machine.

    python -m tests.bench_first_price [times]

The demo shop, a warm machine (one opening before counts for nothing). The piece is the one last used whose own price is
on record, so that nothing need be typed. The answer counts as there when "Ask" stands in large letters. Seconds by the
clock grow with whatever else the machine does; the processor's own seconds, of all that `lab` started, do not.
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


def clicks(folder: Path) -> tuple[str, str]:
    """The two presses: the piece last used whose own price is on record, and the price."""
    shop = open_shop(folder)
    own = [shop.piece(name).gut_price is not None for name in last_used(shop, QUICK)]
    return f".b-last{own.index(True)}", ".b-price"


def worked(typed: Typed) -> float:
    """Processor seconds so far of `lab`, its server and its kernel."""
    lab = psutil.Process(typed.process.pid)
    times = [p.cpu_times() for p in (lab, *lab.children(recursive=True))]
    return sum(t.user + t.system for t in times)


def once(browser, folder: Path, cache: Path) -> tuple[float, ...]:  # type: ignore[no-untyped-def]
    """Seconds from typing to the forms, to the answer, from the last click to the answer; then the processor's."""
    first, last = clicks(folder)
    began = time.monotonic()
    typed = Typed(folder, cache)
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.set_default_timeout(PATIENCE_MS)
    try:
        page.goto(typed.address)
        page.wait_for_selector(READY)
        page.locator(first).click()
        ready = time.monotonic()
        page.wait_for_function("() => document.querySelector('.f-gut input').value !== ''")
        before = worked(typed)
        page.locator(last).click()
        clicked = time.monotonic()
        page.locator('.a-answer:has-text("Ask $")').first.wait_for()
        done, spent = time.monotonic(), worked(typed)
    finally:
        page.close()
        typed.stop()
    return ready - began, done - began, done - clicked, spent - before, spent


def main() -> None:
    """Print the median and the range of each, and how busy the machine was."""
    from playwright.sync_api import sync_playwright

    times = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as place, sync_playwright() as driver:
        found = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = driver.chromium.launch(executable_path=found, args=FLAGS)
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
    )
    for name, values in zip(names, zip(*runs, strict=True), strict=True):
        print(
            f"{name}: {median(values):.1f} s ({min(values):.1f} to {max(values):.1f}), {times} runs"
        )


if __name__ == "__main__":
    main()
