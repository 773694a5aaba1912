"""The stored table of living with the plans: whole, and as good as the developers' page says."""

from importlib.resources import files

import pandas as pd
import pytest

from fleetlib.trust.benchmarks import benchmark
from tests.bench_living_files import SUMMED

KIT = pd.read_csv(str(files("fleetlib.trust") / "benchmark_living.csv"))


def test_every_world_is_there_from_both_starts_with_twelve_shops_beside_three_rules() -> None:
    assert (KIT["shops"] >= 12).all()
    for _, cell in KIT.groupby("world"):
        assert set(cell["records"]) == {8, 25}
    over = KIT["of_oracle"] - KIT["5_off"]
    assert over.to_numpy() == pytest.approx(KIT["over_5_off"].to_numpy(), abs=0.02)
    assert KIT[["own_price_held", "15_off"]].notna().all(axis=None)
    assert any("bench_living" in note for note in benchmark("living").notes)


@pytest.mark.parametrize(("records", "mean", "worst"), [(8, 96.0, 87.0), (25, 96.2, 88.0)])
def test_plans_reach_most_of_what_one_who_knows_the_buyers_would(
    records: int, mean: float, worst: float
) -> None:
    cells = KIT[KIT["records"] == records]
    assert cells["of_oracle"].mean() >= mean and cells["of_oracle"].min() >= worst
    assert cells["over_5_off"].mean() > 0
    assert cells["ask_to_best"].median() == pytest.approx(1.0, abs=0.15)


def test_the_year_through_the_files_is_whole_and_says_what_the_page_says() -> None:
    shown = benchmark("living_files")
    year = pd.read_csv(str(files("fleetlib.trust") / "benchmark_living_files.csv"))
    assert set(year["records"]) == {8, 25} and (year["shops"] >= 16).all()
    assert set(year["figure"]) == set(SUMMED)
    off = year.pivot_table(index="figure", columns="records", values="off")
    assert (off.loc["net of the kit, less the oracle's on the same pieces"] > -0.03).all()
    left = off[off.index.str.startswith("left above the target pay")]
    kit = left.loc["left above the target pay in the year: the kit"]
    assert (kit > left.loc["left above the target pay: a third of the own price, 5% off"]).all()
    assert any("bench_living_files" in note for note in shown.notes)
