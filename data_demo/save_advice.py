"""Write the demo's advice_log.csv: `python data_demo/save_advice.py`, after make_demo.py.

The shop's owner saved the advice on what was on the market on two days of the last quarter, so that the quarterly
review has something to grade. Each day's advice is worked out from what was known on that day and no later. Like
any log it stays as it was written: a later fleetlib would advise otherwise, and that is no reason to write it anew.
"""

from __future__ import annotations

import shutil
import tempfile
from datetime import date
from pathlib import Path

import pandas as pd

import fleetlib as fl
from fleetlib.records.log.append import append_advice
from fleetlib.records.schema.columns import NAMES
from fleetlib.week.log_advice import logged

FOLDER = Path(__file__).resolve().parent
LOG = "advice_log.csv"
DAYS = (date(2026, 7, 1), date(2026, 8, 15))
LATER = {  # what is not yet known while its day lies ahead
    "listed_on": ("asking_price", "last_asking_price"),
    "sold_on": ("sale_price", "selling_fees", "delivery_charged", "last_asking_price"),
    "withdrawn_on": (),
}


def known_on(day: date, flips: pd.DataFrame) -> pd.DataFrame:
    """The record as it stood at the end of `day`: nothing bought, listed, sold or withdrawn later is in it."""
    today = pd.Timestamp(day)
    known = flips.loc[~(flips["bought_on"] > today), list(NAMES)].copy()
    for when, what in LATER.items():
        ahead = known[when] > today
        known.loc[ahead, when] = pd.NaT
        for column in what:
            known.loc[ahead, column] = float("nan")
    return known


def main() -> None:
    flips = fl.open_shop(FOLDER).flips
    with tempfile.TemporaryDirectory() as made:
        place = Path(made)
        for name in ("events.csv", "supplies.csv", "settings.toml"):
            shutil.copy(FOLDER / name, place / name)
        for day in DAYS:
            known_on(day, flips).to_csv(place / "flips.csv", index=False)
            shop = fl.open_shop(place, as_of=day)
            for name in shop.flips.loc[shop.flips["status"].eq("listed"), "piece"]:
                append_advice(place, logged(shop.advise(name)))
        shutil.copy(place / LOG, FOLDER / LOG)


if __name__ == "__main__":
    main()
