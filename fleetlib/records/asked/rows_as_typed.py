"""Answers about a cell of a piece without a name: filed under its row as typed, which no other answer changes.

The name that such a piece is given follows from what is read of its row, so it changes with the answers. What an answer
is filed under are the first words of the row, so many that no other row has them in this order; cells that are filled
in later stand between them. Where another row has all of them, it is filed under them "and no more", and counts for a
row of just these; of rows that are the same, as "1 of 2", as long as they are two. Where one of the words was typed
anew, the answer counts for the one row that has all others and was not answered itself, which is said. Answers of
before, filed under a name that the piece had, are found where it was its alone.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from types import MappingProxyType

import numpy as np
import pandas as pd

from fleetlib.records.asked.answers import Answer, Answers, cell_named, cell_text, key_of
from fleetlib.records.asked.names_for_unnamed import NAMED_BY, made_before
from fleetlib.records.asked.question import Question

_ROW = "row "  # what such a text begins with
_FEWEST, _MOST_ROWS = 6, 20_000  # words; of more rows answers are filed under the name
_WHOLE = re.compile(r"(.*) and no more(?: \((\d+) of (\d+)\))?", re.DOTALL)
_MARKS = re.compile(r'[\s,;|"]+|:(?=\s|$)')


class RowsAsTyped:
    """The rows of a record by their words, `texts` as they stand in the file; `pieces` their names, `named` which of
    these are the person's own; `notes`: what is to be said of answers whose row was typed anew."""

    def __init__(self, texts: Sequence[str], pieces: np.ndarray, named: np.ndarray) -> None:
        self._rows = [_words(t) for t in texts]
        self.notes: list[str] = []
        self._pieces = [str(p) for p in pieces]
        self._place = {p: i for i, p in enumerate(self._pieces) if not named[i]}

    def filed(self, questions: Iterable[Question]) -> list[Question]:
        """`questions`, those about a cell of a piece without a name filed under its row."""
        made = []
        for asked in questions:
            cell = cell_named(asked.text) if asked.about == "cell" else None
            if cell and cell[0] in self._place:
                row = _ROW + self._first_words(self._place[cell[0]])
                asked = replace(asked, filed=cell_text(row, *cell[1:]))
            made.append(asked)
        return made

    def by_name(
        self, answers: Answers, values: Mapping[str, np.ndarray], own: Mapping[str, str]
    ) -> Answers:
        """`answers` with those about cells under the names that their pieces have now; `own` as `could_be`."""
        cells = {
            k: c
            for k, row in answers.rows.items()
            if k[0] == "cell" and (c := cell_named(row.text))
        }
        now = {key_of(p) for p in self._pieces}
        lost = [c[0] for c in cells.values() if key_of(c[0]) not in now]
        if not lost:
            return answers
        older = [p for p in lost if not key_of(p).startswith(_ROW)]
        of_rows = pd.DataFrame({c: values[c] for c in NAMED_BY}).assign(line=-1) if older else None
        before = made_before(of_rows, older, own) if of_rows is not None else {}
        found = {key_of(p): name for p, (name, _) in before.items()}
        found |= {key_of(p): name for p in lost if (name := self._called(p))}
        answered = {key_of(p) for p in [*found.values(), *(c[0] for c in cells.values())]}
        for cell in cells.values():
            name = "" if key_of(cell[0]) in found.keys() | now else self._typed_anew(cell)
            if name and key_of(name) not in answered:
                found[key_of(cell[0])] = name
                self.notes.append(
                    f'Your answer about "{cell[0]}" counts for {name}, whose row differs from that in one word. If it '
                    "is another piece, delete the answer in answers.csv."
                )
        rows: dict[tuple[str, str], Answer] = {}
        for key, row in answers.rows.items():
            if key in cells and (name := found.get(key_of(cells[key][0]), "")):
                row = row._replace(text=cell_text(name, *cells[key][1:]))
            rows.pop((key[0], key_of(row.text)), None)
            rows[key[0], key_of(row.text) if key in cells else key[1]] = row
        return replace(answers, rows=MappingProxyType(rows))

    def _first_words(self, i: int) -> str:
        """The fewest first words of row i that no other has in this order, or all of them and that it has no more."""
        row = self._rows[i]
        left = self._having(row[:_FEWEST])
        for k in range(min(_FEWEST, len(row)), len(row) + 1):
            left = [j for j in left if _has(self._rows[j], row[:k])]
            if left == [i]:
                return " ".join(row[:k])
        same = [j for j in left if self._rows[j] == row]
        which = f" ({same.index(i) + 1} of {len(same)})" if len(same) > 1 else ""
        return f"{' '.join(row)} and no more{which}"

    def _called(self, filed: str) -> str:
        """The piece whose row has the words that an answer is filed under; "" where that is not one."""
        if not key_of(filed).startswith(_ROW):
            return ""
        whole = _WHOLE.fullmatch(filed)
        words = _words(whole[1] if whole else filed)[1:]
        found = self._having(words)
        if whole:
            found = [j for j in found if self._rows[j] == words]
            which, of = int(whole[2] or 1), int(whole[3] or 1)
            found = found[which - 1 : which] if len(found) == of else []
        return self._pieces[found[0]] if len(found) == 1 else ""

    def _typed_anew(self, cell: tuple[str, str, str]) -> str:
        """The piece of the one row that has all words that an answer is filed under but one, and what was typed."""
        words = _words(cell[0])[1:]
        if (
            not key_of(cell[0]).startswith(_ROW)
            or _WHOLE.fullmatch(cell[0])
            or len(words) < _FEWEST
        ):
            return ""
        found = {j for k in range(len(words)) for j in self._having([*words[:k], *words[k + 1 :]])}
        typed = set() if cell[1] == "outcome" else set(_words(cell[2]))
        fits = [j for j in found if typed <= set(self._rows[j])]
        return self._pieces[fits[0]] if len(found) == len(fits) == 1 else ""

    def _having(self, words: Sequence[str]) -> list[int]:
        rarest = min(
            (self._with.get(w, []) for w in words), key=len, default=range(len(self._rows))
        )
        return [j for j in rarest if _has(self._rows[j], words)]

    @cached_property
    def _with(self) -> dict[str, list[int]]:
        """The rows that have each word."""
        found: dict[str, list[int]] = {}
        for j, row in enumerate(self._rows):
            for word in set(row):
                found.setdefault(word, []).append(j)
        return found


def rows_as_typed(
    text_of: Callable[[int], str], pieces: np.ndarray, named: np.ndarray
) -> RowsAsTyped | None:
    """The rows by their words; None where every piece has a name of its own, or there are too many."""
    if named.all() or len(named) > _MOST_ROWS:
        return None
    return RowsAsTyped([text_of(i) for i in range(len(named))], pieces, named)


def _words(text: str) -> list[str]:
    return _MARKS.sub(" ", text).casefold().split()


def _has(row: Sequence[str], words: Sequence[str]) -> bool:
    """Whether the row has the words in this order, whatever stands between them."""
    left = iter(row)
    return all(w in left for w in words)
