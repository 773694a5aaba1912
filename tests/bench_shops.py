"""How much sooner many shops are priced by several processes: python -m tests.bench_shops [shops] [flips a shop]

Seconds by the clock with one job and with two, each once after a small warm-up and from an empty cache, on invented
shops; their ratio (2 at best) and whether the numbers are the same. On a busy machine the ratio tells of the machine.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from fleetlib.desk.many_shops import price_shops, shop_folders
from tests.bench_records import untidy_csv


def main() -> None:
    """Price the same shops twice and print both times."""
    count, flips = (int(a) for a in [*sys.argv[1:], "16", "250"][:2])
    with tempfile.TemporaryDirectory() as place:
        for n in range(count):
            (Path(place) / f"shop-{n:03d}").mkdir()
            (Path(place) / f"shop-{n:03d}" / "flips.csv").write_text(
                untidy_csv(flips, seed=n), encoding="utf-8"
            )
        folders = shop_folders(place)
        os.environ["FLEETLIB_CACHE"] = str(Path(place) / "cache")
        price_shops(folders[:2], jobs=2)
        taken, tables = [], []
        for jobs in (1, 2):
            shutil.rmtree(Path(place) / "cache")  # else the second finds what the first worked out
            began = time.monotonic()
            tables.append(price_shops(folders, jobs=jobs).table)
            taken.append(time.monotonic() - began)
    mids = [t["mid"].to_numpy() for t in tables]
    same = "the same" if np.array_equal(*mids, equal_nan=True) else "DIFFERENT"
    print(
        f"{count} shops of {flips} flips, {len(mids[0])} pieces on hand, load {os.getloadavg()[0]:.1f}: one job "
        f"{taken[0]:.0f} s, two jobs {taken[1]:.0f} s, {taken[0] / taken[1]:.2f} times as fast, {same} numbers"
    )


if __name__ == "__main__":
    main()
