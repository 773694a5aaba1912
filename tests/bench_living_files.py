"""A year with the kit through its files: buying by what_to_pay, asking by advise, opened anew every four weeks.

    python -m tests.bench_living_files --shops 2 --starts 8           under a minute a shop
    python -m tests.bench_living_files --shops 12 --starts 8 25 --store

The markets, owners and rules of `bench_living`, in shops that keep files: a shop starts with a number of past flips in
flips.csv and its dated markdowns in events.csv. Every four weeks the folder is opened; five finds are offered at about
three tenths of what they are worth, give or take half, and those are bought (three at most) that cost no more than
what_to_pay names; what was bought the time before has been worked on and is listed as advise says, and every piece on
the market is asked about again. New advice is saved; between two openings its dated asks are followed, and every
markdown and sale is written down. Unsold at the end of its plan a piece goes for its salvage value.

A piece is judged by the exact expected net of the asks it bore and, from its sale on, of the plan then in force;
`as lived` counts the money that came, for pieces listed twenty weeks before the end or earlier. Beside the kit: the
three rules and the oracle on the same pieces, and on the same finds an owner who pays up to a third of the own price
and asks it, 5% off every three weeks. Figures are those of `SUMMED`; standard errors over shops (jackknife).
"""

from __future__ import annotations

import argparse
import datetime
import os
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zlib import crc32

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.saving import write_whole
from fleetlib.plan.markdown_plan import MarkdownPlan
from fleetlib.plan.markdowns import plan as make_plan
from fleetlib.records.piece import Piece
from fleetlib.shop import Shop, open_shop
from tests.bench_living import (
    _WEIGHTS,
    BEGIN,
    EVERY,
    FLOOR,
    HOLDING,
    MONTHS,
    RULES,
    SALVAGE,
    WEEKS,
    WORLDS,
    Listed,
    Thing,
    World,
    before,
    belief,
    lived,
    net,
    oracle,
    owned,
)
from tests.bench_promises import Kind, summed
from tests.promise_shops import TARGET, TYPE_HOURS, ShopWorld, _work
from tests.simulated_markets import FINISH_PRICES, TYPE_EFFECTS, WOOD_PRICES, seen_log_price

STORED = Path(__file__).parents[1] / "fleetlib" / "trust" / "benchmark_living_files.csv"
A_MONTH, OFFERED, LOOK = (
    3,
    5,
    8,
)  # bought at most, finds on offer, the weeks a chance is held against
# What is counted, and how: `ratio` sum(said) / sum(true) - 1, `mean` the mean of said - true.
SUMMED: dict[str, Kind] = {
    "net of the kit, less the oracle's on the same pieces": "ratio",
    "net of own price held, less the oracle's": "ratio",
    "net of own price, 5% off every three weeks, less the oracle's": "ratio",
    "net of own price, 15% off every four weeks, less the oracle's": "ratio",
    "as lived: the kit, less the oracle": "ratio",
    "as lived: own price, 5% off, less the oracle": "ratio",
    "pieces bought a year by the kit": "mean",
    "pieces bought a year by a third of the own price": "mean",
    "pieces bought a year by the oracle": "mean",
    "left above the target pay in the year: the kit": "mean",
    "left above the target pay: a third of the own price, 5% off": "mean",
    "left above the target pay: the oracle": "mean",
    "net promised at listing, over received": "ratio",
    "profit said at buying, less received, money a piece": "mean",
    "chance of a loss said at buying, less lost": "mean",
    "price range holds, of pieces sold, less .80": "mean",
    "chance sold by 8 weeks: said less true": "mean",
    "chance sold by 8 weeks: the range holds, less .80": "mean",
    "days until sold: said over true": "ratio",
    "hours said at buying, over true": "ratio",
    "hours: the 80% range holds, less .80": "mean",
    "first ask, over the oracle's (mean of logs)": "mean",
    "markdowns made a piece": "mean",
    "asks looked at again that moved off the saved plan": "mean",
}  # fmt: skip
_WORK = ShopWorld("living", 0)
_ASKABLE = {f.name for f in fields(Piece)}


@dataclass
class Kept:
    """A piece in the shop: what nobody knows of it, its row in flips.csv, and what became of it so far."""

    thing: Thing
    row: dict[str, Any]
    mean_hours: float
    start: int | None = None  # week of listing
    asks: list[float] = field(default_factory=list)  # a week each, the plan in force to its end
    gone: int | None = None  # weeks up when it went
    sold: bool = False
    promised: float = np.nan
    range: tuple[float, float] = (np.nan, np.nan)
    first_plan: np.ndarray = field(default_factory=lambda: np.array([]))
    said: dict[str, float] = field(default_factory=dict)

    @property
    def name(self) -> str:
        return str(self.row["piece"])

    @property
    def asked(self) -> Piece:
        """As the owner would describe it before any work."""
        later = ("hours", "materials_cost", "asking_price", "listed_on", "sold_on", "sale_price")
        known = {k: v for k, v in self.row.items() if k in _ASKABLE and k not in later}
        return Piece(**known)


def drawn(world: World, n: int, slower: dict[str, float], rng: np.random.Generator) -> list[Kept]:
    """`n` pieces with all that a record says of them; what they are worth is told by it but for the quality."""
    made = []
    for _ in range(n):
        row: dict[str, Any] = {
            "furniture_type": str(rng.choice(list(TYPE_EFFECTS), p=[0.15, 0.35, 0.25, 0.25])),
            "wood": str(rng.choice(list(WOOD_PRICES))),
            "finish": str(rng.choice(list(FINISH_PRICES))),
            "width_in": float(np.round(rng.uniform(24, 66))),
        }
        cells = ([row[c]] for c in ("furniture_type", "wood", "finish", "width_in"))
        m, q = np.exp(seen_log_price(*cells)), rng.normal(0, world.quality, 1)
        thing = owned(world, m, q, rng)[0]
        row |= _work(_WORK, slower, row, rng)
        mean = float(row.pop("mean_hours"))
        asked = 0.3 * thing.m * np.exp(thing.q + 0.5 * rng.standard_normal())
        row |= {"gut_price": thing.own, "buy_price": float(np.round(asked))}
        made.append(Kept(thing, row, mean))
    return made


def day(week: float) -> date:
    return BEGIN + timedelta(days=round(7 * week))


class Folder:
    """A shop's files: the past, the pieces of this year, written anew before each opening as the owner would."""

    def __init__(self, place: Path, past: list[tuple[Kept, Listed]]) -> None:
        self.place, self.past = place, past
        self.mine: list[Kept] = []
        (place / "settings.toml").write_text(
            f"target_hourly_pay = {TARGET}\nsalvage_share = {SALVAGE}\n", encoding="utf-8"
        )

    def open(self, week: int) -> Shop:
        rows, cuts = [], []
        listings = [(k, run.start, list(run.asks), run.weeks, run.sold) for k, run in self.past]
        listings += [(k, k.start, k.asks, k.gone or 10**6, k.sold) for k in self.mine]
        for kept, start, asks, weeks, sold in listings:
            row = dict(kept.row)
            if start is not None:
                up = min(weeks, week - start, len(asks))
                over = start + weeks <= week
                row |= {"listed_on": day(start), "asking_price": asks[0]}
                for w in range(1, up + (not over and up < len(asks))):
                    if asks[w] < asks[w - 1]:
                        cuts.append((day(start + w), row["piece"], "asking_price", asks[w], ""))
                if over and sold:
                    price = round(kept.thing.rng_share * asks[weeks - 1])
                    row |= {"sold_on": day(start + weeks - 0.5), "sale_price": price}
                elif over:
                    row |= {"withdrawn_on": day(start + weeks)}
            rows.append(row)
        columns = ["piece", "furniture_type", "bought_on", "listed_on", "sold_on", "sale_price"]
        flips = pd.DataFrame(rows)
        flips = flips.reindex(columns=list(dict.fromkeys([*columns, *flips.columns])))
        write_whole(self.place / "flips.csv", flips.to_csv(index=False))
        events = pd.DataFrame(cuts, columns=["on", "piece", "event", "amount", "note"])
        write_whole(self.place / "events.csv", events.to_csv(index=False))
        return open_shop(self.place, as_of=day(week))


Row = tuple[str, float, float]


@dataclass
class Year:
    """One shop's year: its market, its folder, what was said and true, and why plans changed."""

    world: World
    folder: Folder
    told: list[Row] = field(default_factory=list)
    why: Counter[str] = field(default_factory=Counter)

    def look(self, shop: Shop, kept: Kept, week: int) -> None:
        """Ask about a piece, save new advice, and follow it from now on; a piece not listed yet is listed."""
        if kept.start is None:
            advice = shop.advise(kept.name)
            shop.log_advice(advice)
            plan = advice.plan
            asks = plan.weekly["asking_price"].to_list()
            kept.start, kept.promised = week, plan.expected_net
            if advice.estimate is not None:
                kept.range = (advice.estimate.low, advice.estimate.high)
            kept.asks = asks or [kept.thing.own]
            kept.first_plan = np.array(kept.asks)
            self._said_at_listing(kept, plan)
            return
        up = week - kept.start
        plan = make_plan(shop.fits, shop.piece(kept.name), alternatives=False)
        asks = plan.weekly["asking_price"].to_list()
        changed = [n for n in plan.notes if n.startswith("Changed from the plan")]
        moved = asks != kept.asks[up:]
        self.told.append(("asks looked at again that moved off the saved plan", float(moved), 0.0))
        if moved:
            shop.log_advice(shop.advise(kept.name))
            reason = changed[0].split("What is new: ")[-1].rstrip(".") if changed else "not said"
            self.why["".join(c for c in reason if not c.isdigit()).strip()] += 1
        kept.asks = kept.asks[:up] + asks
        if not asks:
            kept.gone = up

    def _said_at_listing(self, kept: Kept, plan: MarkdownPlan) -> None:
        true = self._sold_by(kept, kept.first_plan)
        k = min(LOOK, len(true)) - 1
        row = plan.weekly.iloc[k] if len(plan.weekly) else None
        if row is not None:
            low, high = row["chance_low"], row["chance_high"]
            self.told.append(
                ("chance sold by 8 weeks: said less true", row["chance_sold"], true[k])
            )
            held = float(low <= true[k] <= high)
            self.told.append(("chance sold by 8 weeks: the range holds, less .80", held, 0.8))
        days = 7 * (1 - np.r_[0.0, true[:-1]]).sum()
        self.told.append(("days until sold: said over true", plan.expected_days, float(days)))

    def _sold_by(self, kept: Kept, asks: np.ndarray) -> np.ndarray:
        """(T,) chance sold by each week, averaged over the quality that the own price leaves open."""
        y = np.log(asks / kept.thing.m)[None] - belief(self.world, kept.thing)[:, None]
        each = [1 - np.exp(-np.cumsum(self.world.steps(row[None], 0.0)[0])) for row in y]
        return np.asarray(_WEIGHTS @ np.array(each))

    def pass_weeks(self, week: int) -> None:
        """Four weeks by the plans in force: what sells, and what is let go at the end of its plan."""
        for kept in (k for k in self.folder.mine if k.start is not None and k.gone is None):
            assert kept.start is not None
            run = lived(self.world, kept.thing, kept.start, np.array(kept.asks))
            until = week + EVERY - kept.start
            if run.weeks <= until:
                kept.gone, kept.sold = run.weeks, run.sold

    def buy(self, shop: Shop, finds: list[Kept], week: int) -> list[Kept]:
        """What the kit buys of `finds`: the dearest gains first, no more than there are hands for."""
        worth = []
        for find in finds:
            try:
                said = shop.what_to_pay(find.asked)
            except BadQuestion:
                worth.append(find.thing.own / 3 - find.row["buy_price"])
                continue
            worth.append(said.highest_price - find.row["buy_price"])
            find.said = {
                "profit": said.expected_net - said.materials - find.row["buy_price"],
                "hours": said.hours,
                "loss": float(said.table["chance_of_loss"].iloc[0]),
            }
            if shop.fits.hours is not None:
                low, high = shop.fits.hours.interval(find.asked)
                find.said["hours held"] = float(low <= find.row["hours"] <= high)
        return best_of(finds, np.array(worth))

    def count(self) -> None:
        """Every figure of the pieces bought this year."""
        for kept in self.folder.mine:
            if kept.said:
                self.told.append(
                    ("hours said at buying, over true", kept.said["hours"], kept.mean_hours)
                )
            if "hours held" in kept.said:
                self.told.append(
                    ("hours: the 80% range holds, less .80", kept.said["hours held"], 0.8)
                )
            if kept.start is not None:
                self._count_listed(kept)

    def _count_listed(self, kept: Kept) -> None:
        thing, told, asks = kept.thing, self.told, whole(np.array(kept.asks))
        best = oracle(self.world, thing)
        worth = money(self.world, thing, best)
        mine = money(self.world, thing, asks)
        told.append(("net of the kit, less the oracle's on the same pieces", mine, worth))
        for rule, name in NAMED.items():
            told.append((name, money(self.world, thing, RULES[rule](thing)), worth))
        told.append(("net promised at listing, over received", kept.promised, mine))
        told.append(
            ("first ask, over the oracle's (mean of logs)", float(np.log(asks[0] / best[0])), 0.0)
        )
        spent = kept.row["buy_price"] + kept.row["materials_cost"]
        if kept.said:
            name = "profit said at buying, less received, money a piece"
            changed_hands = money(self.world, thing, asks, holding=0.0)
            told.append((name, kept.said["profit"], changed_hands - spent))
        if kept.sold and kept.gone is not None and np.isfinite(kept.range[0]):
            price = thing.rng_share * kept.asks[kept.gone - 1]
            held = float(kept.range[0] <= price <= kept.range[1])
            told.append(("price range holds, of pieces sold, less .80", held, 0.8))
        up = kept.gone if kept.gone is not None else len(kept.asks)
        cuts = float(sum(b < a for a, b in zip(kept.asks[: up - 1], kept.asks[1:up], strict=True)))
        told.append(("markdowns made a piece", cuts, 0.0))
        if kept.start is not None and kept.start + WEEKS <= EVERY * MONTHS:
            mine, *others = (came(self.world, thing, a) for a in (asks, best, RULES["own5"](thing)))
            told.append(("as lived: the kit, less the oracle", mine, others[0]))
            told.append(("as lived: own price, 5% off, less the oracle", others[1], others[0]))
            if kept.said:
                lost = float(mine + HOLDING * thing.m * (up) - spent < 0)
                told.append(("chance of a loss said at buying, less lost", kept.said["loss"], lost))


NAMED = {
    "own": "net of own price held, less the oracle's",
    "own5": "net of own price, 5% off every three weeks, less the oracle's",
    "own15": "net of own price, 15% off every four weeks, less the oracle's",
}


def whole(asks: np.ndarray) -> np.ndarray:
    """(WEEKS,) the asks, the last one held to the end where a plan was shorter."""
    return np.asarray(np.r_[asks, np.full(max(WEEKS - len(asks), 0), asks[-1])][:WEEKS])


def money(world: World, thing: Thing, asks: np.ndarray, holding: float = HOLDING) -> float:
    return float(net(world, thing, asks[None], holding)[0]) * thing.m


def came(world: World, thing: Thing, asks: np.ndarray) -> float:
    """The money that came in, less the weeks' cost."""
    run = lived(world, thing, 0, asks)
    paid = thing.rng_share * asks[run.weeks - 1] if run.sold else SALVAGE * thing.m
    return float(paid - HOLDING * thing.m * run.weeks)


def best_of(finds: list[Kept], worth: np.ndarray) -> list[Kept]:
    order = np.argsort(-worth, kind="stable")[:A_MONTH]
    return [finds[i] for i in order if worth[i] >= 0]


def one_year(world: World, start: int, number: int, place: Path) -> Year:
    """Live a year from `start` past flips."""
    rng = np.random.default_rng([number, start, crc32(world.name.encode()), 7])
    slower = {kind: float(np.exp(0.25 * rng.standard_normal())) for kind in TYPE_HOURS}
    begun = drawn(world, start, slower, rng)
    offers = [drawn(world, OFFERED, slower, rng) for _ in range(MONTHS)]
    past = []
    for i, kept in enumerate(begun):
        run = before(world, kept.thing, rng, least=FLOOR)
        kept.row |= {"piece": f"P{i:03d}", "bought_on": day(run.start - 4)}
        past.append((kept, run))
    year = Year(world, Folder(place, past))
    others: dict[str, list[float]] = {"a third of the own price, 5% off": [], "the oracle": []}
    for month in range(MONTHS):
        week = EVERY * month
        shop = year.folder.open(week)
        for kept in year.folder.mine:
            if kept.gone is None:
                year.look(shop, kept, week)
        year.pass_weeks(week)
        if month == MONTHS - 1:
            break
        finds = offers[month]
        for k, find in enumerate(finds):
            find.row |= {"piece": f"N{month:02d}{k}", "bought_on": day(week)}
        year.folder.mine += year.buy(shop, finds, week)
        _buy_otherwise(world, finds, others)
    year.count()
    surplus = sum(
        money(world, k.thing, whole(np.array(k.asks))) - cost(k)
        for k in year.folder.mine
        if k.start is not None
    )
    year.told.append(("pieces bought a year by the kit", float(len(year.folder.mine)), 0.0))
    year.told.append(("left above the target pay in the year: the kit", surplus, 0.0))
    for who, left in others.items():
        year.told.append((f"left above the target pay: {who}", sum(left), 0.0))
        short = who.split(",")[0]
        year.told.append((f"pieces bought a year by {short}", float(len(left)), 0.0))
    return year


def _buy_otherwise(world: World, finds: list[Kept], others: dict[str, list[float]]) -> None:
    third = np.array([f.thing.own / 3 - f.row["buy_price"] for f in finds])
    rule, told = others.values()
    rule += [money(world, f.thing, RULES["own5"](f.thing)) - cost(f) for f in best_of(finds, third)]
    fair = np.array([money(world, f.thing, oracle(world, f.thing)) - cost(f) for f in finds])
    told += [float(w) for w in np.sort(fair)[::-1][:A_MONTH] if w >= 0]


def cost(kept: Kept) -> float:
    """What a piece costs with the hours at the target pay."""
    return float(kept.row["buy_price"] + kept.row["materials_cost"] + TARGET * kept.mean_hours)


def table(told: pd.DataFrame) -> pd.DataFrame:
    """One row a figure and records at the start: the figure, its standard error over shops, shops."""
    rows = []
    for start, mine in told.groupby("records"):
        for name, kind in SUMMED.items():
            part = mine[mine["figure"] == name]
            shops = [
                list(zip(g["said"], g["true"], strict=True))
                for _, g in part.groupby(["world", "shop"])
            ]
            value, error, count = summed(kind, shops)
            rows.append((start, name, round(value, 3), round(error, 3), count))
    return pd.DataFrame(rows, columns=["records", "figure", "off", "error", "shops"])


def main() -> None:
    """Live the years asked for and print their table."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--shops", type=int, default=1, help="shops per world and start")
    ask.add_argument("--first-shop", type=int, default=0)
    ask.add_argument("--starts", type=int, nargs="*", default=[8])
    worlds = ["ordinary", "B 2.2", "reservation prices", "noticed markdowns"]
    ask.add_argument("--worlds", nargs="*", default=worlds, choices=list(WORLDS))
    ask.add_argument("--save", type=Path, help="write every figure to this csv file")
    ask.add_argument("--store", action="store_true", help="write the package's own table")
    chosen = ask.parse_args()
    rows, why = [], Counter[str]()
    columns = ["world", "records", "shop", "figure", "said", "true"]
    numbers = range(chosen.first_shop, chosen.first_shop + chosen.shops)
    for number in numbers:
        for name in chosen.worlds:
            for start in chosen.starts:
                with tempfile.TemporaryDirectory() as place:
                    os.environ["FLEETLIB_CACHE"] = f"{place}/cache"
                    (Path(place) / "shop").mkdir()
                    year = one_year(WORLDS[name], start, number, Path(place) / "shop")
                rows += [(name, start, number, *row) for row in year.told]
                why += year.why
        print(f"  shop {number} of every world", file=sys.stderr, flush=True)
        told = pd.DataFrame(rows, columns=columns)
        if chosen.save:
            write_whole(chosen.save, told.to_csv(index=False))
    made = table(told)
    print(made.to_string(index=False))
    print("why a plan changed:", dict(why.most_common()))
    if chosen.store:
        made["measured_on"] = f"{datetime.date.today()}"
        made["command"] = "python -m tests.bench_living_files " + " ".join(sys.argv[1:])
        write_whole(STORED, made.to_csv(index=False))


if __name__ == "__main__":
    main()
