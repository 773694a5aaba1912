"""A column of money with many different amounts: the plain ones all at once, the others one by one."""

from __future__ import annotations

import re

import numpy as np

from fleetlib.records.parsing.amounts import read_money
from fleetlib.records.parsing.parsed import Reading, from_cells, shown

_SIGN = {
    "USD": r"\$",
    "CAD": r"\$",
    "AUD": r"\$",
    "NZD": r"\$",
    "MXN": r"\$",
    "EUR": "€",
    "GBP": "£",
}
_MANY = 50


def read_money_column(texts: list[str], *, currency: str) -> Reading:
    """The different texts of a column of money; the same answers as read_money, sooner.

    "Plain" is an amount such as 80, $80, $1,150 or 1150.50 in a column in which no comma is a decimal mark.
    """
    if len(texts) < _MANY or currency not in _SIGN or any("\n" in t for t in texts):
        return from_cells(read_money(texts, currency=currency))
    plain = re.compile(
        rf"^(?:{_SIGN[currency]}?(\d+|\d{{1,3}}(?:,\d{{3}})+)(\.\d\d?)?|.*)$", re.MULTILINE
    )
    found = plain.findall("\n".join(texts))
    if len(found) != len(texts):
        return from_cells(read_money(texts, currency=currency))
    odd = [i for i, (whole, _) in enumerate(found) if not whole]
    if _comma_is_decimal([texts[i] for i in odd]):
        return from_cells(read_money(texts, currency=currency))
    points = any(p for _, p in found) or any(w.count(",") > 1 for w, _ in found)
    cells = read_money([texts[i] for i in odd], currency=currency, marks="." if points else "")
    bare = [w.replace(",", "").lstrip("0") or "0" if w else "nan" for w, _ in found]
    places = [p.rstrip("0") if p else "" for _, p in found]
    written = [w + p if p != "." and p else w for w, p in zip(bare, places, strict=True)]
    values = np.array(written, dtype=float)
    why = ["an amount of money"] * len(texts)
    refused = np.zeros(len(texts), dtype=bool)
    for i, cell in zip(odd, cells, strict=True):
        values[i] = np.nan if cell.value is None else cell.value
        written[i] = shown(cell.value)
        why[i], refused[i] = cell.why, cell.refused
    return Reading(values, why, refused if refused.any() else None, written)


def _comma_is_decimal(texts: list[str]) -> bool:
    """True where some amount uses a comma in a way that could make it the decimal mark."""
    return any(re.search(r",\d{1,2}(?!\d)|,\d{4}|\.\d{3}", t) for t in texts)
