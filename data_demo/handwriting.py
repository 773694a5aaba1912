"""How the owner of the invented shop writes things down: a habit for every kind of cell, changing with the years."""

from __future__ import annotations

from typing import Any

import pandas as pd

SAID: dict[str, tuple[str, ...]] = {  # how the owner writes a word, most often first
    "nightstand": ("nightstand", "nightstand", "night stand", "Nightstand"),
    "dresser": ("dresser", "dresser", "low dresser", "Dresser "),
    "chest of drawers": ("chest of drawers", "tall dresser", "Chest of drawers"),
    "sideboard": ("sideboard", "buffet", "credenza", "sideboard"),
    "hutch": ("hutch", "china hutch"),
    "dining table": ("dining table", "kitchen table", "Dining table"),
    "coffee table": ("coffee table", "coffee table", "cocktail table"),
    "side table": ("side table", "end table", "end table"),
    "desk": ("desk", "writing desk"),
    "bookcase": ("bookcase", "bookshelf"),
    "oil": ("danish oil", "oil", "tung oil"),
    "wax": ("wax",),
    "shellac": ("shellac",),
    "polyurethane": ("poly", "polyurethane", "Poly"),
    "milk paint": ("milk paint", "Milk paint"),
    "chalk-type paint": ("chalk-type paint",),
    "two-tone": ("two-tone", "two tone"),
    "mid-century": ("mid-century", "Mid-century"),
    "farmhouse": ("farmhouse",),
    "Victorian": ("Victorian", "victorian"),
    "colonial": ("colonial", "Colonial"),
    "traditional": ("traditional",),
}
MISSPELT = {
    "walnut": "wallnut",
    "mahogany": "mahagony",
    "maple": "mapel",
    "oak": "oack",
    "cherry": "chery",
}


def write_word(word: str, small: int) -> str:
    ways = SAID[word]
    return ways[small % len(ways)]


def write_type(row: pd.Series, small: int) -> str:
    word = write_word(row["furniture_type"], small)
    if row["pieces_in_lot"] == 2:
        return (
            f"{word.strip().lower()}s x2" if small % 3 == 0 else f"pair of {word.strip().lower()}s"
        )
    return word


def write_wood(wood: str, r: float) -> str:
    if r < 0.02:
        return "?"
    if r < 0.04:
        return ""
    if r < 0.13:
        return MISSPELT.get(wood, wood)
    return wood.capitalize() if r > 0.85 else wood


def write_dims(row: pd.Series, r: float, year: int) -> str:
    inches = [row["width_in"], row["depth_in"], row["height_in"]]
    if r < 0.04:
        return ""
    if r < 0.08:
        return " x ".join(f"{round(x * 2.54)}" for x in inches) + " cm"
    if inches[0] >= 48 and r < 0.45:
        feet, rest = divmod(inches[0], 12)
        return f'{feet:.0f}\'{_half(rest)}" x {_half(inches[1])}" x {_half(inches[2])}"'
    if year == 2024:
        return "x".join(f"{x:g}" for x in inches)
    return " x ".join(_half(x) for x in inches)


def _half(x: float) -> str:
    return f"{x:.0f}" if x == int(x) else f"{int(x)} 1/2"


def write_made(year: Any, r: float) -> str:
    if r < 0.25:
        return ""
    return f"{int(year) // 10 * 10}s" if r < 0.75 else f"{int(year)}"


def write_money(amount: Any, year: int) -> str:
    if amount is None or pd.isna(amount):
        return ""
    return f"{amount:g}" if year == 2025 else f"${amount:,.0f}"


def write_hours(hours: Any, year: int, r: float) -> str:
    if hours is None or pd.isna(hours):
        return ""
    whole, minutes = divmod(round(hours * 60), 60)
    if year <= 2024:
        return f"{hours:g} hrs"
    if r < 0.3 and minutes:
        return f"{whole}h {minutes}m"
    return _half(hours) if hours % 0.5 == 0 and r < 0.6 else f"{hours:g}"


def write_day(day: Any) -> str:
    if day is None or pd.isna(day):
        return ""
    if day.year <= 2024:
        return f"{day.month}/{day.day}/{day:%y}"
    return f"{day.day} {day:%b %Y}" if day.year == 2025 else f"{day:%Y-%m-%d}"


def write_plain(value: Any) -> str:
    if value is None or (not isinstance(value, str) and pd.isna(value)):
        return ""
    return f"{value:g}" if isinstance(value, int | float) else str(value)
