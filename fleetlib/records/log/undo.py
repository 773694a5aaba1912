"""How an undo takes an entry back: what its note names, and which entries stand after all undos."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from fleetlib.records.parsing.numbers import shown

_UNDOES = re.compile(r"undoes (.*) \(line (\d+)\)", re.DOTALL)


def entry_in_words(entry: Mapping[str, Any] | pd.Series) -> str:
    """An entry as an undo names it: `sold 450 of A-113 on 2026-09-30`."""
    return worded(entry["event"], entry["amount"], entry["piece"], entry["on"])


def worded(event: str, amount: Any, piece: str, on: Any) -> str:
    """The same from its parts; `event` in the word that all rooms read."""
    much = "" if amount is None or pd.isna(amount) else f" {shown(float(amount))}"
    return f"{event}{much} of {' '.join(str(piece).split())} on {str(on)[:10]}"


def undoing(entry: Mapping[str, Any] | pd.Series) -> str:
    """The note of an undo that takes back `entry` and no other."""
    return f"undoes {entry_in_words(entry)} (line {int(entry['line'])})"


def standing_entries(
    good: Sequence[int],
    words: Sequence[str],
    *,
    kinds: Sequence[str],
    cells: Mapping[str, Sequence[str]],
    lines: Sequence[int],
    name: str,
) -> tuple[list[int], list[str]]:
    """Which of the `good` entries of file `name` stand after its undos, and a note on each undo that found nothing.

    `words` are the entries as an undo names them, `kinds` their events, `cells` the file's columns, `lines` its lines.
    """
    standing: list[int] = []
    notes = []
    for i in good:
        if kinds[i] != "undo":
            standing.append(i)
            continue
        named = _UNDOES.fullmatch(" ".join(cells["note"][i].split()))
        if named:
            said = named[1].casefold()
            alike = [j for j in standing if words[j].casefold() == said]
            own = [j for j in alike if lines[j] == int(named[2])]
            moved = [j for j in range(i) if lines[j] == int(named[2])]
            if not own and any(words[j].casefold() == said for j in moved):
                alike = []  # that very entry is there and was taken back before
            if own or alike:
                standing.remove((own or alike)[-1])
            else:
                where = f"{name} line {lines[i]}"
                notes.append(
                    f"{where}: an undo of {named[1]}, which does not stand; nothing was taken back."
                )
            continue
        whose = cells["piece"][i].strip().casefold()
        back = next(
            (
                j
                for j in reversed(standing)
                if not whose or cells["piece"][j].strip().casefold() == whose
            ),
            None,
        )
        if back is None:
            notes.append(f"{name} line {lines[i]}: an undo with nothing left to undo.")
        else:
            standing.remove(back)
    return standing, notes
