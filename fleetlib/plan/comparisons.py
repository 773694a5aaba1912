"""The plan beside what else one might do, and beside what else might be true."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money, price_ladder, round_price
from fleetlib.base.threads import one_thread
from fleetlib.plan.case import Case, changed, minding
from fleetlib.plan.solver.path import PricePath, plan_markdowns

if TYPE_CHECKING:
    from fleetlib.fits import Fits


STEADY, PATIENT = "steady", "patient"  # ways down from the plan's own first ask
_WORTH_RAISING = 0.02  # of the expected net


def alternatives_table(case: Case, path: PricePath, near: PricePath | None) -> pd.DataFrame:
    """This plan beside three rules one might follow instead, steadier and more patient ways down from its own first
    ask, the bolder plan it was preferred to, and `near`.

    near: the best one within what was tried. Columns: what, first_price, last_price, chance_sold (by the end),
    expected_net, expected_days, gain (what this plan is expected to bring more; money), better_in (the share of the
    draws in which the plan brings more, 0 to 1). All but the last are means over the draws of the fit.
    """
    begin = _starting_price(case)
    now = "today's ask" if case.so_far is not None else "your own price"
    if case.so_far is None and case.gut is None:
        now = "the usual sale price"
    rules = [
        (f"hold {now}, {format_money(begin, case.settings.currency)}", 1.0, 1),
        ("5% off every three weeks", 0.95, 21),
        ("15% off every four weeks", 0.85, 28),
    ]
    mine, weight = case.over_draws(path.prices)
    better = [1.0]
    rows = [_row("this plan", path.prices, path.expected_net, path.expected_weeks, path.sold_by)]
    for what, keep, every in rules:
        prices = _rule_prices(case, begin, keep, every)
        worth = case.worth(prices)
        rows.append(_row(what, prices, worth.expected_net, worth.expected_weeks, worth.sold_by))
        better.append(float(weight @ (mine > case.over_draws(prices)[0])))
    bolder = case.as_path(path.bolder) if len(path.bolder) else None
    others = [
        steady_path(case, path),
        (f"{PATIENT}: one markdown at most", patient_path(case, path)),
    ]
    for what, other in (("the bolder plan", bolder), ("stay within what you have tried", near)):
        ask = "" if other is None else format_money(other.prices[0], case.settings.currency)
        others.append((f"{what}, {ask}", other))
    for what, other in others:
        if other is not None:
            rows.append(
                _row(what, other.prices, other.expected_net, other.expected_weeks, other.sold_by)
            )
            better.append(float(weight @ (mine > case.over_draws(other.prices)[0])))
    table = pd.DataFrame(rows)
    table["gain"] = path.expected_net - table["expected_net"]
    table["better_in"] = better
    return table


def steady_path(case: Case, path: PricePath) -> tuple[str, PricePath | None]:
    """The best way down from the first ask of `path` by even cuts on even dates, and what it is called.

    None where the plan takes salvage now, never comes down, or goes that way itself.
    """
    if path.salvage_now or not path.markdowns:
        return "", None
    found = [
        (
            f"{STEADY}: {1 - keep:.0%} off every {words} weeks",
            case.as_path(_rule_prices(case, float(path.prices[0]), keep, days)),
        )
        for keep in _STEADY_KEEPS
        for words, days in _STEADY_EVERY
    ]
    what, best = max(found, key=lambda one: one[1].expected_net)
    n = len(path.prices)
    return what, None if np.array_equal(best.prices[:n], path.prices) else best


_STEADY_KEEPS = (0.95, 0.9, 0.85, 0.8)
_STEADY_EVERY = (("two", 14), ("three", 21), ("four", 28))


def patient_path(case: Case, path: PricePath) -> PricePath | None:
    """The best way down from the first ask of `path` by one markdown at most; None where the plan is one."""
    if path.salvage_now or path.markdowns < 2:
        return None
    first = float(path.prices[0])
    start = replace(case.start(case.hazard), ask=first)
    terms = replace(case.terms, most_markdowns=1)
    asks = np.unique(np.append(case.coarse, first))
    found = plan_markdowns(case.market(case.hazard, asks), terms, start=start)
    return found if len(found.prices) else None


def within_tried(case: Case, path: PricePath) -> PricePath | None:
    """The best plan whose asks stay under what nearly all past asks, for their worth, stayed under.

    None where `path` stays there itself, for a piece already listed, and where no such plan beats salvage.
    """
    tried = case.hazard.highest_tried
    if case.so_far is not None or not len(path.prices) or path.prices[0] <= tried + 1e-9:
        return None
    lower = case.up_to(tried)
    found = None if lower is None else lower.best_path()
    return found if found is not None and len(found.prices) else None


def raised_path(case: Case, path: PricePath) -> PricePath | None:
    """The best plan for a listed piece were it put up today, within what was tried; None where that gains little.

    Unless `path` is to take salvage now, None too for a piece that has come down or sat a quarter of its weeks.
    """
    so_far, s = case.so_far, case.settings
    if so_far is None:
        return None
    if not path.salvage_now and (so_far.markdowns or so_far.days > 7 * s.horizon_weeks / 4):
        return None
    top = min(case.hazard.highest_ask, case.hazard.highest_tried)
    ladder = price_ladder(
        max(so_far.ask, case.floor), top, step=s.price_step, ending=s.price_ending
    )
    if not len(ladder):
        return None
    asks = np.unique(np.append(case.coarse, ladder[:: max(len(ladder) // 20, 1)]))
    start = replace(case.start(case.hazard), ask=None)
    free = plan_markdowns(case.market(case.hazard, asks), case.terms, start=start, points=24)
    if not len(free.prices) or free.prices[0] <= so_far.ask:
        return None
    gain = free.expected_net - path.expected_net
    return free if gain >= _WORTH_RAISING * free.expected_net else None


@one_thread()
def what_if_table(fits: Fits, case: Case, path: PricePath) -> pd.DataFrame:
    """What the plan would be if something it rests on were otherwise, and what keeping to this one would cost.

    Columns: what_if, first_price, last_price, expected_net, expected_days, cost_of_this_plan (money lost by
    following this plan where that is the truth).
    """
    s = case.settings
    rows = []
    for factor in (0.7, 1.4):
        said = f"buyers mind the price {'less' if factor < 1 else 'more'} (x {factor:g})"
        rows.append(_what_if(said, minding(fits, case, factor), path))
    gone, left = _weeks(case)
    # A piece past its weeks gets one more markdown than the settings leave it; a longer wait keeps that.
    most = case.terms.most_markdowns + (0 if case.so_far is None else case.so_far.markdowns)
    for weeks in (gone + max(left // 2, 2), gone + left + max(left // 2, 2)):
        if weeks == gone + left:
            continue
        rows.append(
            _what_if(
                f"salvage after {weeks} weeks, not {gone + left}",
                changed(case, replace(s, horizon_weeks=weeks, most_markdowns=most)),
                path,
            )
        )
    own, waiting = s.salvage_share, case.holding
    shares = (own / 2, min(own * 1.5, 0.9)) if own > 0 else (0.2,)
    costs = (0.0, 2 * waiting) if waiting > 0 else (0.02 * case.usual,)
    cash, cost = "salvage brings", "a week of waiting costs"
    otherwise = [(cash, v * case.usual, case.salvage, replace(s, salvage_share=v)) for v in shares]
    otherwise += [(cost, v, waiting, replace(s, holding_cost_per_week=v)) for v in costs]
    for what, new, now, settings in otherwise:
        becomes, is_now = format_money(new, s.currency), format_money(now, s.currency)
        if becomes != is_now:
            said = f"{what} {becomes}, not {is_now}"
            rows.append(_what_if(said, changed(case, settings), path))
    return pd.DataFrame(rows)


def _weeks(case: Case) -> tuple[int, int]:
    """Whole weeks on the market so far, and whole weeks the plan still has."""
    if case.so_far is None:
        return 0, case.settings.horizon_weeks
    gone = case.so_far.days // 7
    return gone, case.last_weeks if case.past_horizon else max(
        case.settings.horizon_weeks - gone, 1
    )


def least_cash_cost(case: Case, path: PricePath) -> float:
    """What the owner's least cash costs in expected net; 0 where it does not bind."""
    if case.settings.least_cash <= case.salvage:
        return 0.0
    free = changed(case, replace(case.settings, least_cash=0.0)).best_path()
    return max(free.expected_net - path.expected_net, 0.0)


def _starting_price(case: Case) -> float:
    if case.so_far is not None:
        return case.so_far.ask
    s = case.settings
    own = case.gut if case.gut is not None else case.usual
    return max(round_price(own, step=s.price_step, ending=s.price_ending), s.price_step)


def _rule_prices(case: Case, begin: float, keep: float, every: int) -> np.ndarray:
    s = case.settings
    gone = np.array([(day - case.as_of).days for day in case.dates[:-1]])
    cuts = gone // every if keep < 1 else np.zeros(len(gone), dtype=int)
    asked = [
        begin
        if not n
        else max(
            round_price(begin * keep**n, step=s.price_step, ending=s.price_ending),
            min(float(case.asks[0]), begin),
        )
        for n in cuts
    ]
    return np.array(asked)


def _row(
    what: str, prices: np.ndarray, net: float, weeks: float, sold_by: np.ndarray
) -> dict[str, object]:
    some = len(prices) > 0
    return {
        "what": what,
        "first_price": float(prices[0]) if some else float("nan"),
        "last_price": float(prices[-1]) if some else float("nan"),
        "chance_sold": float(sold_by[-1]) if some else 0.0,
        "expected_net": net,
        "expected_days": 7 * weeks,
    }


def _what_if(what: str, other: Case, path: PricePath) -> dict[str, object]:
    best = other.best_path()
    kept = other.salvage
    if len(path.prices):
        periods = len(other.dates) - 1
        prices = path.prices[:periods]
        # Carried on at its last price where salvage comes later; never on when it is better not to.
        longer = np.append(prices, np.repeat(prices[-1:], periods - len(prices)))
        kept = max(other.worth(p).expected_net for p in (prices, longer))
    some = len(best.prices) > 0
    return {
        "what_if": what,
        "first_price": float(best.prices[0]) if some else float("nan"),
        "last_price": float(best.prices[-1]) if some else float("nan"),
        "expected_net": best.expected_net,
        "expected_days": 7 * best.expected_weeks,
        "cost_of_this_plan": max(best.expected_net - kept, 0.0),
    }
