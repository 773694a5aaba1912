"""A column added by the book, in a copy of the package: it is read, priced with, and asked for."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import fleetlib

COLUMN = """COLUMNS: tuple[Column, ...] = (
    _column("legs", "The legs.", "leg style", kind="word", example="tapered", tells=("price", "hours")),
"""
FIELD = "    route: str | None = None\n"

PRICED = """
import numpy as np, pandas as pd
from datetime import date
import fleetlib as fl
from fleetlib.price.fit import fit_prices
from fleetlib.work.hours import fit_hours
rng = np.random.default_rng(1)
legs = np.where(np.arange(60) % 2, "tapered", "bun")
lines = ["type,leg style,hours,listed,asking,sold,sold for"]
for i, leg in enumerate(legs):
    factor = (1.5 if leg == "tapered" else 1.0) * np.exp(rng.normal(0, .08))
    month = 1 + i % 6
    ask, sale = 330 * factor, 300 * factor
    lines.append(
        f"desk,{leg},{8 * factor:.1f},2026-0{month}-01,{ask:.0f},2026-0{month}-20,{sale:.0f}"
    )
open("flips.csv", "w").write("\\n".join(lines))
flips = fl.read_flips("flips.csv").flips
prices, hours = fit_prices(flips, as_of=date(2026, 9, 30)), fit_hours(flips)
a, b = fl.Piece(furniture_type="desk", legs="tapered"), fl.Piece(furniture_type="desk", legs="bun")
usual = prices.usual([a, b])
print(usual[0] / usual[1], hours.expected(a) / hours.expected(b))
from fleetlib.records.schema.table_schema import table_schema
assert "legs" in [f["name"] for f in table_schema()["fields"]]
"""


def _copy(folder: Path, *, with_field: bool) -> subprocess.CompletedProcess[str]:
    made = folder / "fleetlib"
    ignore = shutil.ignore_patterns("__pycache__")
    shutil.copytree(Path(fleetlib.__file__).parent, made, ignore=ignore)
    columns, piece = made / "records" / "schema" / "columns.py", made / "records" / "piece.py"
    columns.write_text(columns.read_text().replace("COLUMNS: tuple[Column, ...] = (\n", COLUMN))
    if with_field:
        piece.write_text(piece.read_text().replace(FIELD, FIELD + "    legs: str | None = None\n"))
    env = os.environ | {"PYTHONPATH": str(folder)}
    return subprocess.run(
        [sys.executable, "-c", PRICED], cwd=folder, env=env, capture_output=True, text=True
    )


def test_a_column_added_by_the_book_moves_the_price_and_the_hours(tmp_path: Path) -> None:
    ran = _copy(tmp_path, with_field=True)
    assert ran.returncode == 0, ran.stderr
    price, hours = map(float, ran.stdout.split())
    assert price == pytest.approx(1.5, rel=0.1)
    assert hours == pytest.approx(1.5, rel=0.1)


def test_a_column_without_its_field_on_the_piece_is_refused_by_name(tmp_path: Path) -> None:
    ran = _copy(tmp_path, with_field=False)
    assert ran.returncode != 0
    assert "Piece and columns.py differ in legs" in ran.stderr
