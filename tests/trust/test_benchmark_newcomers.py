"""The stored table of prices with and without what is borrowed: whole, and no worse with it."""

from importlib.resources import files

import pandas as pd

from fleetlib.trust.benchmarks import benchmark

TABLE = pd.read_csv(str(files("fleetlib.trust") / "benchmark_newcomers.csv"))


def test_borrowing_is_better_with_few_sales_and_does_no_harm_later() -> None:
    assert TABLE["n"].tolist() == [8, 15, 25] and (TABLE["shops"] >= 30).all()
    assert (TABLE["ratio"].head(2) + 2 * TABLE["ratio_error"].head(2) < 1).all()
    assert (TABLE["ratio"] - 2 * TABLE["ratio_error"] < 1).all()


def test_ranges_hold_about_as_many_as_they_say() -> None:
    away = (TABLE["held_with"] - 0.81).abs() - 2 * TABLE["held_error"]
    assert (away < 0.05).all()


def test_it_is_shown_with_its_day_and_command() -> None:
    notes = benchmark("newcomers").notes
    assert any("bench_newcomers" in n for n in notes) and any("Measured on" in n for n in notes)
