"""Tables as CSV text that a spreadsheet opens safely and that reads back as the same table.

A text cell that a spreadsheet would take for a formula gets one leading apostrophe (CWE-1236; OWASP ASVS 5,
1.2.10); reading takes exactly one off again. Numbers are written as numbers. RFC 4180 quoting, CRLF.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np
import pandas as pd

_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")


def guarded(text: str) -> str:
    """`text` with an apostrophe in front when its first character could start a formula."""
    bare = text.lstrip("' \u00a0")
    return "'" + text if bare.startswith(_STARTS) or text.startswith(_STARTS) else text


def without_guard(text: str) -> str:
    """`text` without the one apostrophe that `guarded` put there, if it did."""
    if text.startswith("'") and text[1:].lstrip("' \u00a0").startswith(_STARTS):
        return text[1:]
    return text


def csv_line(cells: Sequence[str]) -> str:
    """One line of CSV text."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([guarded(c) for c in cells])
    return out.getvalue()


def to_csv(frame: pd.DataFrame) -> str:
    """`frame` as CSV text; missing is empty, days are ISO, whole floats have no point."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([guarded(str(c)) for c in frame.columns])
    columns = [_texts(frame.iloc[:, j]) for j in range(frame.shape[1])]
    writer.writerows(zip(*columns, strict=True))
    return out.getvalue()


def _texts(column: pd.Series) -> list[str]:
    if pd.api.types.is_datetime64_any_dtype(column):
        return [d.strftime("%Y-%m-%d") if d is not pd.NaT else "" for d in column]
    if pd.api.types.is_bool_dtype(column):
        return ["yes" if v else "no" for v in column]
    if pd.api.types.is_numeric_dtype(column):
        return [_number(v) for v in column.to_numpy()]
    return [guarded(v) if isinstance(v, str) else "" for v in column]


def _number(value: float | np.integer) -> str:
    if value != value:
        return ""
    return str(int(value)) if float(value).is_integer() else repr(float(value))
