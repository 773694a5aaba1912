"""The stored table of living with the plans: whole, and as good as the developers' page says."""

from importlib.resources import files

import pandas as pd
import pytest

from fleetlib.trust.benchmarks import benchmark

TABLE = pd.read_csv(str(files("fleetlib.trust") / "benchmark_living.csv"))
KIT = TABLE[TABLE["policy"] == "kit"]


def test_every_world_is_there_from_both_starts_with_all_policies_and_four_shops() -> None:
    assert (TABLE["shops"] >= 4).all()
    for _, cell in TABLE.groupby("world"):
        assert set(cell["records"]) == {8, 25}
        assert set(cell["policy"]) == {"kit", "own", "own5", "own15"}
    assert any("bench_living" in note for note in benchmark("living").notes)


@pytest.mark.parametrize(("records", "mean", "worst"), [(8, 96.0, 90.0), (25, 96.2, 88.0)])
def test_plans_reach_most_of_what_one_who_knows_the_buyers_would(
    records: int, mean: float, worst: float
) -> None:
    cells = KIT[KIT["records"] == records]
    assert cells["of_oracle"].mean() >= mean and cells["of_oracle"].min() >= worst
    assert cells["over_5_off"].mean() > 0
    assert cells["ask_to_best"].median() == pytest.approx(1.0, abs=0.15)
