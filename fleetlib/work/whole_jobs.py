"""Which pieces show what a whole job takes."""

from __future__ import annotations

import pandas as pd


def whole_jobs(flips: pd.DataFrame) -> pd.DataFrame:
    """The rows of `flips` whose work was done to the end: neither in work nor given up on the bench.

    A piece withdrawn that was never listed nor priced (scrapped, or kept half done) was given up: what it
    took is not what such a piece takes.
    """
    never = pd.Series(True, index=flips.index)
    for column in ("listed_on", "asking_price"):
        if column in flips:
            never &= flips[column].isna()
    given_up = (flips["status"] == "withdrawn") & never
    return flips[(flips["status"] != "in work") & ~given_up]
