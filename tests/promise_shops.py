"""Whole invented shops behind bench_promises: market, hours, costs and finds, every truth stated here.

The market is that of `simulated_markets` (its World says how buyers and the seller behave). On top of it
(rules of our own, no source):

    log hours = log of the type's hours + .25 u + .35 log(width / 42) + damage (condition) + effect of the route + noise
    u: standard normal, one a type and shop, so that no type comes first in every shop of a world
    materials = share of the hours + damage, lognormal noise;  buy price about a fifth of what it is worth
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.fits import Fits, fit_all
from fleetlib.records.piece import Piece
from tests.histories import flips_of
from tests.simulated_markets import (
    AS_OF,
    FINISH_PRICES,
    LONGEST,
    TYPE_EFFECTS,
    WOOD_PRICES,
    World,
    seen_log_price,
    simulate_shop,
)
from tests.true_records import records_of

TARGET = 20.0
TYPE_HOURS = {"hutch": 14.0, "dresser": 9.0, "desk": 7.0, "nightstand": 3.5}
DAMAGE = {"no damage": -0.6, "some damage": 0.0, "heavy damage": 0.5, "parts missing": 0.8}
ROUTES = {"clean up": -0.5, "repair": 0.1, "strip": 0.4, "paint": -0.1}


@dataclass(frozen=True)
class ShopWorld:
    """One kind of shop. `records` pieces on record; `damage` scales what condition and route do to the hours."""

    name: str
    records: int
    market: World = field(default_factory=World)
    damage: float = 1.0
    hours_sd: float = 0.3
    blank: float = 0.0  # share of pieces that state no finish, condition or route
    bench_losses: float = 0.0  # share of more pieces given up on the bench after part of the hours


WORLDS = (
    ShopWorld("eight pieces", 8),
    ShopWorld("twenty pieces", 20),
    ShopWorld("forty pieces", 40),
    ShopWorld("sixty pieces", 60),
    ShopWorld("hundred and twenty", 120),
    ShopWorld("two hundred and fifty", 250),
    ShopWorld("damage says nothing", 60, damage=0.0),
    ShopWorld("damage says a lot", 120, damage=1.5),
    ShopWorld("half not stated, some scrapped", 60, blank=0.5, bench_losses=0.1),
    ShopWorld("buyers mind little", 60, World(name="insensitive", sensitivity=2.0)),
    ShopWorld("buyers mind a lot", 120, World(name="sensitive", sensitivity=7.0)),
    ShopWorld("a poor eye", 60, World(name="noisy", slope=0.2, seller_noise=0.3)),
    ShopWorld("a slow market", 120, World(name="slow", level=-2.6)),
    ShopWorld("undated markdowns", 60, World(name="undated", records="last")),
)


@dataclass(frozen=True, eq=False)
class Find:
    """A find: the Piece as the owner would describe it, and its truth."""

    piece: Piece
    log_value: float  # what buyers take it to be worth
    mean_hours: float  # of pieces just like it
    hours: float
    materials: float


@dataclass(frozen=True, eq=False)
class WholeShop:
    """One drawn shop of a world: its records with every model fitted, and finds offered to it."""

    world: ShopWorld
    fits: Fits
    finds: tuple[Find, ...]
    slower: dict[str, float]  # by type, what this owner's hours are times the usual ones

    def true_nets(self, find: Find, prices: np.ndarray, edges: np.ndarray) -> tuple[Any, Any]:
        """(n,) what asking `prices` in the periods between the days `edges` may bring, and the chances.

        Money that changes hands: no holding cost. Unsold at the end it goes for the settings' share of its value.
        """
        market, kind = self.world.market, find.piece.furniture_type
        left, nets, chances = 1.0, [], []
        for k, ask in enumerate(prices):
            days = np.arange(edges[k], edges[k + 1])
            y = np.array(np.log(ask) - find.log_value)
            rate = np.exp(TYPE_EFFECTS[kind] + float(market.log_rate(y)))
            stay = np.exp(-(rate / 7 * (days // 7 + 1.0) ** market.gam).sum())
            nets.append(market.haggle * ask)
            chances.append(left * (1 - stay))
            left *= stay
        nets.append(self.fits.settings.salvage_share * market.haggle * np.exp(find.log_value))
        return np.array(nets), np.array([*chances, left])

    @property
    def true_pay(self) -> dict[str, float]:
        """Pay an hour of each type as this owner works: every piece played to its end, unsold at nothing."""
        return {
            kind: (money - f * materials) / (f * hours)
            for kind, (money, materials, hours) in _usual_pay(self.world).items()
            for f in (self.slower[kind],)
        }


@lru_cache(maxsize=64)
def _usual_pay(world: ShopWorld) -> dict[str, tuple[float, float, float]]:
    """By type: money from buyers less what was paid, materials and hours, at the usual hours."""
    world = replace(world, records=6000, blank=0.0, bench_losses=0.0)
    flips = flips_of(_rows(world, np.random.default_rng(11)))
    played = flips["listed_on"] <= pd.Timestamp(AS_OF) - pd.Timedelta(weeks=LONGEST + 1)
    flips = flips[played]
    money = flips["sale_price"].fillna(0) - flips["buy_price"]
    sums = flips.assign(money=money).groupby("furniture_type")
    sums = sums[["money", "materials_cost", "hours"]].sum()
    return {str(kind): tuple(row) for kind, row in zip(sums.index, sums.to_numpy(), strict=True)}


def draw_shop(world: ShopWorld, rng: np.random.Generator, *, finds: int = 6) -> WholeShop:
    """One shop of `world`: its records, all models, and `finds` pieces on offer."""
    slower = {kind: float(np.exp(0.25 * rng.standard_normal())) for kind in TYPE_HOURS}
    rows = _rows(world, rng, slower)
    flips, events = flips_of(rows), rows_events(rows)
    settings = Settings(as_of=AS_OF, target_hourly_pay=TARGET)
    log = pd.DataFrame(columns=["date", "piece", "plan", "low", "high", "level"])
    supplies = pd.DataFrame(columns=["bought_on", "item", "cost", "shared_by"])
    records = records_of(
        flips, events=events, supplies=supplies, advice_log=log, settings=settings, as_of=AS_OF
    )
    found = tuple(_find(world, slower, rng) for _ in range(finds))
    return WholeShop(world, fit_all(records), found, slower)


def rows_events(rows: list[dict[str, Any]]) -> pd.DataFrame:
    """The markdowns of `rows` as events."""
    events = [e | {"piece": row["piece"]} for row in rows for e in row["markdowns"]]
    made = pd.DataFrame(events, columns=["on", "piece", "event", "amount", "note", "line"])
    made["on"] = pd.to_datetime(made["on"])
    return made


def _rows(
    world: ShopWorld, rng: np.random.Generator, slower: dict[str, float] | None = None
) -> list[dict[str, Any]]:
    shop = simulate_shop(world.market, world.records, rng)
    changes = dict(iter(shop.events.groupby("piece")))
    rows = []
    for cells in shop.flips.to_dict("records"):
        row = {str(k): (None if pd.isna(v) else v) for k, v in cells.items()}
        row |= _work(world, slower, row, rng)
        del row["mean_hours"]
        part = changes.get(row["piece"])
        row["markdowns"] = (
            []
            if part is None
            else [
                {"on": on, "event": "asking_price", "amount": amount}
                for on, amount in zip(part["on"], part["amount"], strict=True)
            ]
        )
        for column in ("finish", "condition", "route"):
            if rng.random() < world.blank:
                row[column] = None
        rows.append(row)
    for i in range(round(world.bench_losses * world.records)):
        lost = dict(rows[i])
        lost |= {"piece": f"L{i:03d}", "hours": 0.3 * lost["hours"], "finish": None}
        lost |= dict.fromkeys(
            ("listed_on", "asking_price", "last_asking_price", "sold_on", "sale_price", "gut_price")
        )
        rows.append(lost | {"withdrawn_on": pd.Timestamp("2026-05-01"), "markdowns": []})
    return rows


def _work(
    world: ShopWorld, slower: dict[str, float] | None, row: dict[str, Any], rng: np.random.Generator
) -> dict[str, Any]:
    condition, route = str(rng.choice(list(DAMAGE))), str(rng.choice(list(ROUTES)))
    log_hours = np.log(
        TYPE_HOURS[row["furniture_type"]] * (slower or {}).get(row["furniture_type"], 1.0)
    )
    log_hours += 0.35 * np.log(row["width_in"] / 42)
    log_hours += world.damage * (DAMAGE[condition] + ROUTES[route])
    hours = np.exp(log_hours + world.hours_sd * rng.standard_normal())
    mean = np.exp(log_hours + world.hours_sd**2 / 2)
    worth = np.exp(
        seen_log_price(*([row[c]] for c in ("furniture_type", "wood", "finish", "width_in")))
    )
    return {
        "condition": condition,
        "route": route,
        "hours": float(hours),
        "mean_hours": float(mean),
        "materials_cost": float(2.5 * mean * np.exp(0.3 * rng.standard_normal() - 0.045)),
        "buy_price": float(np.round(0.2 * worth[0] * np.exp(0.3 * rng.standard_normal()))),
        "depth_in": 20.0,
        "height_in": 32.0,
    }


def _find(world: ShopWorld, slower: dict[str, float], rng: np.random.Generator) -> Find:
    market = world.market
    row: dict[str, Any] = {
        "furniture_type": str(rng.choice(list(TYPE_EFFECTS), p=[0.15, 0.35, 0.25, 0.25])),
        "wood": str(rng.choice(list(WOOD_PRICES))),
        "finish": str(rng.choice(list(FINISH_PRICES))),
        "width_in": float(rng.uniform(24, 66)),
    }
    row |= _work(world, slower, row, rng)
    log_m = float(
        seen_log_price(*([row[c]] for c in ("furniture_type", "wood", "finish", "width_in")))[0]
    )
    q = rng.normal(0, market.quality_sd)
    gut = np.exp(log_m + market.markup + market.slope * q + rng.normal(0, market.seller_noise))
    row["gut_price"] = float(np.round(gut / 5) * 5)
    known = {f.name for f in fields(Piece)} - {"hours", "materials_cost"}
    piece = Piece(**{k: v for k, v in row.items() if k in known})
    return Find(piece, log_m + q, row["mean_hours"], row["hours"], row["materials_cost"])
