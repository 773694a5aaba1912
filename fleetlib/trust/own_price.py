"""The tool beside the owner's own price, on the same past sales."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from fleetlib.trust.ratio_study import TOO_FEW


def against_own_price(check: str, sales: pd.DataFrame) -> list[dict[str, Any]]:
    """The tool, the owner's own price and that price at its usual discount, all on the same sales."""
    both = sales[sales["gut_price"].gt(0) & sales["gut_scaled"].gt(0)]
    if both.empty:
        return []
    price = both["sale_price"].to_numpy(float)
    ours = np.abs(np.log(both["estimate"].to_numpy(float) / price))
    rows = []
    for way, column in (
        ("the tool", "estimate"),
        ("your own price", "gut_price"),
        ("your own price, usual discount off", "gut_scaled"),
    ):
        made = both[column].to_numpy(float)
        off = np.abs(np.log(made / price))
        rows.append(
            {
                "check": check,
                "way": way,
                "sales": len(both),
                "median_error": float(np.median(np.abs(made / price - 1))),
                "bias": float(np.expm1(np.log(made / price).mean())),
                "closer": float("nan") if column == "estimate" else float(np.mean(off < ours)),
            }
        )
    return rows


def own_price_note(gut: list[dict[str, Any]]) -> list[str]:
    """What to do about one's own price, from the stricter check that has enough sales."""
    own = [r for r in gut if "discount" in r["way"] and r["sales"] >= TOO_FEW]
    if not own:
        return []
    closer, sales = own[-1]["closer"], own[-1]["sales"]
    told = f"Your own price, with your usual discount off, was closer than the tool for {closer:.0%} of {sales} sales"
    if closer >= 0.5:
        return [
            f"{told}: you see what the records cannot. Write gut_price down before you look at any advice."
        ]
    return [f"{told}, so the tool was the closer one more often."]
