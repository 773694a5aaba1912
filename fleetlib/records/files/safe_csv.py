"""Tables as CSV text that a spreadsheet opens safely and that reads back as the same table.

A text cell that a spreadsheet would take for a formula gets one leading apostrophe (CWE-1236; OWASP ASVS 5,
1.2.10), and so does what would become a cell of its own under another separator than ours; reading takes exactly
those off again. Every text that is more than plain words is quoted. Numbers are written as numbers. RFC 4180.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
import pandas as pd

_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")
# Inside a text: where another separator or a line break would begin a cell that a formula could start.
_INNER = re.compile("(?<=[;\t|\r\n])(?=[\"' \u00a0]*[=+@＝＋－＠-])|(?<=,)(?=[\"']*[=+@＝＋－＠-])")
_INNER_GUARD = re.compile(
    "(?<=[;\t|\r\n])'(?=[\"' \u00a0]*[=+@＝＋－＠-])|(?<=,)'(?=[\"']*[=+@＝＋－＠-])"
)
_PLAIN = re.compile(r"[^\W_][\w .-]*|")  # words that need no quotes under any separator
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")


def with_apostrophe(text: str) -> str:
    """`text` with an apostrophe wherever a spreadsheet could take what follows for a formula."""
    if not _PLAIN.fullmatch(text):
        text = _INNER.sub("'", text)
    bare = text.lstrip("' \u00a0")
    return "'" + text if bare.startswith(_STARTS) or text.startswith(_STARTS) else text


def without_guard(text: str) -> str:
    """`text` without the apostrophes that `with_apostrophe` put there, if it did."""
    if text.startswith("'") and text[1:].lstrip("' \u00a0").startswith(_STARTS):
        text = text[1:]
    return _INNER_GUARD.sub("", text) if "'" in text else text


def csv_cells(cells: Iterable[str], *, mark: str = ",", end: str = "\n") -> str:
    """One line of CSV: numbers as they are, every text `with_apostrophe`, and quoted unless it is plain words."""
    return mark.join([c if _NUMBER.fullmatch(c) else _text_cell(c) for c in cells]) + end


def _text_cell(text: str) -> str:
    return text if _PLAIN.fullmatch(text) else '"' + with_apostrophe(text).replace('"', '""') + '"'


def to_csv(frame: pd.DataFrame) -> str:
    """`frame` as CSV text; missing is empty, days are ISO, whole floats have no point; texts `with_apostrophe`."""
    lines = [[_text_cell(str(c)) for c in frame.columns]]
    columns = [_texts(frame.iloc[:, j]) for j in range(frame.shape[1])]
    return "".join(",".join(row) + "\r\n" for row in [*lines, *zip(*columns, strict=True)])


def _texts(column: pd.Series) -> list[str]:
    if pd.api.types.is_datetime64_any_dtype(column):
        return [d.strftime("%Y-%m-%d") if d is not pd.NaT else "" for d in column]
    if pd.api.types.is_bool_dtype(column):
        return ["yes" if v else "no" for v in column]
    if pd.api.types.is_numeric_dtype(column):
        return [_number(v) for v in column.to_numpy()]
    return [_text_cell(v) if isinstance(v, str) else "" for v in column]


def _number(value: float | np.integer) -> str:
    if value != value:
        return ""
    return str(int(value)) if float(value).is_integer() else repr(float(value))
