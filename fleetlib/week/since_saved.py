"""How advice differs from what was last saved for the piece, by how much, and what changed between.

What changed is stated, not shared out: how much of the difference each change makes is not worked out.
"""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd

from fleetlib.base.kit import kit_version
from fleetlib.base.money import format_money
from fleetlib.base.said import count, day_said
from fleetlib.base.settings import Settings
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
        changed.append(f"{count(sales, 'sale')} of other pieces")
    if days > 0 and flips.loc[~other, "status"].eq("listed").any():
        changed.append(f"{days} more day{'s' * (days != 1)} unsold")
    changed += [
        f"{n} x {str(event).replace('_', ' ')} logged" for event, n in own.value_counts().items()
    ]
    answers = _answers_since(records.folder / "answers.csv", day)
    changed += _of_the_kit(str(last["plan"]), records.settings, answered=answers > 0)
    if answers:
        changed.append(f"{count(answers, 'answer')} given")
    because = f"since then: {', '.join(changed)}" if changed else (
        "no sale, day, entry, answer, setting or new fleetlib is known to have come between, so the record was changed"
    )  # fmt: skip
    return (
        f"On {day_said(day)} the advice was to ask {format_money(was, currency)}; it is now "
        f"{format_money(abs(more), currency)} {'more' if more > 0 else 'less'}; {because}."
    )


def _of_the_kit(plan: str, settings: Settings, *, answered: bool) -> list[str]:
    """A new fleetlib, and the settings changed, since `plan` was saved; nothing where it was not noted then.

    `answered`: words that were answered since are told as answers, not as a setting.
    """
    try:
        first = json.loads(plan)[0]
        kit, chosen = first.get("kit"), first.get("settings")
    except (ValueError, TypeError, LookupError, AttributeError):
        return []
    changed = []
    if kit and kit_version() and kit != kit_version():
        changed.append(f"fleetlib {kit} became {kit_version()}")
    if chosen is not None and chosen != settings.differing():
        was, now = (set(filter(None, c.split("; "))) for c in (str(chosen), settings.differing()))
        names = {s.split("=")[0] for s in was ^ now} - ({"words"} if answered else set())
        if names:
            changed.append(f"{', '.join(sorted(names))} changed in settings.toml")
    return changed


def _answers_since(path: Path, day: pd.Timestamp) -> int:
    """How many of the kit's questions were answered after `day`."""
    if not path.is_file():
        return 0
    days = pd.to_datetime(pd.read_csv(path, dtype="str")["on"], format="ISO8601", errors="coerce")
    return int((days > day).sum())
