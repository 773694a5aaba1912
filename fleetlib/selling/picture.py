"""How long pieces sit, and how strongly the asking price moves that."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fleetlib.selling.fit import eight_in_ten
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from fleetlib.selling.fit import SellingTimeFit
    from fleetlib.selling.hazard import Hazard
    from fleetlib.selling.kaplan_meier import DaysToSell

WEEKS = (4, 8, 16)
FEWEST_LEFT = 5
_USUAL_PRICE = 100.0  # any: only the ratio of the ask to it is shown
_WIDE_95 = 1.96


def draw_days_to_sell(result: DaysToSell) -> Picture:
    """The share sold by each day as a staircase, with its 95% range; unsold listings counted.

    It ends where fewer than 5 listings were left on the market: from there on single pieces rule it.
    """
    figure, (axes,) = style.new_picture(3.6)
    table = result.table[result.table["at_risk"] >= FEWEST_LEFT]
    days = np.append(0.0, table["days"].to_numpy(float))
    sold = np.append(0.0, 1 - table["unsold"].to_numpy(float))
    reach = np.append(0.0, _WIDE_95 * table["error"].to_numpy(float))
    if len(table):
        last = 1.03 * days[-1]
        at, share, wide = (np.append(v, v[-1]) for v in (days, sold, reach))
        at[-1] = last
        axes.fill_between(
            at,
            np.clip(share - wide, 0, 1),
            np.clip(share + wide, 0, 1),
            step="post",
            color=style.SKY,
            alpha=0.35,
            linewidth=0,
            label="19 times out of 20",
        )
        axes.step(at, share, where="post", color=style.BLUE, linewidth=2.2, label="share sold")
        axes.set_xlim(0, last)
    if result.median is not None and result.median <= days[-1]:
        axes.plot([0, result.median], [0.5, 0.5], color=style.SOFT, linestyle="--", linewidth=1.1)
        axes.plot([result.median], [0.5], "o", color=style.BLUE, markersize=7)
        axes.annotate(
            f"half sold by day {result.median:.0f}",
            (result.median, 0.5),
            xytext=(9, -10),
            textcoords="offset points",
            fontsize=9.5,
            color=style.INK,
        )
    axes.set_ylim(0, 1.02)
    style.share_scale(axes.yaxis)
    style.across(axes, f"days on the market (as far as {FEWEST_LEFT} listings were left)")
    style.finding(figure, _finding_of_days(result))
    if len(table):
        style.key(figure, axes)
    figure.alt = _words_of_days(result)
    return figure


def draw_selling(result: SellingTimeFit) -> Picture:
    """The chance sold within some weeks against what is asked, for a usual piece; the range of the middle one."""
    figure, (axes,) = style.new_picture(3.9)
    best = _usual_hazard(result)
    above = np.linspace(-0.25, min(max(result.cap, 0.1), 0.35), 60)
    asks = _USUAL_PRICE * np.exp(above)
    ratio = 100 * np.expm1(above)
    many = np.array(
        [_chance(_usual_hazard(result, draw=k), asks, WEEKS[1]) for k in range(len(result.draws))]
    )
    low, high = eight_in_ten(many)
    axes.fill_between(
        ratio,
        low,
        high,
        color=style.COLOURS[1],
        alpha=0.25,
        linewidth=0,
        label=f"{WEEKS[1]} weeks, 8 times out of 10",
    )
    for weeks, colour, dash in zip(WEEKS, style.COLOURS, style.DASHES, strict=False):
        chance = _chance(best, asks, weeks)
        axes.plot(
            ratio,
            chance,
            color=colour,
            linestyle=dash,
            linewidth=2.2,
            label=f"within {weeks} weeks",
        )
        axes.annotate(
            f"{weeks} weeks",
            (ratio[-1], chance[-1]),
            xytext=(5, 0),
            textcoords="offset points",
            va="center",
            fontsize=9.5,
            color=style.INK,
        )
    axes.axvline(0, color=style.SOFT, linestyle=":", linewidth=1.1, zorder=1)
    axes.set_ylim(0, 1.02)
    style.share_scale(axes.yaxis)
    axes.xaxis.set_major_formatter(lambda v, _: f"{v:+.0f}%" if v else "0%")
    style.across(
        axes, "asked above or below what the piece is worth by your records and your own idea"
    )
    axes.set_ylabel("chance sold")
    style.finding(figure, _finding_of_selling(result))
    style.key(figure, axes, without=[f"within {weeks} weeks" for weeks in WEEKS])
    figure.alt = _words_of_selling(result)
    return figure


def _usual_hazard(result: SellingTimeFit, draw: int | None = None) -> Hazard:
    """A piece of no kind in particular whose owner's idea is as far from its usual price as usually."""
    idea = _USUAL_PRICE * float(np.exp(result.signal_mean))
    if result.value_from == "gut price":
        idea = _USUAL_PRICE
    return result.hazard("", _USUAL_PRICE, idea, draw=draw)


def _chance(hazard: Hazard, asks: np.ndarray, weeks: int) -> np.ndarray:
    """Chance sold within `weeks` at each ask held throughout: 1 - sum_j w_j exp(-phi_j lam(p) sum_t G_t)."""
    log_phi, weights = hazard.nodes()
    exposure = np.exp(hazard.log_rate(asks)) * np.exp(hazard.log_week(weeks)).sum()
    unsold: np.ndarray = np.exp(-np.exp(log_phi)[None, :] * exposure[:, None]) @ weights
    return 1 - unsold


def _finding_of_days(result: DaysToSell) -> str:
    if result.table.empty:
        return "Nothing has sold yet, so nothing can be said about days to sell"
    half = (
        f"Half are sold within {result.median:.0f} days"
        if result.median is not None
        else "More than half were still unsold when last seen"
    )
    within = result.share_sold_within(60)
    if within is None:
        return f"{half}; {result.sold} of {result.listings} listings sold"
    return f"{half}, {style.percent(within)} within 60; {result.sold} of {result.listings} listings sold so far"


def _words_of_days(result: DaysToSell) -> str:
    said = [f"{_finding_of_days(result)}."]
    shares = [(d, result.share_sold_within(d)) for d in (7, 14, 30, 60, 90, 120)]
    known = [f"{style.percent(s)} by day {d}" for d, s in shares if s is not None]
    if len(result.table):
        said.append(
            f"A staircase of the share sold: {style.listed(known)}; unsold listings counted."
        )
    return " ".join(said)


def _finding_of_selling(result: SellingTimeFit) -> str:
    best = _usual_hazard(result)
    asks = _USUAL_PRICE * np.array([1.0, 1.1])
    usual, dearer = _chance(best, asks, WEEKS[1])
    return (
        f"Asked 10% above its worth, a piece is sold within {WEEKS[1]} weeks "
        f"{style.percent(float(dearer))} of the time, not {style.percent(float(usual))} (how strongly price "
        f"counts is {result.learned})"
    )


def _words_of_selling(result: SellingTimeFit) -> str:
    best = _usual_hazard(result)
    parts = [
        f"{_finding_of_selling(result)}. Falling lines of the chance sold against what is asked:"
    ]
    for percent in (-20, -10, 0, 10, 20):
        ask = np.array([_USUAL_PRICE * (1 + percent / 100)])
        shares = [style.percent(float(_chance(best, ask, weeks)[0])) for weeks in WEEKS]
        at = "at its worth" if percent == 0 else f"at {percent:+d}%"
        parts.append(
            f"{at} {style.listed(shares)} within {style.listed([str(w) for w in WEEKS])} weeks;"
        )
    return " ".join(parts).rstrip(";") + "."


DRAWS = {"SellingTimeFit": draw_selling, "DaysToSell": draw_days_to_sell}
