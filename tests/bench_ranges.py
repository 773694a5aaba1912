"""Whether price ranges hold what they say through the whole path: a spreadsheet in, an answer out.

    python -m tests.bench_ranges                          # 4 shops a world and size, some minutes on one core
    python -m tests.bench_ranges --shops 20 --runs FILE   # also writes every single run

Each run draws a shop whose truth is known (`WORLDS`; drawn by rules of our own, no source), writes its sales to
a CSV, reads it as the person's record, fits, and prices 60 pieces listed on that day that sell after their own
time. Held: the share of their sale prices in the 80% range; said: the share it says the next ones should have;
score: the interval score of the log price (Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102: 359-378, eq. 43);
bias: mean of log mid less mean of log price, so that the luck of 60 draws (about .03) is still in it; ratio: the score
over that of scikit-learn's BayesianRidge on the same sales, every word a column of its own, log sizes and the year too.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from fleetlib.price.features import model_columns
from fleetlib.price.fit import PriceFit, fit_prices, share_to_expect
from fleetlib.price.priors import KINDS as KNOWN
from fleetlib.price.priors import OTHER_KIND, usual_cuft
from fleetlib.records.folder import read_records

AS_OF = date(2026, 9, 30)
SIZES = (15, 25, 40, 60, 120, 250)
ASKED = 60
KINDS = ("dresser", "desk", "bookcase", "nightstand", "sideboard", "armchair", "wardrobe", "bench")
WOODS = ("oak", "pine", "walnut", "maple", "cherry", "mahogany")
FINISHES = ("oil", "paint", "varnish", "wax")
STYLES = ("farmhouse", "mid-century", "victorian", "colonial")
BUILDS = ("solid", "veneer", "laminate")


@dataclass(frozen=True)
class World:
    """What is true of one kind of shop; sds and effects on log price."""

    name: str
    effects: float = 1.0  # of type .45, wood .2, finish .1
    side: float = 0.05  # sd of style and construction, and what a step of grade brings
    elasticity: float = 0.45
    noise: float = 0.25
    unequal: float = 0.0  # sd between types of log noise
    heavy: bool = False
    bad: float = 0.0  # share of prices half or double
    twins: float = 0.0  # share of sales in pairs that share .9 of their noise's variance
    drift: float = 0.0
    fell: float = 0.0  # log price step a year ago
    season: float = 0.0
    known: float | None = (
        None  # kinds stand where asks in general say, times this, give or take .25
    )
    turned: bool = False  # but the kind most seen the other way round
    own: float = (
        0.0  # sd of the owner's own price about 10% above what each brings; 0: none written down
    )


WORLDS = (
    World("base"),
    World("side columns matter", side=0.2),
    World("effects doubled", effects=2.0),
    World("effects halved", effects=0.5),
    World("size says nothing", elasticity=0.0),
    World("size says all", elasticity=1.0),
    World("unequal noise", unequal=0.6),
    World("heavy tails", heavy=True),
    World("bad prices", bad=0.05),
    World("twins", twins=0.6),
    World("drift 3%, season 15%", drift=0.03, season=0.15),
    World("drift 15%", drift=0.15),
    World("break of a quarter", fell=-0.25),
)


def draw_shop(world: World, n: int, rng: np.random.Generator) -> tuple[pd.DataFrame, pd.DataFrame]:
    """`n` sales of three years, and `ASKED` pieces with the price each will bring, as a person writes them."""
    m = n + ASKED
    effects = {
        name: dict(zip(words, rng.normal(0, sd, len(words)), strict=True))
        for name, words, sd in (
            ("furniture_type", KINDS, 0.45 * world.effects),
            ("wood", WOODS, 0.2 * world.effects),
            ("finish", FINISHES, 0.1 * world.effects),
            ("style", STYLES, world.side),
            ("construction", BUILDS, world.side),
        )
    }
    made = pd.DataFrame(
        {
            k: rng.choice(list(v), m, p=rng.dirichlet(np.full(len(v), 2.0)))
            for k, v in effects.items()
        }
    )
    if world.known is not None:
        effects["furniture_type"] = {
            k: world.known * KNOWN.get(k, OTHER_KIND).value + rng.normal(0, 0.25) for k in KINDS
        }
        most = made["furniture_type"].mode()[0]
        effects["furniture_type"][most] *= -1 if world.turned else 1
    made["width_in"] = rng.uniform(18, 66, m).round()
    made["depth_in"] = rng.uniform(12, 24, m).round()
    made["height_in"] = rng.uniform(24, 60, m).round()
    usual = np.full(m, 20.0)
    if world.known is not None:
        usual = np.array([usual_cuft(k) or 20.0 for k in made["furniture_type"]])
        side = np.cbrt(usual * 1728 / 1.2)
        for name, share in (("width_in", 1.6), ("depth_in", 0.7), ("height_in", 1.2)):
            made[name] = (side * share * np.exp(rng.normal(0, 0.2, m))).round()
    made["grade"] = rng.integers(1, 6, m)
    made["year_made"] = rng.integers(1890, 1985, m)
    days = np.maximum(rng.exponential(32, m).round(), 1)
    ago = np.r_[rng.integers(0, 3 * 365, n), -days[n:]]
    if world.twins:
        for i in range(0, n - 1, 2):  # a pair alike in all the record holds, sold one by one
            if rng.random() < world.twins:
                made.loc[i + 1] = made.loc[i]
                ago[i + 1] = max(ago[i] - rng.integers(0, 30), 0)
    louder = dict(zip(KINDS, rng.normal(0, world.unequal, len(KINDS)), strict=True))
    sd = world.noise * np.exp(made["furniture_type"].map(louder).to_numpy(float))
    e = rng.standard_t(3, m) / np.sqrt(3) if world.heavy else rng.normal(size=m)
    if world.twins:
        alike = (made.iloc[1:].to_numpy() == made.iloc[:-1].to_numpy()).all(axis=1)
        second = np.flatnonzero(alike) + 1
        e[second] = np.sqrt(0.9) * e[second - 1] + np.sqrt(0.1) * e[second]
        known = rng.choice(n, ASKED // 2)  # half of the pieces asked about are of a lot sold before
        made.iloc[n : n + ASKED // 2] = made.iloc[known].to_numpy()
        e[n : n + ASKED // 2] = np.sqrt(0.9) * e[known] + np.sqrt(0.1) * e[n : n + ASKED // 2]
    day = pd.Timestamp(AS_OF) - pd.to_timedelta(ago, unit="D")
    cuft = (made["width_in"] * made["depth_in"] * made["height_in"] / 1728).to_numpy(float)
    log_price = 5.4 + world.elasticity * np.log(cuft / usual) + world.side * (made["grade"] - 3)
    log_price += sum(made[k].map(v) for k, v in effects.items())
    log_price += -world.drift * ago / 365.25 + world.fell * (ago < 365)
    log_price += world.season * np.sin(2 * np.pi * np.asarray(day.day_of_year) / 365.25)
    log_price = log_price.to_numpy(float) + sd * e
    wrong = rng.random(m) < world.bad * (np.arange(m) < n)
    log_price += np.where(wrong, np.log(2) * rng.choice([-1, 1], m), 0.0)
    made["listed_on"] = (day - pd.to_timedelta(days, unit="D")).strftime("%Y-%m-%d")
    made["sold_on"] = day.strftime("%Y-%m-%d")
    made["sale_price"] = np.exp(log_price).round()
    if world.own:
        said = np.exp(log_price + 0.1 + rng.normal(0, world.own, m))
        made["gut_price"] = (said / 5).round() * 5
    made.insert(0, "piece", [f"P-{i}" for i in range(m)])
    return made.iloc[:n], made.iloc[n:]


def as_read(rows: pd.DataFrame) -> pd.DataFrame:
    """`rows` written to a CSV and read as a person's record: a wardrobe is an armoire from here on."""
    with tempfile.TemporaryDirectory() as folder:
        rows.to_csv(Path(folder) / "flips.csv", index=False)
        return read_records(folder, as_of=AS_OF).flips


def fitted(sales: pd.DataFrame) -> PriceFit:
    """The price model of sales as a person wrote them."""
    return fit_prices(as_read(sales), as_of=AS_OF)


def priced(fit: PriceFit, pieces: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Median log price (r,) and the ends (r, 2) of the 80% range of pieces listed today."""
    columns = model_columns(pieces, as_of=fit.as_of, days=fit.reference_days, sold_on=fit.sale_day)
    told = fit.regressor.distribution(columns)
    return told.median(), told.interval(0.80)


def ridge_ends(sales: pd.DataFrame, pieces: pd.DataFrame) -> np.ndarray:
    """The ends (r, 2) of the 80% range of log prices by BayesianRidge, its normal predictive distribution as it is."""
    from sklearn.linear_model import BayesianRidge

    both = pd.concat([sales, pieces], ignore_index=True)
    words = pd.get_dummies(both[["furniture_type", "wood", "finish", "style", "construction"]])
    made = words.astype(float)
    for name in ("width_in", "depth_in", "height_in"):
        made[name] = np.log(both[name])
    for name in ("grade", "year_made"):
        made[name] = both[name].astype(float)
    sold = pd.to_datetime(both["sold_on"])
    made["years"] = (sold - pd.Timestamp(AS_OF)).dt.days.clip(upper=0) / 365.25
    known = made.iloc[: len(sales)]
    spread = known.std(ddof=0).replace(0.0, 1.0)
    made = (made - known.mean()) / spread
    fit = BayesianRidge().fit(made.iloc[: len(sales)], np.log(sales["sale_price"].to_numpy(float)))
    middle, sd = fit.predict(made.iloc[len(sales) :], return_std=True)
    return np.column_stack([middle - 1.2816 * sd, middle + 1.2816 * sd])


def interval_score(ends: np.ndarray, y: np.ndarray) -> float:
    """The mean interval score of 80% ranges `ends` (r, 2) for `y` (r,); lower is better."""
    below, above = np.maximum(ends[:, 0] - y, 0), np.maximum(y - ends[:, 1], 0)
    return float(np.mean(ends[:, 1] - ends[:, 0] + 10 * (below + above)))


def run(world: World, n: int, number: int) -> dict[str, object]:
    """One shop: held, said, score, bias."""
    key = [WORLDS.index(world), n, number]
    sales, pieces = draw_shop(world, n, np.random.default_rng(key))
    fit = fitted(sales)
    middle, ends = priced(fit, as_read(pieces))
    y = np.log(pieces["sale_price"].to_numpy(float))
    return {
        "world": world.name,
        "n": n,
        "shop": number,
        "held": float(np.mean((ends[:, 0] <= y) & (y <= ends[:, 1]))),
        "said": share_to_expect(fit),
        "score": interval_score(ends, y),
        "ratio": interval_score(ends, y) / interval_score(ridge_ends(sales, pieces), y),
        "bias": float(np.mean(middle - y)),
    }


def by(runs: pd.DataFrame, *names: str) -> pd.DataFrame:
    """Means and their standard errors over shops."""
    held = runs.groupby(list(names), sort=False)
    made = held[["held", "said", "bias"]].mean()
    for name in ("score", "ratio"):
        logs = np.log(runs[name]).groupby([runs[k] for k in names], sort=False)
        made[name] = np.exp(logs.mean())
        made[f"{name}_error"] = made[name] * logs.sem()
    made["held_error"] = held["held"].sem()
    made["shops"] = held.size()
    return made.round(3)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description="Measure whether price ranges hold what they say.")
    asked.add_argument("--shops", type=int, default=4)
    asked.add_argument("--first-shop", type=int, default=0)
    asked.add_argument("--sizes", nargs="*", type=int, default=list(SIZES))
    asked.add_argument("--runs", type=Path, help="also write every single run to this CSV")
    given = asked.parse_args(arguments)
    rows = []
    for number in range(given.first_shop, given.first_shop + given.shops):
        for n in given.sizes:
            rows += [run(world, n, number) for world in WORLDS]
            if given.runs:
                pd.DataFrame(rows).to_csv(given.runs, index=False)
    runs = pd.DataFrame(rows)
    print(by(runs, "n").to_string(), by(runs, "world").to_string(), sep="\n\n")


if __name__ == "__main__":
    main()
