"""The stored benchmark of the markdown plans: whole, and as good as the guide says."""

from importlib.resources import files

import pandas as pd
import pytest

TABLE = pd.read_csv(str(files("fleetlib.trust") / "benchmark_markdowns.csv"))


def test_every_world_is_there_at_every_size():
    sizes = TABLE.groupby("world")["listings"].apply(lambda n: sorted(n))
    assert len(sizes) == 27
    assert all(n == [20, 60, 120, 250] for n in sizes)


@pytest.mark.parametrize(("listings", "least"), [(20, 96.5), (60, 97.0), (120, 97.5), (250, 98.0)])
def test_base_world_reaches_its_share_of_the_oracle(listings, least):
    row = TABLE[TABLE["world"].eq("base") & TABLE["listings"].eq(listings)]
    assert row["plan"].item() >= least


FAR = "far: fast inelastic"
HARDEST = "inelastic constant"  # see bench_markdown_limit: with base it is at the edge of what can be known


@pytest.mark.parametrize(("listings", "least"), [(60, 94.0), (120, 95.0)])
def test_every_other_world_but_the_hardest_reaches_94_and_95_per_cent(listings, least):
    rows = TABLE[TABLE["listings"].eq(listings)].set_index("world")["plan"]
    assert rows.drop([FAR, HARDEST]).min() >= least
    assert rows[HARDEST] >= least - 1.0
    assert rows[FAR] >= 88.0


@pytest.mark.parametrize(("listings", "least"), [(60, 83.0), (120, 84.0), (250, 83.0)])
def test_the_worst_shop_is_not_far_behind(listings, least):
    rows = TABLE[TABLE["listings"].eq(listings)].set_index("world")["worst_shop"]
    assert rows.drop(FAR).min() >= least


def test_three_points_above_the_best_rule_of_thumb_from_120_listings():
    rules = [c for c in TABLE if "held" in c or "every" in c or "month" in c or "hold" in c]
    assert len(rules) == 6
    row = TABLE[TABLE["world"].eq("base")].set_index("listings")
    gain = row["plan"] - row[rules].max(axis=1)
    assert gain[120] >= 3.0
    assert gain[250] >= 3.0
    assert gain[60] >= 2.0
    assert gain[20] >= 0.5


def test_the_chance_sold_is_fair_and_its_range_holds_it_about_8_times_in_10():
    near = TABLE[~TABLE["world"].str.startswith("far")]
    rows = near[near["listings"].eq(120)]
    assert abs(rows["chance_8_weeks_bias"].mean()) <= 0.03
    assert rows["chance_8_weeks_error"].mean() <= 0.07
    assert 0.75 <= rows["chance_8_weeks_in_range"].mean() <= 0.9
    assert near["chance_8_weeks_in_range"].min() >= 0.5


def test_plans_beat_the_plain_regression_in_every_world_but_one():
    rows = TABLE[TABLE["listings"].ge(60)]
    beaten = rows["plan"] > rows["plain regression"]
    # Where the owner's own price means nothing there is no trap, and with many listings none to fall into.
    assert set(rows.loc[~beaten, "world"]) <= {"random pricer"}
