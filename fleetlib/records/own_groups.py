"""The owner's own groups: words of a column rolled up, or a measure cut into bands, as a column of its own."""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadSettings
from fleetlib.base.settings import OwnGroups, Settings
from fleetlib.records.parsing.vocabulary import known_words, look_up, nearest, word_key
from fleetlib.records.schema.columns import COLUMN, DERIVED_NAMES, NAMES, NUMBERS

REST = "the rest"
_WORDS = ("furniture_type", "wood", "construction", "finish", "style", "channel")
_VOCABULARY = ("furniture_type", "wood", "construction", "finish", "style")


def with_own_groups(flips: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """`flips` with a column for each of the settings' groups: the group's name for every piece.

    A word in no group, and a measure in no band, is "the rest"; a cell with nothing recorded stays missing, so
    that the groups always add up to all pieces. Raises BadSettings for a column the records lack, a grouping
    named as a column, or a word that is none of the column's, naming the nearest.
    """
    made = flips.copy(deep=False)
    for name, groups in settings.groups.items():
        where = f"settings.toml: [groups.{name}]"
        if name in flips.columns or name in COLUMN or name in DERIVED_NAMES:
            raise BadSettings(f"{where} is the name of a column already; choose another name.")
        column = groups.column
        if column not in flips.columns or column not in (*NAMES, *DERIVED_NAMES, *_own(flips)):
            raise BadSettings(
                f'{where} column is "{column}", which your records do not have. Use one of '
                f"{', '.join(_WORDS)}, a measure such as width_in, or a column of your own."
            )
        numbers = column in NUMBERS or pd.api.types.is_numeric_dtype(flips[column])
        cut = _bands if numbers else _rolled
        made[name] = cut(flips[column], groups, settings, where)
    return made


def group_names(settings: Settings, column: str) -> dict[str, dict[str, str]]:
    """The groupings of `column`: name -> (word of ours -> its group), for the words that are in one."""
    found: dict[str, dict[str, str]] = {}
    for name, groups in settings.groups.items():
        if groups.column == column:
            found[name] = {
                _kept(column, word, settings): part
                for part, words in groups.parts.items()
                for word in words
                if isinstance(word, str)
            }
    return found


def _own(flips: pd.DataFrame) -> list[str]:
    """The owner's own columns, carried as typed."""
    known = {*NAMES, *DERIVED_NAMES}
    return [c for c in flips.columns if c not in known]


def _rolled(column: pd.Series, groups: OwnGroups, settings: Settings, where: str) -> pd.Series:
    name = str(column.name)
    on_record = {word_key(w) for w in column.dropna().astype(str)}
    part_of: dict[str, str] = {}
    for part, words in groups.parts.items():
        for word in words:
            if not isinstance(word, str):
                raise BadSettings(
                    f'{where} {part} holds the number {word}, but {name} holds words: ["oil", "wax"].'
                )
            kept = _kept(name, word, settings)
            known = name not in _VOCABULARY or kept in known_words(name)
            if not known and word_key(kept) not in on_record:
                near = nearest(word_key(word), known_words(name), alike=0.8)
                hint = f' Did you mean "{near[0]}"?' if near else ""
                raise BadSettings(
                    f'{where} {part} holds "{word}", which is no {name.replace("_", " ")} of yours or known here.{hint}'
                )
            key = word_key(kept)
            if part_of.get(key, part) != part:
                raise BadSettings(f'{where} has "{word}" in both {part_of[key]} and {part}.')
            part_of[key] = part
    told = [None if pd.isna(w) else part_of.get(word_key(str(w)), REST) for w in column]
    return pd.Series(told, index=column.index, dtype="str")


def _bands(column: pd.Series, groups: OwnGroups, settings: Settings, where: str) -> pd.Series:
    values = column.to_numpy(float)
    told = np.full(len(values), REST, dtype=object)
    told[np.isnan(values)] = None
    taken: list[tuple[float, float, str]] = []
    for part, ends in groups.parts.items():
        if len(ends) != 2 or isinstance(ends[0], str) or isinstance(ends[1], str):
            raise BadSettings(
                f"{where} {part} needs two numbers, from and below, because {column.name} is a measure: "
                f"{part} = [0, 36]."
            )
        low, high = float(ends[0]), float(ends[1])
        if low >= high:
            raise BadSettings(f"{where} {part} goes from {low:g} to {high:g}; swap the two.")
        for other_low, other_high, other in taken:
            if low < other_high and other_low < high:
                raise BadSettings(f"{where} {other} and {part} overlap; each end is left out.")
        taken.append((low, high, part))
        told[(values >= low) & (values < high)] = part
    return pd.Series(told, index=column.index, dtype="str")


def _kept(column: str, word: str, settings: Settings) -> str:
    """The word as the records keep it."""
    if column not in _VOCABULARY:
        return word
    found = look_up(column, word, settings.words.get(column))
    return found.value or word
