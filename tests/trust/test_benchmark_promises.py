"""The stored table of promises: whole, dated, and with an error beside every figure."""

from importlib.resources import files

import pandas as pd

from fleetlib.trust.benchmarks import benchmark
from tests.bench_promises import FAMILIES

TABLE = pd.read_csv(str(files("fleetlib.trust") / "benchmark_promises.csv"))


def test_every_row_has_its_figure_its_error_and_its_shops():
    assert TABLE[["off", "error", "shops"]].notna().all().all()
    assert (TABLE["error"] > 0).all() and (TABLE["shops"] >= 30).all()
    known = {row[0].strip() for family in FAMILIES for row in family.ROWS}
    assert set(TABLE["promise"]) <= known


def test_no_promise_misses_its_bar_by_more_than_twice_its_error():
    told = TABLE[TABLE["bar"].notna()]
    assert ((told["off"].abs() - told["bar"]) < 2 * told["error"]).all()


def test_it_is_shown_with_its_day():
    assert "Measured on" in str(benchmark("promises"))
