"""The promises about a find: pay at the price named, chance of a loss, profit of the set. Rows for bench_promises."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pandas as pd

from fleetlib.buying.best_buys import best_buys
from fleetlib.buying.find_value import FindValue, value_find
from tests.promise_shops import TARGET, Find, WholeShop
from tests.promises.ranges import Pairs, Row, spreads


class Bought(NamedTuple):
    """A find with what the kit says of it, and what its plan truly brings: nets (n,) with their chances."""

    find: Find
    said: FindValue
    nets: np.ndarray
    chances: np.ndarray

    @property
    def fair(self) -> float:
        """The price at which it truly pays the target."""
        return float(self.chances @ self.nets) - self.find.materials - TARGET * self.find.mean_hours


@lru_cache(maxsize=4)
def bought(shop: WholeShop) -> list[Bought]:
    made = []
    for f in shop.finds if shop.fits.hours is not None else ():
        said = value_find(shop.fits, f.piece)
        made.append(Bought(f, said, *shop.true_nets(f, said.prices, said.case.edges)))
    return made


def target(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    """Pay times hours promised, against the profit received, at the highest price that pays the target."""
    made = []
    for b in bought(shop):
        price = b.said.highest_price(TARGET)
        if price > 0:
            worth = float(b.chances @ b.nets) - b.find.materials - price
            made.append((TARGET * b.find.mean_hours, worth))
    return made


def highest(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    """In money and not as a share: fair prices are small, or below 0, just where the target can't be paid."""
    return [(b.said.highest_price(TARGET), b.fair) for b in bought(shop)]


def loss(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    made = []
    for b in bought(shop):
        price = b.said.highest_price(TARGET)
        if price > 0:
            lost = b.chances[b.nets - price - b.find.materials < 0].sum()
            made.append((b.said.chance_of_loss(price), float(lost)))
    return made


def chosen_set(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    """Finds on offer at about their true worth, give or take a fifth: what the chosen set claims, and brings."""
    known = bought(shop)
    if not known:
        return []
    asked = [max(b.fair * float(np.exp(0.2 * rng.standard_normal())), 5.0) for b in known]
    finds = pd.DataFrame(
        [
            {**vars_of(replace(b.find.piece, buy_price=p)), "piece": f"F{i}"}
            for i, (b, p) in enumerate(zip(known, asked, strict=True))
        ]
    )
    table = best_buys(shop.fits, finds).table
    got = {int(name[1:]) for name in table.loc[table["buy"], "find"]}
    if not got:
        return []
    claim = "claimed" if "claimed" in table else "profit"
    said = float(table.loc[table["buy"], claim].sum())
    true = sum(known[i].fair + TARGET * known[i].find.mean_hours - asked[i] for i in got)
    return [(said, true)]


def ahead_of_half(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    """What is left above the target pay of a shop that buys up to the highest price named, and of one that buys up to
    half of the price expected; sellers ask about three tenths of the worth, give or take half. By find and offer."""
    made = []
    for b in bought(shop):
        worth = np.exp(b.find.log_value)
        half = 0.5 * spreads(shop, b.find.piece)[1].mid
        for z in rng.standard_normal(5):
            asked = 0.3 * worth * float(np.exp(0.5 * z))
            left = b.fair - asked
            made.append((left * (asked <= b.said.highest_price(TARGET)), left * (asked <= half)))
    return made


def vars_of(piece: object) -> dict[str, object]:
    return {n: getattr(piece, n) for n in piece.__dataclass_fields__}  # type: ignore[attr-defined]


ROWS: tuple[Row, ...] = (
    ("target pay: promised over received, bought at the price named", "ratio", 0.03, target),
    ("highest price to pay: said less fair, money a find", "mean", None, highest),
    ("chance of a loss: said less true", "mean", 0.04, loss),
    ("profit of the chosen set: claimed over true", "ratio", 0.05, chosen_set),
    ("profit of the chosen set: claimed less true, money a set", "mean", None, chosen_set),
    ("buying by it, ahead of half the expected price: money a find", "mean", None, ahead_of_half),
)
