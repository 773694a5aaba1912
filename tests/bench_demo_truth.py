"""How well the demo shop's truth is found, over many seeds: `python -m tests.bench_demo_truth [SHOPS]`.

Each shop is drawn, written down roughly, read back and fitted, as a person's would be. Printed: how many
95% intervals of each feature's effects hold the truth, how many 80% and 95% intervals hold sales that were
held back (a fifth of each shop), and the price sensitivity found.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.price.features import model_columns
from fleetlib.price.fit import PriceFit, fit_prices
from fleetlib.records.folder import Records, read_records
from fleetlib.selling.fit import fit_selling_time
from fleetlib.selling.weeks_at_risk import listing_histories

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "data_demo"))
import make_demo

TRUTH = make_demo.TRUTH
EFFECTS = {
    "furniture_type": TRUTH.type_effect,
    "wood": TRUTH.wood_effect,
    "finish": TRUTH.finish_effect,
    "style": TRUTH.style_effect,
}


def main(shops: int) -> None:
    """Print the table for `shops` drawn histories."""
    effects, sales, pulls = [], [], []
    for seed in range(shops):
        with tempfile.TemporaryDirectory() as folder:
            make_demo.write_untidy(make_demo.make_shop(seed), folder)
            records = read_records(folder)
        fit = fit_prices(records.flips, as_of=records.as_of)
        effects.append(effects_of(fit))
        sales.append(held_back(records, seed))
        pulls.append(sensitivity(records, fit))
    table = pd.concat(effects, ignore_index=True)
    table["held"] = table["truth"].between(table["low"], table["high"])
    table["off"] = table["estimate"] - table["truth"]
    print(f"{shops} shops. 95% intervals of effects that hold the truth:")
    print(table.groupby("feature")["held"].agg(["mean", "size"]).round(3).to_string())
    types = table[table["feature"] == "furniture_type"]
    print(
        types.groupby("setting")[["held", "truth", "estimate", "off"]].mean().round(3).to_string()
    )
    back = pd.concat(sales, ignore_index=True)
    print("\nHeld-back sales:", len(back))
    print(back[["in80", "in95"]].mean().round(3).to_string())
    print(f"median absolute error {100 * back['error'].abs().median():.1f}%")
    low, middle, high = np.quantile(pulls, (0.1, 0.5, 0.9))
    print(
        f"\nPrice sensitivity: {middle:.1f} ({low:.1f} to {high:.1f}); truth {TRUTH.sensitivity:g}"
    )


def effects_of(fit: PriceFit) -> pd.DataFrame:
    """The factors' effects (log, against the average sale) beside the truth."""
    table = fit.regressor.effects(0.95)
    parts = []
    for feature, truth in EFFECTS.items():
        part = table[table["feature"] == feature].copy()
        if not len(part):
            continue
        part["truth"] = part["setting"].map(truth)
        part["truth"] -= (part["truth"] * part["sales"]).sum() / part["sales"].sum()
        for name, column in (("estimate", "effect"), ("low", "low"), ("high", "high")):
            part[name] = np.log1p(part[column] / 100)
        parts.append(part)
    return pd.concat(parts, ignore_index=True)


def held_back(records: Records, seed: int) -> pd.DataFrame:
    """A fifth of the sales priced from the rest."""
    sold = records.flips[records.flips["status"] == "sold"].sort_values("sold_on")
    back = np.arange(len(sold)) % 5 == seed % 5
    fit = fit_prices(sold[~back], as_of=records.as_of)
    columns = model_columns(sold[back], as_of=records.as_of)
    price = sold.loc[back, "sale_price"].to_numpy()
    inside = {}
    for level in (0.80, 0.95):
        low, high = fit.regressor.predict_interval(columns, level).T
        inside[f"in{100 * level:.0f}"] = (low <= price) & (price <= high)
    return pd.DataFrame(inside).assign(error=fit.regressor.predict(columns) / price - 1)


def sensitivity(records: Records, prices: PriceFit) -> float:
    """How much the log weekly chance falls for each log point on the asking price, at the usual price."""
    usual = pd.Series(prices.usual(records.flips, at_own_time=True), index=records.flips.index)
    usual[prices.sales.index] = prices.usual_left_out()
    listings = listing_histories(
        records.flips, records.events, usual_price=usual.to_numpy(), as_of=records.as_of
    )
    hazard = fit_selling_time(listings).hazard("dresser", 400.0)
    rates = hazard.log_rate(400.0 * np.exp(np.array([-0.05, 0.05])))
    return float(rates[0] - rates[1]) / 0.10


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
