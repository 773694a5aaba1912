"""How advice differs from what was last saved for the piece, by how much, and what changed between.

What changed is stated, not shared out: how much of the difference each change makes is not worked out.
"""

from __future__ import annotations

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.records.folder import Records


def since_saved(records: Records, name: str, *, asking_price: float) -> str:
    """One sentence, or "" where no advice was saved for `name` before, or its asking price is the same.

    Counted between the saved day and `as_of`: sales of other pieces, days unsold, and the piece's own entries.
    """
    key = name.casefold()
    log = records.advice_log
    mine = log[(log["piece"].astype("str").str.casefold() == key) & log["asking_price"].notna()]
    if mine.empty:
        return ""
    last = mine.sort_values(["date", "line"], kind="stable").iloc[-1]
    day, was = pd.Timestamp(last["date"]), float(last["asking_price"])
    if abs(asking_price - was) < 0.005:
        return ""
    currency = records.settings.currency
    more = asking_price - was
    flips = records.flips
    other = flips["piece"].str.casefold() != key
    sales = int((other & (flips["sold_on"] > day)).sum())
    days = (pd.Timestamp(records.as_of) - day).days
    events = records.logged
    own = events[(events["piece"].str.casefold() == key) & (events["on"] > day)]["event"]
    changed = []
    if sales:
        changed.append(f"{sales} sale{'s' * (sales != 1)} of other pieces")
    if days > 0 and flips.loc[~other, "status"].eq("listed").any():
        changed.append(f"{days} more day{'s' * (days != 1)} unsold")
    changed += [
        f"{n} x {str(event).replace('_', ' ')} logged" for event, n in own.value_counts().items()
    ]
    because = f"since then: {', '.join(changed)}" if changed else (
        "no sale, day or entry came between, so a setting, an answer, the record or the kit was changed"
    )  # fmt: skip
    return (
        f"On {day.date()} the advice was to ask {format_money(was, currency)}; it is now "
        f"{format_money(abs(more), currency)} {'more' if more > 0 else 'less'}; {because}."
    )
