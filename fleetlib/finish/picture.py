"""The same piece under each finish: what an hour would bring, and how often each finish is the best."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

from fleetlib.base.money import format_money
from fleetlib.finish.finish_choice import TOO_FEW
from fleetlib.shown import chart_rows as rows
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from fleetlib.finish.finish_choice import FinishChoice


def draw_finishes(result: FinishChoice) -> Picture:
    """One row a finish, the best first: what an hour brings with its range, and beside it the usual sale price, the
    hours, and how often this finish is the best.
    """
    table = result.table.reset_index(drop=True)
    money = partial(format_money, currency=result.currency)
    figure, (axes,) = style.new_picture(1.75 + 0.42 * len(table))
    style.bare_scale(axes)
    pay = table["per_hour"].to_numpy(float)
    low, high = table["per_hour_low"].to_numpy(float), table["per_hour_high"].to_numpy(float)
    judged = table["says"].ne(TOO_FEW).to_numpy()
    ends = rows.span(pay, low, high, 0.0)
    rows.draw_ranges(axes, low, high, ends=ends)
    rows.draw_dots(axes, pay, filled=judged, says=("an hour brings", "sold too rarely to judge"))
    rows.name_rows(
        axes,
        [str(f) for f in table["finish"]],
        figures=[money(v) for v in table["per_hour"]],
        beside=[
            _beside(c, h, money(p))
            for c, h, p in zip(table["chance_best"], table["hours"], table["price"], strict=True)
        ],
    )
    axes.set_xlim(ends)
    style.money_scale(axes.xaxis, result.currency)
    style.across(axes, "profit an hour with this finish; bars: 8 times out of 10")
    style.finding(figure, _finding(result))
    style.key(figure, axes)
    figure.alt = _words(result)
    return figure


def _beside(chance: float, hours: float, price: str) -> str:
    worked = f"{price} in {hours:.1f} h" if math.isfinite(hours) else price
    return f"{worked}, best {style.percent(chance)}" if math.isfinite(chance) else worked


def _finding(result: FinishChoice) -> str:
    money = partial(format_money, currency=result.currency)
    best = result.table.iloc[0]
    chance = float(best["chance_best"])
    if not math.isfinite(chance) and best["says"] != TOO_FEW:
        return f"Most an hour went with {best['finish']}: {money(best['per_hour'])}"
    said = f"Best by the hour: {best['finish']}, {money(best['per_hour'])}"
    if not math.isfinite(chance):
        return f"{said}, but sold too rarely to judge"
    doubt = "; the finishes are too close to call" if chance < 0.5 else ""
    return f"{said}, ahead in {style.percent(chance)} of the draws{doubt}"


def _words(result: FinishChoice) -> str:
    money = partial(format_money, currency=result.currency)
    parts = [f"{_finding(result)}. Each finish, the best pay per hour first:"]
    for row in result.table.to_dict("records"):
        text = f"{row['finish']} {money(row['per_hour'])} an hour"
        if math.isfinite(row["per_hour_low"]):
            text += f" (8 times out of 10 {money(row['per_hour_low'])} to {money(row['per_hour_high'])})"
        text += f", usual price {money(row['price'])}"
        if math.isfinite(row["chance_best"]):
            text += f", best {style.percent(row['chance_best'])} of the time"
        parts.append(f"{text};")
    return " ".join(parts).rstrip(";") + "."


DRAWS = {"FinishChoice": draw_finishes}
