"""A new shop folder: record sheet, settings and notebooks, never over anything that is there."""

from __future__ import annotations

from pathlib import Path

from fleetlib.errors import CannotSave
from fleetlib.kit import demo_folder, notebooks_folder
from fleetlib.records.sheet import blank_csv, blank_workbook, settings_text
from fleetlib.saving import write_whole

DEMO_FILES = ("flips.csv", "events.csv", "supplies.csv", "settings.toml", "finds.csv")


def start_shop(folder: str | Path, *, demo: bool = False) -> list[Path]:
    """Make `folder` a shop: a blank record sheet (or with `demo` the invented shop), settings, notebooks.

    Returns the files written. Raises CannotSave before anything is written when one of them is there
    already; nothing is ever overwritten.
    """
    place = Path(folder)
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
        }
    for source in sorted(notebooks_folder().glob("*.ipynb")):
        files[source.name] = source.read_bytes()
    there = [name for name in files if (place / name).exists()]
    if there:
        raise CannotSave(
            f"{place} already holds {', '.join(there[:3])}{' and more' if len(there) > 3 else ''}; nothing was "
            "written. Choose a new folder."
        )
    return [write_whole(place / name, content, replace=False) for name, content in files.items()]
