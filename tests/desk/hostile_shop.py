"""A shop folder whose every text cell tries to be something else than text."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

AS_OF = date(2026, 9, 30)
SCRIPT = "<script>document.title='owned'</script>"
IMAGE = '"><img src=x onerror="document.title=1">'
HOSTILE = (
    SCRIPT,
    IMAGE,
    "=cmd|' /C calc'!A0",
    "../../../etc/passwd",
    "{{ 7 * 7 }}{% raw %}",
    "</td></table><h1>gone</h1>",
    "&lt;b&gt; &amp; 'quoted' \"twice\"",
    "<style>*{display:none}</style>",
    "javascript:alert(1)",
    "<!-- <a href='http://outside.invalid/'>",
)
COLUMNS = (
    "piece", "furniture_type", "wood", "finish", "style", "width_in", "depth_in", "height_in", "buy_price",
    "materials_cost", "hours", "bought_on", "listed_on", "asking_price", "sold_on", "sale_price", "channel", "notes",
)  # fmt: skip


def write_hostile_shop(folder: Path) -> Path:
    """24 sold pieces, four listed and two in work, each with a different hostile text in every text column."""
    with (folder / "flips.csv").open("w", newline="", encoding="utf-8") as stream:
        lines = csv.writer(stream)
        lines.writerow(COLUMNS)
        for k in range(30):
            lines.writerow(_row(k))
    with (folder / "events.csv").open("w", newline="", encoding="utf-8") as stream:
        lines = csv.writer(stream)
        lines.writerow(["on", "piece", "event", "amount", "note"])
        lines.writerow(["2026-09-25", _name(26), "offer", "120", SCRIPT])
        lines.writerow(["2026-09-01", _name(24), "cost", "12.50", IMAGE])
    with (folder / "supplies.csv").open("w", newline="", encoding="utf-8") as stream:
        lines = csv.writer(stream)
        lines.writerow(["bought_on", "item", "cost", "shared_by"])
        lines.writerow(["2026-08-01", SCRIPT, "20", "hours"])
    return folder


def _text(k: int) -> str:
    return HOSTILE[k % len(HOSTILE)]


def _name(k: int) -> str:
    return f"{_text(k)} {k}"


def _row(k: int) -> list[object]:
    day = AS_OF - timedelta(days=150 - 4 * k)
    sold = k < 24
    listed = k < 28
    return [
        _name(k), _text(k // 3), _text(k + 1), _text(k + 2), _text(k + 3), 40, 20, 34, 40 + k, 10, 5 + k % 4,
        day - timedelta(days=20), day if listed else "", 200 + 10 * (k % 7) if listed else "",
        day + timedelta(days=10 + k) if sold else "", 180 + 9 * (k % 7) if sold else "", _text(k + 4), _text(k + 5),
    ]  # fmt: skip
