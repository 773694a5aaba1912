"""What the owner has done before: how deep they came down at once."""

from __future__ import annotations

import numpy as np
import pandas as pd

USUAL_CUT = 0.15  # a single markdown, where none is dated (common practice, no source)
_LEAST_CUT, _MOST_CUT = 0.05, 0.5  # a change beyond half the price is a repricing, not a markdown


def deepest_cut(flips: pd.DataFrame | None, events: pd.DataFrame | None) -> float:
    """The deepest single markdown with a date on record, as a share of the ask before it; .15 where none is."""
    deepest = 0.0
    if events is not None and len(events) and flips is not None and "asking_price" in flips:
        first = dict(
            zip(flips["piece"].astype(str).str.casefold(), flips["asking_price"], strict=True)
        )
        priced = events[events["event"].isin(["asking_price", "relisted"]) & (events["amount"] > 0)]
        priced = priced[priced["on"].notna()].sort_values("on", kind="stable")
        for name, amounts in priced.groupby(priced["piece"].astype(str).str.casefold())["amount"]:
            begun = first.get(str(name), np.nan)
            asks = np.append(begun if begun == begun and begun > 0 else amounts.iloc[0], amounts)
            falls = 1 - asks[1:] / asks[:-1]
            falls = falls[falls <= _MOST_CUT]
            deepest = max(deepest, float(falls.max(initial=0.0)))
    return max(deepest, _LEAST_CUT) if deepest > 0 else USUAL_CUT
