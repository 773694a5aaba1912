"""The truth of the invented shop: every number that made its history is stated here.

Nothing in it comes from a real shop. The truth never depends on the seed, so that estimates from many drawn
histories can be held against it.

    log(true price) = log(base) + type + wood + finish(t) + style(t) + elasticity x log(size / 15 cu ft)
                      + grade_effect x (grade - 3) + pair (two sold together) + drift x years + spring bump
                      + hidden quality (what no record shows)
    gut price       = true price at listing x exp(gut_bias + gut_noise): a signal of hidden quality, mostly too high
    chance of selling in week w, asked a, = 1 - exp(-exp(eta)),
              eta   = level + type_level + spring - B (exp(kap y) - 1)/kap + gam log w,  y = log(a / true price)
    sale price      = asking price x haggle;   log(hours) = type + finish + size + grade + hidden quality + noise
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np

START = date(2023, 9, 2)
AS_OF = date(2026, 9, 30)
STEPS = {"clean": 0.12, "repair": 0.22, "sand": 0.28, "finish": 0.28, "sell": 0.10}


@dataclass(frozen=True, slots=True)
class Kind:
    """What one type of furniture is like: share of the shop, effects, inches (W, D, H), hands-on hours."""

    share: float
    effect: float
    level: float  # how much slower or faster than the shop it sells, on the log weekly rate
    size: tuple[float, float, float]
    hours: float
    woods: tuple[str, ...] = ()


KINDS: Mapping[str, Kind] = {
    "nightstand": Kind(0.14, 0.02, 0.20, (20, 16, 26), 3.1),
    "dresser": Kind(0.17, 0.30, 0.05, (56, 19, 32), 10.0),
    "chest of drawers": Kind(0.11, 0.11, 0.00, (34, 19, 47), 8.5),
    "sideboard": Kind(0.10, 0.34, -0.10, (60, 18, 34), 9.5),
    "hutch": Kind(0.07, -0.06, -0.45, (48, 17, 76), 16.5),
    "dining table": Kind(0.09, -0.16, -0.30, (62, 38, 30), 10.5),
    "coffee table": Kind(0.10, -0.09, 0.15, (46, 22, 17), 4.8),
    "side table": Kind(0.09, -0.15, 0.20, (20, 19, 24), 2.8),
    "desk": Kind(0.08, -0.09, -0.05, (47, 23, 30), 8.5),
    "bookcase": Kind(0.05, -0.24, -0.05, (36, 12, 54), 5.5),
}
HEIGHTS: Mapping[
    str, tuple[float, float]
] = {  # inches; nobody makes a 97-inch hutch for a 96-inch room
    "nightstand": (22, 30),
    "dresser": (28, 38),
    "chest of drawers": (38, 58),
    "sideboard": (29, 40),
    "hutch": (66, 84),
    "dining table": (28.5, 31),
    "coffee table": (14, 20),
    "side table": (19, 29),
    "desk": (29, 31),
    "bookcase": (36, 78),
}
WOODS: Mapping[str, float] = {
    "walnut": 0.28,
    "mahogany": 0.14,
    "cherry": 0.12,
    "maple": 0.05,
    "oak": 0.00,
    "birch": -0.06,
    "poplar": -0.14,
    "pine": -0.18,
}
STYLES: Mapping[str, Mapping[str, float]] = {  # which woods a style comes in
    "mid-century": {"walnut": 0.50, "birch": 0.20, "oak": 0.15, "mahogany": 0.15},
    "farmhouse": {"pine": 0.55, "oak": 0.25, "poplar": 0.20},
    "Victorian": {"mahogany": 0.35, "oak": 0.35, "walnut": 0.20, "pine": 0.10},
    "colonial": {"maple": 0.45, "cherry": 0.30, "pine": 0.15, "birch": 0.10},
    "traditional": {"oak": 0.30, "birch": 0.20, "poplar": 0.20, "pine": 0.15, "maple": 0.15},
}
STYLE_SHARE = {
    "mid-century": 0.28,
    "farmhouse": 0.22,
    "Victorian": 0.12,
    "colonial": 0.18,
    "traditional": 0.20,
}
CLEAR = ("oil", "wax", "shellac", "polyurethane")
PAINT = ("milk paint", "chalk-type paint", "two-tone")


@dataclass(frozen=True, slots=True)
class Truth:
    """Every number behind the history. Effects are on the log scale: exp(0.10) - 1 = 10.5 % more."""

    base_price: float = 250.0
    type_effect: Mapping[str, float] = field(
        default_factory=lambda: {k: v.effect for k, v in KINDS.items()}
    )
    wood_effect: Mapping[str, float] = field(default_factory=lambda: dict(WOODS))
    finish_effect: Mapping[str, float] = field(
        default_factory=lambda: {
            "oil": 0.10,
            "wax": 0.02,
            "shellac": 0.08,
            "polyurethane": 0.00,
            "milk paint": 0.03,
            "chalk-type paint": -0.10,
            "two-tone": 0.07,
        }
    )
    style_effect: Mapping[str, float] = field(
        default_factory=lambda: {
            "mid-century": 0.14,
            "farmhouse": -0.02,
            "Victorian": -0.08,
            "colonial": -0.06,
            "traditional": 0.00,
        }
    )
    size_elasticity: float = 0.65
    grade_effect: float = 0.07
    pair_effect: float = 0.60
    # tastes drift: log points a year; effects above are those of AS_OF
    drift: float = 0.025
    finish_drift: Mapping[str, float] = field(
        default_factory=lambda: {"chalk-type paint": -0.06, "oil": 0.02}
    )
    style_drift: Mapping[str, float] = field(
        default_factory=lambda: {"farmhouse": -0.05, "mid-century": 0.03}
    )
    spring_bump: float = 0.04  # March to May
    hidden_quality_sd: float = 0.15
    gut_bias: float = 0.13
    gut_noise_sd: float = 0.12
    # selling
    level: float = -1.40
    type_level: Mapping[str, float] = field(
        default_factory=lambda: {k: v.level for k, v in KINDS.items()}
    )
    sensitivity: float = 4.0
    curvature: float = 0.5
    week_exponent: float = -0.10
    spring_level: float = 0.25
    full_price_share: float = 0.35  # sold at the asking price; else 3 to 17 % below it
    # hours
    hours_by_type: Mapping[str, float] = field(
        default_factory=lambda: {k: v.hours for k, v in KINDS.items()}
    )
    hours_by_finish: Mapping[str, float] = field(
        default_factory=lambda: {
            "oil": 0.95,
            "wax": 0.90,
            "shellac": 1.15,
            "polyurethane": 1.05,
            "milk paint": 0.95,
            "chalk-type paint": 0.82,
            "two-tone": 1.20,
        }
    )
    hours_size_exponent: float = 0.40
    hours_grade: float = 0.07
    hours_hidden: float = 0.30
    hours_noise_sd: float = 0.16


TRUTH = Truth()


def true_log_price(truth: Truth, row: Mapping[str, Any], hidden_quality: float, on: date) -> float:
    """The truth's equation for one piece on one day, AS_OF being where drifting tastes are stated."""
    years = (on - AS_OF).days / 365.25
    cuft = row["width_in"] * row["depth_in"] * row["height_in"] / 1728
    return (
        np.log(truth.base_price)
        + truth.type_effect[row["furniture_type"]]
        + truth.wood_effect[row["wood"]]
        + truth.finish_effect[row["finish"]]
        + truth.style_effect[row["style"]]
        + years
        * (
            truth.drift
            + truth.finish_drift.get(row["finish"], 0.0)
            + truth.style_drift.get(row["style"], 0.0)
        )
        + truth.size_elasticity * np.log(cuft / 15)
        + truth.grade_effect * (row["grade"] - 3)
        + (truth.pair_effect if row["pieces_in_lot"] == 2 else 0.0)
        + (truth.spring_bump if on.month in (3, 4, 5) else 0.0)
        + hidden_quality
    )
