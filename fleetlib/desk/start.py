"""A new shop folder: record sheet, settings and notebooks, never over anything that is there."""

from __future__ import annotations

import json
from itertools import count
from pathlib import Path

from fleetlib.base.errors import CannotSave, MissingRecords
from fleetlib.base.kit import (
    RECORD_FILES,
    demo_folder,
    holds_records,
    inside_the_kit,
    notebooks_folder,
)
from fleetlib.base.saving import unfinished, write_whole
from fleetlib.desk.launch import launch_file, opens_with
from fleetlib.records.blank_sheet import blank_csv, blank_workbook, settings_text
from fleetlib.records.log.format_number import HEADING
from fleetlib.records.log.side_files import EVENT_COLUMNS, SUPPLY_COLUMNS

DEMO_FILES = (
    "flips.csv",
    "events.csv",
    "supplies.csv",
    "settings.toml",
    "finds.csv",
    "advice_log.csv",
)

# What each table beside the record is for, as lines that no reader takes for a row.
TEMPLATES = {
    "finds.csv": "# One row a find on offer this week; buy_price is what it would cost.\n"
    "# An example: dresser,oak,oil,52,18,32,90,one foot is loose\n"
    "furniture_type,wood,finish,width_in,depth_in,height_in,buy_price,notes\n",
    "supplies.csv": "# One row a purchase for all pieces together; shared_by is hours, pieces or none (blank: hours).\n"
    "# An example: 2026-09-28,sandpaper,25.40,hours\n" + ",".join(SUPPLY_COLUMNS) + "\n",
    "events.csv": "# One row a thing that happened to a piece; the forms and fleetlib log add to it, and so may you.\n"
    "# An example: 2026-09-30,A-113,asking_price,420,after a quiet week\n"
    + ",".join([*EVENT_COLUMNS, HEADING])
    + "\n",
}
_YOURS = (
    "flips.csv",
    "flips.xlsx",
    "settings.toml",
    *TEMPLATES,
)  # left as they are where they are there
# What the notebooks ask of the demo, and what the same line asks of anyone's records.
_ASKED = {
    'shop.piece(NAME or ("A-253" if shop.is_demo else ""))': "shop.piece(NAME)",
    'shop.review("2026-Q3")': "shop.review()",
}


def without_the_demo(notebook: str) -> bytes:
    """A notebook for one's own records: no stored answers, and no piece or quarter of the demo asked for."""
    made = json.loads(notebook)
    for cell in made["cells"]:
        if cell["cell_type"] != "code":
            continue
        text = "".join(cell["source"])
        for demo, own in _ASKED.items():
            text = text.replace(demo, own)
        cell.update(source=text.splitlines(keepends=True), outputs=[], execution_count=None)
    return (json.dumps(made, ensure_ascii=False, indent=1) + "\n").encode("utf-8")


def start_shop(folder: str | Path, *, demo: bool = False) -> list[Path]:
    """Make `folder` a shop: a blank record sheet (or with `demo` the invented shop), settings, notebooks, and a
    file to double-click (`desk.launch`).

    A start that was cut off is finished: what it wrote stays, what is missing is written. Returns the files written.
    Your own record, settings and tables that are there are left as they are. Raises CannotSave before anything is
    written when another of them is there with another content, when all are there,
    or when the folder lies inside fleetlib's own; nothing is ever overwritten.
    """
    place = Path(folder)
    if inside_the_kit(place):
        raise CannotSave(
            f"{place} is inside fleetlib's own folder, which an upgrade replaces; your records would go with it. "
            f"Name a place of your own, such as {Path.home() / 'Documents' / (place.name or 'my-shop')}."
        )
    files: dict[str, bytes] = {}
    if demo:
        files = {
            n: (demo_folder() / n).read_bytes() for n in DEMO_FILES if (demo_folder() / n).is_file()
        }
    else:
        files = {
            "flips.xlsx": blank_workbook(),
            "flips.csv": blank_csv().encode("utf-8"),
            "settings.toml": settings_text().encode("utf-8"),
            **{name: text.encode("utf-8") for name, text in TEMPLATES.items()},
        }
        files = {n: c for n, c in files.items() if not _stands(place, n, c)}
    files |= _notebooks(demo=demo)
    lack = unfinished(place, files)
    if not lack and opens_with(place):
        raise CannotSave(f"{place} is a shop folder already; nothing was written.")
    written = [write_whole(place / name, files[name], replace=False) for name in lack]
    return [*written, launch_file(place)]


def _stands(place: Path, name: str, content: bytes) -> bool:
    """Whether a file of theirs is in the place of this one; a record may have any of its names."""
    if name in ("flips.csv", "flips.xlsx"):
        return any(
            p.name.lower() in RECORD_FILES and p.is_file() and p.read_bytes() != blank
            for p, blank in (
                (p, _blank(p.name)) for p in (place.iterdir() if place.is_dir() else ())
            )
        )
    return name in _YOURS and (place / name).is_file() and (place / name).read_bytes() != content


def _blank(name: str) -> bytes:
    """The blank record of this name."""
    if name.lower() == "flips.xlsx":
        return blank_workbook()
    return blank_csv().encode("utf-8") if name.lower() == "flips.csv" else b""


def newer_notebooks(folder: str | Path) -> list[Path]:
    """Lay this kit's notebooks into the shop `folder`: missing ones by their name, newer ones beside those there.

    A notebook of the same cells is left as it is, whatever it answered. The file to double-click is written anew
    for this kit. Returns the files written; nothing else in the folder is touched. Raises MissingRecords for a
    folder without records.
    """
    place = Path(folder)
    if not holds_records(place):
        raise MissingRecords(f"{place} holds no flips.csv or flips.xlsx. Name your shop folder.")
    flips = place / "flips.csv"
    demo = flips.is_file() and flips.read_bytes() == (demo_folder() / "flips.csv").read_bytes()
    written = []
    for name, content in _notebooks(demo=demo).items():
        if path := _beside(place / name, content):
            written.append(write_whole(path, content, replace=False))
    return [*written, launch_file(place)]


def _notebooks(*, demo: bool) -> dict[str, bytes]:
    """The kit's notebooks by their names, for the demo or for one's own records."""
    return {
        source.name: source.read_bytes()
        if demo
        else without_the_demo(source.read_text(encoding="utf-8"))
        for source in sorted(notebooks_folder().glob("*.ipynb"))
    }


def _beside(path: Path, content: bytes) -> Path | None:
    """Where a newer notebook goes: its own name, else `NAME (new)`, `NAME (new 2)`; None where it is there."""
    for number in count():
        mark = "" if number == 0 else " (new)" if number == 1 else f" (new {number})"
        place = path.with_name(f"{path.stem}{mark}{path.suffix}")
        if not place.exists():
            return place
        if _cells(place.read_bytes()) == _cells(content):
            return None
    return None


def _cells(notebook: bytes) -> list[tuple[str, str]] | None:
    """What a notebook says and asks, without its answers; None for one that cannot be read."""
    try:
        cells = json.loads(notebook)["cells"]
        return [(str(c["cell_type"]), "".join(c["source"])) for c in cells]
    except (ValueError, KeyError, TypeError):
        return None
