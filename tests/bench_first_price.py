"""From typing `lab` to the first price: clicks and seconds, in a real browser on this machine.

    python -m tests.bench_first_price [times]

The demo shop, a warm machine (one opening before counts for nothing). The piece is one of those last used, so its own
price is on record and nothing need be typed. The answer counts as there when "Ask" stands in large letters.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from fleetlib.desk.start import start_shop
from tests.browser.conftest import FLAGS
from tests.browser.opened import PATIENCE_MS, READY, Typed

CLICKS = (".b-last0", ".b-price")


def once(browser, folder: Path, cache: Path) -> tuple[float, float, float]:  # type: ignore[no-untyped-def]
    """Seconds from typing to the forms, to the answer, and from the last click to the answer."""
    began = time.monotonic()
    typed = Typed(folder, cache)
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.set_default_timeout(PATIENCE_MS)
    try:
        page.goto(typed.address)
        page.wait_for_selector(READY)
        page.locator(CLICKS[0]).wait_for()
        ready = time.monotonic()
        page.locator(CLICKS[0]).click()
        page.wait_for_function("() => document.querySelector('.f-gut input').value !== ''")
        page.locator(CLICKS[1]).click()
        clicked = time.monotonic()
        page.locator('.a-answer:has-text("Ask $")').first.wait_for()
        done = time.monotonic()
    finally:
        page.close()
        typed.stop()
    return ready - began, done - began, done - clicked


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
    print(f"clicks: {len(CLICKS)}; load average of the last minute: {os.getloadavg()[0]:.1f}")
    names = ("typing to the forms", "typing to the first price", "last click to the price")
    for name, values in zip(names, zip(*runs, strict=True), strict=True):
        print(
            f"{name}: {median(values):.1f} s ({min(values):.1f} to {max(values):.1f}), {times} runs"
        )


if __name__ == "__main__":
    main()
