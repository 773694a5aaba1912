"""A year of invented weekly chores for four pieces in hand: by one-line entries, and by the forms.

    python -m tests.bench_chores [weeks]

Clicks and keystrokes are counted: the lines as they are typed, the forms by filling in the real ones (a list is two
clicks, a field one, a button one; every entry is really logged). Seconds are those of the keystroke-level model of
Card, Moran and Newell (1980, Communications of the ACM 23, 396-410; its times from memory): 0.28 s a key, 1.1 s to
point and 0.2 s to click, 0.4 s for the hand to go from keys to mouse or back, 1.35 s to think before a field or entry.
What the kit takes to answer is not in it.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from math import sqrt
from pathlib import Path
from statistics import mean, stdev
from typing import Any

import numpy as np

from fleetlib.desk.forms.life import after_sale_form, bought_form
from fleetlib.desk.forms.logging import sale_form, work_form
from fleetlib.records.log.grammar import read_entry
from fleetlib.shop import open_shop

KEY_S, POINT_S, CLICK_S, HOME_S, THINK_S = 0.28, 1.1, 0.2, 0.4, 1.35
STEPS = ("clean", "repair", "sand", "finish")
FORMS: dict[str, Callable[[Any], Any]] = {
    "bought": bought_form, "work": work_form, "sale": sale_form, "after": after_sale_form,
}  # fmt: skip
# A deed: the form, the fields as they are filled in, and the line that says the same.
Deed = tuple[str, dict[str, str], str]


@dataclass
class Effort:
    """What a week took."""

    entries: int = 0
    clicks: int = 0
    keys: int = 0
    thoughts: int = 0
    moves: int = 0  # of the hand between keys and mouse

    @property
    def seconds(self) -> float:
        """By the keystroke-level model."""
        return (
            KEY_S * self.keys
            + (POINT_S + CLICK_S) * self.clicks
            + HOME_S * self.moves
            + THINK_S * self.thoughts
        )

    def types(self, text: str) -> None:
        """Go to the keys, type, and go back."""
        self.keys += len(text)
        self.moves += 2


def week(rng: np.random.Generator, number: int) -> list[Deed]:
    """The deeds of one week: one piece comes, four are worked on, one is listed, marked down and sold at most."""
    names = [f"A-{100 + number + i}" for i in range(4)]
    paid, idea = str(rng.integers(20, 150)), str(rng.integers(200, 500))
    sizes = {"width_in": "50", "depth_in": "18", "height_in": "34"}
    about = {"furniture_type": "dresser", **sizes, "wood": "oak", "gut_price": idea}
    said = " ".join(f"{k}={v}" for k, v in about.items())
    deeds: list[Deed] = [
        ("bought", {"buy_price": paid, **about}, f"bought {names[3]} for {paid} {said}")
    ]
    for name in names:
        for step in rng.choice(STEPS, size=rng.integers(1, 3), replace=False):
            spent, day = str(15 * rng.integers(1, 9)), _day(rng)
            filled = {"piece": name, "step": str(step), "minutes": spent, **day}
            deeds.append(("work", filled, f"worked {name} {spent} min {step} {day.get('day', '')}"))
    cost = str(rng.integers(5, 40))
    deeds.append(
        ("work", {"piece": names[1], "materials": cost}, f"cost {names[1]} {cost} materials")
    )
    first, ask, offer = (str(rng.integers(low, low + 250)) for low in (300, 200, 150))
    listed = {"what": "listed", "piece": names[0], "own": idea, "amount": first}
    sold = {"what": "sold", "piece": names[0], "amount": ask, "channel": "market"}
    for chance, (form, filled, line) in (
        (1.0, ("sale", listed, f"listed {names[0]} at {first} gut_price={idea}")),
        (0.5, ("sale", {"what": "asking_price", "piece": names[0], "amount": ask},
               f"marked down {names[0]} to {ask}")),
        (0.7, ("sale", {"what": "offer_refused", "piece": names[0], "amount": offer},
               f"offer refused {names[0]} {offer}")),
        (0.8, ("sale", sold, f"sold {names[0]} for {ask} at the market")),
    ):  # fmt: skip
        if rng.random() < chance:
            deeds.append((form, filled, line))
    if deeds[-1][1] is sold and rng.random() < 0.05:
        deeds.append(("after", {"piece": names[0], "after": "returned"}, f"returned {names[0]}"))
    return deeds


def _day(rng: np.random.Generator) -> dict[str, str]:
    """Most of it is logged on its day, which the forms stand on and a line may leave out."""
    said = str(rng.choice(["", "yesterday", "3 days ago"], p=[0.5, 0.3, 0.2]))
    return {"day": said} if said else {}


def by_lines(deeds: list[Deed], today: date) -> Effort:
    """Each deed as a line at one prompt: typed, Enter, read back, y, Enter."""
    made = Effort(entries=len(deeds))
    for _, _, line in deeds:
        read_entry(line, today=today)  # each must be understood as it stands
        made.keys += len(line.strip()) + 3
        made.thoughts += 2
    return made


def by_forms(deeds: list[Deed], shop: Any) -> Effort:
    """Each deed by its form: the tab when it is another one, then field by field, then the button."""
    made, before = Effort(entries=len(deeds)), ""
    forms = {name: make(shop) for name, make in FORMS.items()}
    for name, filled, _ in deeds:
        made.clicks += name != before
        before = name
        made.thoughts += 1
        for key, value in filled.items():
            control = _one(forms[name], f"f-{key}")
            if hasattr(control, "options"):
                standing = str(control.value) == value
                control.value = value
                made.clicks += 0 if standing else 2
            else:
                control.value = value
                made.clicks += 1
                made.types(value)
            made.thoughts += 1
        _one(forms[name], "b-log").click()
        made.clicks += 1
        said = _one(forms[name], "a-saved").value
        assert "Logged" in said, f"{name} {filled}: {said}"
    return made


def _one(box: Any, name: str) -> Any:
    """The widget of the form that carries the class."""
    if name in getattr(box, "_dom_classes", ()):
        return box
    found = (_one(child, name) for child in getattr(box, "children", ()))
    return next((one for one in found if one is not None), None)


def main() -> None:
    """Print what a week takes each way: mean with its standard error over the weeks, and the most."""
    weeks = int(sys.argv[1]) if len(sys.argv) > 1 else 52
    rng = np.random.default_rng(2026)
    lines, forms = [], []
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "flips.csv").write_text("piece,furniture_type,sale_price\n", encoding="utf-8")
        first = [f"A-{100 + i},dresser,2025-12-01," for i in range(3)]
        (folder / "flips.csv").write_text(
            "\n".join(["piece,furniture_type,bought_on,sale_price", *first, ""]), encoding="utf-8"
        )
        for number in range(weeks):
            today = date(2026, 1, 5) + timedelta(7 * number)
            (folder / "settings.toml").write_text(f"as_of = {today}\n", encoding="utf-8")
            deeds = week(rng, number)
            lines.append(by_lines(deeds, today))
            forms.append(by_forms(deeds, open_shop(folder)))
    for way, efforts in (("by lines", lines), ("by forms", forms)):
        for name in ("entries", "clicks", "keys", "seconds"):
            values = [getattr(e, name) for e in efforts]
            error = stdev(values) / sqrt(len(values))
            print(
                f"{way}, {name} a week: {mean(values):.1f} (standard error {error:.1f}), at most {max(values):.0f}; "
                f"{weeks} weeks"
            )


if __name__ == "__main__":
    main()
