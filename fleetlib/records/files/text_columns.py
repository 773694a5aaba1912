"""Columns of text with each different text kept once, and pandas' tokeniser for well-formed records."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TextIO, cast

import numpy as np
import pandas as pd


@dataclass(frozen=True, eq=False, slots=True)
class TextColumn:
    """One column of cells as `texts[codes[i]]`: each different text is kept, and later read, once."""

    codes: np.ndarray = field(repr=False)
    texts: list[str] = field(repr=False)

    def cell(self, row: int) -> str:
        """The text of one cell."""
        return str(self.texts[self.codes[row]])

    def rows(self, keep: np.ndarray) -> TextColumn:
        """The same texts for the rows where `keep` is true."""
        return TextColumn(self.codes[keep], self.texts)


def column_of(cells: Sequence[str] | np.ndarray) -> TextColumn:
    """A TextColumn from one text a row."""
    if isinstance(cells, np.ndarray):
        values = cells
    else:
        values = np.empty(len(cells), dtype=object)
        values[:] = cells
    codes, texts = pd.factorize(values)
    return TextColumn(codes.astype(np.int32), list(texts))


class _Pieces:
    """The wanted spans of a text, as a file that pandas can read from without a second copy."""

    def __init__(self, text: str, spans: list[tuple[int, int]]) -> None:
        self._text, self._spans, self._k = text, spans, 0
        self._at = spans[0][0] if spans else 0

    def read(self, size: int = -1) -> str:
        """The next at most `size` characters; a span's end ends a piece."""
        if self._k >= len(self._spans):
            return ""
        end = self._spans[self._k][1]
        stop = end if size < 0 else min(end, self._at + size)
        piece = self._text[self._at : stop]
        self._at = stop
        if stop == end:
            self._k += 1
            self._at = self._spans[self._k][0] if self._k < len(self._spans) else 0
        return piece

    def __iter__(self) -> Iterator[str]:
        return iter(lambda: self.read(65_536), "")


def spans(starts: np.ndarray, ends: np.ndarray) -> list[tuple[int, int]]:
    """Records that follow each other without a gap, joined."""
    if not len(starts):
        return []
    gaps = np.flatnonzero(starts[1:] != ends[:-1]) + 1
    first = np.concatenate([[0], gaps])
    last = np.concatenate([gaps, [len(starts)]]) - 1
    return list(zip(starts[first].tolist(), ends[last].tolist(), strict=True))


def tokenised(
    text: str, spans: list[tuple[int, int]], mark: str, width: int
) -> pd.DataFrame | None:
    """The cells of the spans under `width` columns; None where pandas would lose or refuse any."""
    if not spans:
        return pd.DataFrame({place: np.empty(0, dtype=object) for place in range(width)})
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", pd.errors.ParserWarning)  # it would drop cells
            return _read_csv(text, spans, mark, width)
    except (pd.errors.ParserError, pd.errors.ParserWarning, pd.errors.EmptyDataError, ValueError):
        return None


def _read_csv(text: str, spans: list[tuple[int, int]], mark: str, width: int) -> pd.DataFrame:
    return pd.read_csv(
        cast(TextIO, _Pieces(text, spans)),
        sep=mark,
        header=None,
        names=list(range(width)),
        index_col=False,
        dtype=str,
        na_filter=False,
        skip_blank_lines=False,
        engine="c",
    )


def columns_of(frame: pd.DataFrame) -> list[TextColumn]:
    """The columns of a frame, which lets go of them one by one."""
    arrays = [frame.pop(place).to_numpy() for place in reversed(frame.columns)]
    return [column_of(arrays.pop()) for _ in range(len(arrays))]
