"""The invented market: week by week each piece is asked about, marked down, sold or withdrawn; and its work log."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import numpy as np
from invented_truth import STEPS, Truth, true_log_price


def to_step(amount: float, least: float = 5.0) -> float:
    """A price a person would write: fives up to 100, tens up to 300, then 25s."""
    step = 5.0 if amount < 100 else 10.0 if amount < 300 else 25.0
    return max(least, step * round(amount / step))


def choose(rng: np.random.Generator, shares: Mapping[str, float]) -> str:
    """One of the words of `shares`, drawn by their shares."""
    p = np.array(list(shares.values()))
    return str(rng.choice(list(shares), p=p / p.sum()))


def to_market(  # noqa: C901 - one rule of the market after another
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
    hidden = secret["hidden_quality"]
    if ready > as_of:
        if rng.random() < 0.6:  # most pieces get a price in the owner's head on the way home
            guess = secret["true_price"] * np.exp(
                truth.gut_bias + rng.normal(0, truth.gut_noise_sd)
            )
            row["gut_price"] = to_step(guess, least=20)
        return []
    row["listed_on"] = ready
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
    row["channel"] = choose(rng, shares)
    row["selling_fees"] = (
        float(round(0.12 * row["sale_price"])) if row["channel"] == "market stall" else 0.0
    )
    row["delivery_charged"] = (
        float(rng.choice([20, 25, 30, 40])) if large and rng.random() < 0.3 else 0.0
    )


def work_log(
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
