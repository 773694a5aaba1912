"""Published sizes as a museum types them, read through the same door and held against its own cleaned columns.

Source: Tate collection metadata (CC0 1.0), fourteen consecutive works; see `tests/data/README.md`.
"""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

from fleetlib.records.parsing.sizes import split_sizes

DATA = Path(__file__).parents[1] / "data" / "tate_dimensions.csv"
ROWS = list(csv.DictReader(io.StringIO(DATA.read_text(encoding="utf-8"))))
ORDER = ("height_in", "width_in", "depth_in")  # the museum's
MM = 25.4


def test_a_cell_with_two_sizes_is_asked_about_and_never_one_of_them() -> None:
    found = split_sizes([r["dimensions"] for r in ROWS], unit="in", order=ORDER)
    assert all(math.isnan(v) for side in found.sides.values() for v in side)
    assert all(why.startswith("left out") for why in found.why)


def test_one_size_of_three_sides_is_what_the_museums_columns_say() -> None:
    first = [r["dimensions"].split("\n")[0].removeprefix("support: ") for r in ROWS]
    found = split_sizes(first, unit="in", order=ORDER)
    wrong, right, asked = [], 0, 0
    for i, row in enumerate(ROWS):
        for side, column in zip(ORDER, ("first", "second"), strict=False):
            value = found.sides[side][i]
            if math.isnan(value):
                asked += 1
            elif abs(value * MM - float(row[column])) <= 0.005 * MM + 0.01:
                right += 1
            else:
                wrong.append((i, side, value))
    assert not wrong
    assert (right, asked) == (26, 2)  # the one with two sides does not say which they are
