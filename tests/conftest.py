"""What more than one part's tests stand on."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")

DEMO = Path(__file__).resolve().parent.parent / "data_demo"
_CACHE = tempfile.TemporaryDirectory()


def pytest_configure() -> None:
    """The tests' own cache, empty at first: nothing is taken from the person's, nor left in it."""
    os.environ["FLEETLIB_CACHE"] = _CACHE.name


@pytest.fixture(scope="session")
def demo_fits():
    """The invented demo shop with its models fitted, as of the day its settings name."""
    from fleetlib.fits import fit_all
    from fleetlib.records.folder import read_records

    return fit_all(read_records(DEMO))
