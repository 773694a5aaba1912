"""Published series whose days are written in three habits, read through the same door and held against another parser.

Sources, as installed with the libraries that the tests need: statsmodels' `co2` (weekly at Mauna Loa, days without
marks) and `elec_equip` (Eurostat's turnover, Jan-1-1995), matplotlib's sample of daily prices (19-Sep-03). Money with
signs, words and slips is in no file of an installed library that we found.
"""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import matplotlib
import pandas as pd
import pytest
import statsmodels

from fleetlib.records.parsing.amounts import read_money
from fleetlib.records.parsing.dates import read_dates

STATS = Path(statsmodels.__file__).parent / "datasets"
SERIES = {
    "co2": (STATS / "co2" / "co2.csv", "%Y%m%d", 2284),
    "elec_equip": (STATS / "elec_equip" / "elec_equip.csv", "%b-%d-%Y", 257),
    "prices": (Path(matplotlib.get_data_path()) / "sample_data" / "msft.csv", "%d-%b-%y", 65),
}


@pytest.mark.parametrize("name", SERIES)
def test_every_day_of_a_published_series_is_read_as_another_parser_reads_it(name: str) -> None:
    path, written, count = SERIES[name]
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))[1:]
    days = [row[0] for row in rows]
    read = [c.value for c in read_dates(days, as_of=date(2026, 9, 30)).cells]
    assert len(days) == count
    assert read == pd.to_datetime(days, format=written).strftime("%Y-%m-%d").tolist()
    amounts = [c.value for c in read_money([row[1] for row in rows])]
    assert amounts == [float(row[1]) if row[1] else None for row in rows]
