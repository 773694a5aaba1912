"""Draw the README's pictures anew from the demo shop: `python .ci/readme_pictures.py` (needs a Chromium).

Run it after anything that moves a price; `tests/test_readme.py` says when the printed part is out of date.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import fleetlib as fl
from fleetlib.base.kit import demo_folder

ROOT = Path(__file__).resolve().parent.parent
PLACE = ROOT / "notebooks" / "pictures"
PIECE = "A-257"
QUIET = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync"


def main() -> None:
    """Write advice.png (the picture alone), page.png and review.png (the printed pages, their top part)."""
    from playwright.sync_api import sync_playwright

    shop = fl.open_shop(demo_folder())
    advice = shop.advise(shop.piece(PIECE))
    PLACE.mkdir(exist_ok=True)
    (PLACE / "advice.png").write_bytes(fl.picture(advice).png())
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        pages = {
            "page": fl.save_page(advice, Path(folder) / "page.html"),
            "review": fl.save_page(shop.review("2026-Q3"), Path(folder) / "review.html"),
        }
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=[*QUIET.split(), "--disable-background-networking", "--disable-component-update"],
        )
        for name, page in pages.items():
            view = browser.new_page(viewport={"width": 980, "height": 900})
            view.goto(page.as_uri())
            view.screenshot(path=str(PLACE / f"{name}.png"))
        browser.close()


if __name__ == "__main__":
    main()
