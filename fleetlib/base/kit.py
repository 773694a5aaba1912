"""Where the notebooks and the demo shop are: beside the code in a checkout, inside the package once installed."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from fleetlib.base.errors import MissingRecords

RECORD_FILES = ("flips.csv", "flips.xlsx", "flips.tsv", "flips.txt")
# The folder that a page of the kit is opened for; set by `fleetlib lab` for the page's kernel alone.
SHOP_FOLDER = "FLEETLIB_SHOP_FOLDER"
_HERE = Path(__file__).resolve().parent.parent


def kit_folder(name: str) -> Path:
    """The folder `notebooks` or `data_demo` that came with fleetlib. Raises MissingRecords when it did not."""
    for place in (_HERE / "_kit" / name, _HERE.parent / name):
        if place.is_dir():
            return place
    raise MissingRecords(
        f"The folder {name} did not come with this copy of fleetlib. Install it again."
    )


def kit_version() -> str:
    """This fleetlib's version, as `0.1.0`; "" where it runs without having been installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("fleetlib")
    except PackageNotFoundError:
        return ""


def demo_folder() -> Path:
    """The invented demo shop's records."""
    return kit_folder("data_demo")


def is_kit_demo(folder: Path) -> bool:
    """True for the demo that came with fleetlib, which is never written to; a started copy is another folder."""
    return folder.resolve() == demo_folder().resolve()


def notebooks_folder() -> Path:
    """The notebooks that walk through everything."""
    return kit_folder("notebooks")


def cache_folder() -> Path:
    """Where the kit's own copies are kept; it may be deleted at any time while no page is open."""
    if own := os.environ.get("FLEETLIB_CACHE"):
        return Path(own)
    if os.name == "nt":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home()) / "fleetlib" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "fleetlib"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "fleetlib"


def usual_folder() -> Path:
    """Where to look when nobody named a folder: the shop a page was opened for, this one, or the demo shop."""
    if told := os.environ.get(SHOP_FOLDER):
        return Path(told)
    here = Path.cwd()
    return here if holds_records(here) else demo_folder()


def holds_records(folder: str | Path) -> bool:
    """True where `folder` holds a record that can be read."""
    place = Path(folder)
    found = place.iterdir() if place.is_dir() else ()
    return any(p.name.lower() in RECORD_FILES and p.is_file() for p in found)


def inside_the_kit(place: Path) -> bool:
    """True for a place in fleetlib's own folders, which an upgrade replaces: the checkout, or the installed package."""
    homes = {_HERE} | ({_HERE.parent} if (_HERE.parent / "pyproject.toml").is_file() else set())
    return any(place.resolve().is_relative_to(home) for home in homes)
