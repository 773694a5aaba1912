"""An invented one-person workshop whose truth is known: every number that made its history is stated here.

Nothing in it comes from a real shop. `make_shop(seed)` draws one history; the truth (`Truth`) never depends
on the seed, so that estimates from many such histories can be held against it.

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
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

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
    "nightstand": Kind(0.14, -0.25, 0.20, (20, 16, 26), 3.4),
    "dresser": Kind(0.17, 0.30, 0.05, (56, 19, 32), 10.0),
    "chest of drawers": Kind(0.11, 0.08, 0.00, (34, 19, 47), 8.5),
    "sideboard": Kind(0.10, 0.36, -0.10, (60, 18, 34), 9.5),
    "hutch": Kind(0.07, 0.12, -0.45, (48, 17, 76), 16.5),
    "dining table": Kind(0.09, -0.02, -0.30, (62, 38, 30), 10.5),
    "coffee table": Kind(0.10, -0.16, 0.15, (46, 22, 17), 4.8),
    "side table": Kind(0.09, -0.42, 0.20, (20, 19, 24), 2.8),
    "desk": Kind(0.08, -0.05, -0.05, (47, 23, 30), 8.5),
    "bookcase": Kind(0.05, -0.26, -0.05, (36, 12, 54), 5.5),
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
    size_elasticity: float = 0.50
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
    hours_noise_sd: float = 0.20


TRUTH = Truth()


@dataclass(frozen=True, eq=False, slots=True)
class Demo:
    """One drawn history: tidy tables under the record's own column names, and the truth behind them.

    flips: one row per piece in order of buying; events, supplies, finds: as the files of the same name;
    hidden: per piece the true price at listing (`true_price`), `hidden_quality`, `true_hours`, and the asking
    price of every week on the market (`asks`, a tuple).
    """

    seed: int
    as_of: date
    truth: Truth
    flips: pd.DataFrame = field(repr=False)
    events: pd.DataFrame = field(repr=False)
    supplies: pd.DataFrame = field(repr=False)
    finds: pd.DataFrame = field(repr=False)
    hidden: pd.DataFrame = field(repr=False)


def make_shop(seed: int, *, pieces: int = 160, truth: Truth = TRUTH, as_of: date = AS_OF) -> Demo:
    """Draw the history of `pieces` flips bought between START and `as_of`. Same seed, same history."""
    rng = np.random.default_rng(seed)
    span = (as_of - START).days - 4
    # this summer's house sales filled the shed: the last ten weeks count almost double
    late = rng.random(pieces) < 0.055
    bought = np.sort(
        np.where(late, rng.integers(span - 70, span, pieces), rng.integers(0, span, pieces))
    )
    rows, events, hidden = [], [], []
    lots = _lots(rng, pieces)
    for i in range(pieces):
        if i - 1 in lots:  # the second piece of a lot came home with the first
            bought[i] = bought[i - 1]
        row, secret = _piece(rng, truth, as_of, START + timedelta(days=int(bought[i])))
        row["piece"] = f"A-{101 + i}"
        row["bought_lot"] = lots.get(i, lots.get(i - 1))
        events += _market(rng, truth, as_of, row, secret)
        events += _work_log(rng, as_of, row, secret)
        secret["piece"] = row["piece"]
        rows.append(row)
        hidden.append(secret)
    flips = pd.DataFrame(rows, columns=COLUMNS)
    for lot in lots.values():  # a lot was paid for once; the price is written on its first piece
        of_lot = flips.index[flips["bought_lot"] == lot]
        flips.loc[of_lot[0], "buy_price"] = flips.loc[of_lot, "buy_price"].sum()
        flips.loc[of_lot[1:], "buy_price"] = np.nan
    for column in [c for c in COLUMNS if c.endswith("_on")]:
        flips[column] = pd.to_datetime(flips[column])
    table = pd.DataFrame(events, columns=["on", "piece", "event", "amount", "note"])
    table["on"] = pd.to_datetime(table["on"])
    table = table.sort_values("on", kind="stable", ignore_index=True)
    return Demo(
        seed=seed,
        as_of=as_of,
        truth=truth,
        flips=flips,
        events=table,
        supplies=_supplies(rng, as_of),
        finds=_finds(rng, truth, as_of),
        hidden=pd.DataFrame(hidden),
    )


COLUMNS = [
    "piece",
    "furniture_type",
    "wood",
    "construction",
    "finish",
    "style",
    "pieces_in_lot",
    "width_in",
    "depth_in",
    "height_in",
    "year_made",
    "grade",
    "bought_on",
    "buy_price",
    "bought_lot",
    "materials_cost",
    "other_costs",
    "hours",
    *(f"hours_{step}" for step in STEPS),
    "gut_price",
    "listed_on",
    "asking_price",
    "last_asking_price",
    "sold_on",
    "sale_price",
    "selling_fees",
    "delivery_charged",
    "channel",
    "withdrawn_on",
    "notes",
]


def to_step(amount: float, least: float = 5.0) -> float:
    """A price a person would write: fives up to 100, tens up to 300, then 25s."""
    step = 5.0 if amount < 100 else 10.0 if amount < 300 else 25.0
    return max(least, step * round(amount / step))


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


def _lots(rng: np.random.Generator, pieces: int) -> dict[int, str]:
    """Where three lots of two begin, well apart, with the names the owner gave them."""
    starts = [int(pieces * share) + int(rng.integers(0, 6)) for share in (0.2, 0.52, 0.8)]
    return dict(
        zip(starts, ("barn clear-out", "house sale Elm Row", "two from cousin"), strict=True)
    )


def _choose(rng: np.random.Generator, shares: Mapping[str, float]) -> str:
    p = np.array(list(shares.values()))
    return str(rng.choice(list(shares), p=p / p.sum()))


def _piece(
    rng: np.random.Generator, truth: Truth, as_of: date, bought: date
) -> tuple[dict[str, Any], dict[str, Any]]:
    kind_name = _choose(rng, {k: v.share for k, v in KINDS.items()})
    kind = KINDS[kind_name]
    style = _choose(rng, STYLE_SHARE)
    wood = _choose(rng, STYLES[style])
    visible, hidden = rng.normal(), float(rng.normal(0, truth.hidden_quality_sd))
    scale = rng.normal(0, 0.09)
    size = [round(s * np.exp(scale + rng.normal(0, 0.05)) * 2) / 2 for s in kind.size]
    if kind_name == "dining table":
        size[2] = float(np.clip(size[2], 28.5, 31))
    if kind_name == "desk":
        size[2] = float(np.clip(size[2], 29, 31))
    # better woods and better pieces are kept clear; the rest is painted, and paint was everything in 2023
    years = (bought - START).days / 365.25
    keen = 1.6 * truth.wood_effect[wood] / 0.15 + 0.7 * visible + 2.5 * hidden + 0.35 * years
    clear = rng.random() < 1 / (1 + np.exp(-(0.1 + keen)))
    finish = (
        _choose(
            rng,
            {"oil": 0.32 + 0.06 * years, "polyurethane": 0.34, "shellac": 0.17, "wax": 0.17},
        )
        if clear
        else _choose(
            rng,
            {"chalk-type paint": max(0.5 - 0.1 * years, 0.1), "milk paint": 0.3, "two-tone": 0.2},
        )
    )
    pair = kind_name in ("nightstand", "side table") and rng.random() < 0.28
    row: dict[str, Any] = dict.fromkeys(COLUMNS)
    row |= {
        "furniture_type": kind_name,
        "wood": wood,
        "finish": finish,
        "style": style,
        "construction": "veneer" if style == "mid-century" and rng.random() < 0.6 else "solid",
        "pieces_in_lot": 2 if pair else 1,
        "width_in": size[0],
        "depth_in": size[1],
        "height_in": size[2],
        "grade": int(np.clip(round(3 + 0.95 * visible), 1, 5)),
        "bought_on": bought,
        "year_made": _year_made(rng, style),
    }
    hours = (
        truth.hours_by_type[kind_name]
        * truth.hours_by_finish[finish]
        * np.exp(
            truth.hours_size_exponent * scale
            + truth.hours_grade * (row["grade"] - 3)
            + truth.hours_hidden * hidden
            + rng.normal(0, truth.hours_noise_sd)
        )
        * (1.8 if pair else 1.0)
    )
    parts = 2 if bought < date(2025, 1, 1) else 4  # half hours at first, quarters later
    hours = max(1.0, round(parts * hours) / parts)
    price = float(np.exp(true_log_price(truth, row, hidden, bought)))
    row["buy_price"] = _buy_price(rng, price)
    row["materials_cost"] = float(
        round(6 + 1.8 * hours * truth.hours_by_finish[finish] * np.exp(rng.normal(0, 0.35)))
    )
    row["other_costs"] = float(rng.choice([0, 0, 0, 8, 10, 15, 20]))
    if kind_name in ("hutch", "sideboard", "dresser", "dining table"):
        row["other_costs"] += float(rng.choice([0, 0, 20, 30]))
    row["hours"] = hours
    elapsed = 5 + 1.3 * hours + rng.gamma(2.0, 9.0)
    return row, {
        "hidden_quality": hidden,
        "true_hours": hours,
        "ready_on": bought + timedelta(days=int(elapsed)),
        "true_price": price,
        "asks": (),
    }


def _year_made(rng: np.random.Generator, style: str) -> int:
    spans = {
        "mid-century": (1952, 1972),
        "farmhouse": (1925, 2004),
        "Victorian": (1878, 1905),
        "colonial": (1938, 1978),
        "traditional": (1920, 1992),
    }
    return int(rng.integers(*spans[style]))


def _buy_price(rng: np.random.Generator, price: float) -> float:
    if rng.random() < 0.10:
        return 0.0
    paid = float(np.clip(0.15 * price * np.exp(rng.normal(0, 0.5)), 5, 150))
    return 5.0 * round(paid / 5)


def _market(
    rng: np.random.Generator,
    truth: Truth,
    as_of: date,
    row: dict[str, Any],
    secret: dict[str, Any],
) -> list[tuple[Any, ...]]:
    """Week by week: sold, marked down, withdrawn, or still there on `as_of`. Fills `row`; returns events."""
    ready: date = secret["ready_on"]
    if rng.random() < 0.04:  # given up on the bench
        ended = row["bought_on"] + timedelta(days=int(rng.integers(20, 90)))
        if ended <= as_of:
            row["withdrawn_on"] = ended
            row["hours"] = max(0.5, round(row["hours"] * rng.uniform(0.1, 0.4) * 4) / 4)
            row["materials_cost"] = float(round(row["materials_cost"] * 0.4))
            row["notes"] = str(rng.choice(["split side, scrapped", "worm in the carcass, burnt"]))
            secret["true_price"] = np.nan
            return []
    if ready > as_of:
        return []
    row["listed_on"] = ready
    hidden = secret["hidden_quality"]
    price = float(np.exp(true_log_price(truth, row, hidden, ready)))
    secret["true_price"] = price
    row["gut_price"] = to_step(
        price * np.exp(truth.gut_bias + rng.normal(0, truth.gut_noise_sd)), least=20
    )
    ask = row["gut_price"]
    if rng.random() < 0.3:
        ask = to_step(ask * np.exp(rng.normal(0.02, 0.06)), least=20)
    row["asking_price"] = ask
    if rng.random() < (0.35 if ready < date(2024, 6, 1) else 0.12):
        row["gut_price"] = None  # never written down
    dated = ready >= date(2025, 1, 1) and rng.random() < 0.65
    keeps_last = dated or rng.random() < 0.6
    events: list[tuple[Any, ...]] = []
    asks: list[float] = []
    since, cuts, patience = 0, 0, int(rng.integers(8, 21))
    eager = rng.choice([0.0, 0.15, 0.35])  # some pieces one will not come down on
    pause = int(rng.integers(4, 8)) if dated and rng.random() < 0.06 else 0
    for week in range(1, 200):
        monday = ready + timedelta(days=7 * (week - 1) + (21 if 0 < pause <= week else 0))
        if week == pause and monday <= as_of:  # the stall was shut for three weeks
            events.append((monday - timedelta(days=21), row["piece"], "paused", None, None))
            events.append((monday, row["piece"], "relisted", None, None))
        if monday > as_of:
            break
        if since >= 2 and cuts < 3 and rng.random() < eager:
            lower = to_step(ask * (1 - rng.uniform(0.05, 0.13)), least=15)
            if lower < ask:
                ask, since, cuts = lower, 0, cuts + 1
                if dated:
                    events.append((monday, row["piece"], "asking_price", ask, None))
        asks.append(ask)
        since += 1
        now = np.log(ask) - true_log_price(truth, row, hidden, monday)
        eta = (
            truth.level
            + truth.type_level[row["furniture_type"]]
            + (truth.spring_level if monday.month in (3, 4, 5) else 0.0)
            - truth.sensitivity * (np.exp(truth.curvature * now) - 1) / truth.curvature
            + truth.week_exponent * np.log(week)
        )
        sold = rng.random() < 1 - np.exp(-np.exp(eta))
        day = monday + timedelta(days=_weekend_day(rng, monday))
        events += _talk(rng, row["piece"], ask, week, day, dated and not sold and day < as_of)
        if sold and day <= as_of:
            _sell(rng, truth, row, ask, day)
            break
        if not sold and ((week > patience and rng.random() < 0.3) or rng.random() < 0.004):
            if day <= as_of:
                row["withdrawn_on"] = day
                row["notes"] = str(
                    rng.choice(
                        ["kept for the hall", "gave it to my sister", "donated", "back to parts"]
                    )
                )
            break
    if keeps_last and (row["sale_price"] or row["withdrawn_on"]) and (not dated or cuts == 0):
        row["last_asking_price"] = ask
    secret["asks"] = tuple(asks)
    return events


def _weekend_day(rng: np.random.Generator, monday: date) -> int:
    days = [(monday + timedelta(days=d)).weekday() for d in range(7)]
    pull = np.array([3.0 if d >= 5 else 1.5 if d == 4 else 1.0 for d in days])
    return int(rng.choice(7, p=pull / pull.sum()))


def _talk(
    rng: np.random.Generator, piece: str, ask: float, week: int, day: date, logged: bool
) -> list[tuple[Any, ...]]:
    if not logged or rng.random() > 0.16:
        return []
    if rng.random() < 0.5:
        note = str(rng.choice(["is it still there", "asked for more photos", "wants to measure"]))
        return [(day, piece, "enquiry", None, note)]
    return [(day, piece, "offer", to_step(ask * rng.uniform(0.62, 0.85)), "said no")]


def _sell(
    rng: np.random.Generator, truth: Truth, row: dict[str, Any], ask: float, day: date
) -> None:
    ratio = 1.0 if rng.random() < truth.full_price_share else 1 - 0.03 - 0.14 * rng.beta(2, 3)
    row["sold_on"] = day
    row["sale_price"] = 5.0 * round(ask * ratio / 5)
    if rng.random() < 0.01:
        row["sale_price"] = ask + 20
        row["notes"] = "two wanted it, went over"
    large = row["furniture_type"] in ("hutch", "sideboard", "dining table", "dresser", "desk")
    shares = {
        "local listing": 0.62,
        "market stall": 0.10 if large else 0.34,
        "word of mouth": 0.20,
    }
    row["channel"] = _choose(rng, shares)
    row["selling_fees"] = (
        float(round(0.12 * row["sale_price"])) if row["channel"] == "market stall" else 0.0
    )
    row["delivery_charged"] = (
        float(rng.choice([20, 25, 30, 40])) if large and rng.random() < 0.3 else 0.0
    )


def _work_log(
    rng: np.random.Generator, as_of: date, row: dict[str, Any], secret: dict[str, Any]
) -> list[tuple[Any, ...]]:
    """Hours by step: five columns for a year, then an event a session; before that one figure a piece."""
    ready, bought = secret["ready_on"], row["bought_on"]
    given_up = row["withdrawn_on"] is not None and row["listed_on"] is None
    if given_up or ready < date(2025, 9, 30):
        return []
    share = np.array(list(STEPS.values())) * np.exp(rng.normal(0, 0.25, len(STEPS)))
    parts = np.maximum(np.round(4 * row["hours"] * share / share.sum()) / 4, 0.25)
    if ready < date(2026, 7, 20):
        row |= {f"hours_{step}": float(h) for step, h in zip(STEPS, parts, strict=True)}
        row["hours"] = float(parts.sum())
        return []
    row["hours"] = None  # the sessions in the log add up to it
    days = np.linspace(1, max((ready - bought).days - 1, 2), len(STEPS)).astype(int)
    events: list[tuple[Any, ...]] = [
        (bought + timedelta(days=int(d)), row["piece"], "hours", float(h), step)
        for step, h, d in zip(STEPS, parts, days, strict=True)
    ]
    if ready <= as_of:
        events.append((ready, row["piece"], "finished", None, None))
    else:  # still on the bench: supplies are bought as the work goes on
        done = len([e for e in events if e[0] <= as_of]) / len(STEPS)
        row["materials_cost"] = float(round(row["materials_cost"] * done)) or None
    return [e for e in events if e[0] <= as_of]


def _supplies(rng: np.random.Generator, as_of: date) -> pd.DataFrame:
    bills = [
        ("sandpaper, assorted", 38, "hours"),
        ("respirator cartridges", 29, "hours"),
        ("brushes and rollers", 34, "hours"),
        ("bay rent, quarter", 150, "hours"),
        ("moving blankets", 42, "pieces"),
        ("rags and gloves", 18, "hours"),
        ("listing photos lamp", 55, "pieces"),
        ("workbench vise", 120, "none"),
    ]
    rows = []
    quarter = pd.date_range("2023-10-02", as_of, freq="91D")
    for i, day in enumerate(quarter):
        rows.append((day.date(), *bills[3]))
        for pick in rng.choice([0, 1, 2, 5], size=2, replace=False):
            item, cost, by = bills[int(pick)]
            later = day.date() + timedelta(days=int(rng.integers(3, 60)))
            if later <= as_of:
                rows.append((later, item, float(round(cost * rng.uniform(0.85, 1.2))), by))
        if i in (0, 4, 7):
            item, cost, by = bills[{0: 7, 4: 4, 7: 6}[i]]
            rows.append((day.date() + timedelta(days=9), item, cost, by))
    table = pd.DataFrame(rows, columns=["bought_on", "item", "cost", "shared_by"])
    table["bought_on"] = pd.to_datetime(table["bought_on"])
    return table.sort_values("bought_on", kind="stable", ignore_index=True)


def _finds(rng: np.random.Generator, truth: Truth, as_of: date) -> pd.DataFrame:
    """Nine pieces seen on offer this week: what is asked for them, and what the owner would do with them."""
    rows = []
    for i in range(9):
        row, secret = _piece(rng, truth, as_of, as_of)
        row["piece"] = f"find {i + 1}"
        row["gut_price"] = to_step(
            secret["true_price"] * np.exp(truth.gut_bias + rng.normal(0, truth.gut_noise_sd))
        )
        row["bought_on"], row["hours"], row["other_costs"] = None, None, None
        row["buy_price"] = 5.0 * round(rng.uniform(0.7, 2.2) * max(row["buy_price"], 15) / 5)
        row["notes"] = str(
            rng.choice(
                ["yard sale", "on the curb list", "house clearance", "thrift store back room"]
            )
        )
        rows.append(row)
    return pd.DataFrame(rows, columns=COLUMNS)
