"""The cells of the columns that hold words, read with the vocabulary and the person's own words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fleetlib.base.settings import Settings
from fleetlib.records.parsing.amounts import worked_in
from fleetlib.records.parsing.counts import count_said, split_count
from fleetlib.records.parsing.numbers import Cell, is_missing_word
from fleetlib.records.parsing.vocabulary import Word, known_words, look_up, word_key


@dataclass(frozen=True, slots=True)
class WordCells:
    """One entry a text: the cell, a question, a suggestion, and what else the text named; `rests` are other words."""

    cells: list[Cell]
    questions: list[str]
    suggestions: list[str]
    constructions: list[str | None]
    counts: list[float | None]
    woods: list[str | None]
    rests: list[str | None]
    finishes: list[str | None]
    hours: list[float | None]


def read_words(column: str, texts: Sequence[str], settings: Settings) -> WordCells:
    """The different texts of a column of words; spellings that differ only in capitals become one."""
    own = settings.words.get(column, {})
    if column == "channel":
        own = {**{c: c for c in _channels(settings)}, **own}
    words = [_look_up(column, t, own) for t in texts]
    none: list[float | None] = [None] * len(words)
    return _cells(words, texts, (none, none), unify=column == "channel")


def read_types(texts: Sequence[str], settings: Settings) -> WordCells:
    """The different texts of furniture_type; a count ("pair of nightstands") and hours in them are taken out."""
    own = settings.words.get("furniture_type", {})
    words, counts = [], []
    parts = [worked_in(t) for t in texts]
    for typed, (text, _) in zip(texts, parts, strict=True):
        word, count = _look_up("furniture_type", typed, own), None
        of_own = word_key(typed) in {word_key(k) for k in own}
        inside = word.why.startswith("found in")
        if of_own and word.value is not None:
            count = count_said(text)  # the kind was answered, the count stands as it was typed
        elif word.value is not None and (inside or word.value not in known_words("furniture_type")):
            kind, count = split_count(text)
            if count is not None and _is_known(kind, own):
                found = _look_up("furniture_type", kind, own)
                word = replace(found, why="the count taken out", construction=None)
            elif inside:
                count = count_said(text)
            elif count is not None:  # an unknown kind keeps its words, the count among them
                near = word.suggestion or _look_up("furniture_type", kind, own).suggestion
                word = Word(word.value, word.why, suggestion=near)
            elif _set_without_count(text):
                word = Word(
                    word.value,
                    word.why,
                    question=f'"{text.strip()}" does not say how many; fill in pieces_in_lot',
                )
        words.append(word)
        counts.append(count)
    return _cells(words, texts, (counts, [hours for _, hours in parts]), unify=False)


def _is_known(kind: str, own: Mapping[str, str]) -> bool:
    """True where the rest of a typed set is a kind of piece that is known, one of two meanings, or their own."""
    word = _look_up("furniture_type", kind, own)
    return (
        word.value in known_words("furniture_type")
        or bool(word.question)
        or word.value in own.values()
    )


def _set_without_count(text: str) -> bool:
    return word_key(text).startswith(("set of ", "lot of ", "group of "))


def _channels(settings: Settings) -> list[str]:
    named = [*settings.fee_share, *settings.flat_fee, settings.usual_channel]
    return list(dict.fromkeys(c for c in named if c))


def _look_up(column: str, text: str, own: Mapping[str, str]) -> Word:
    if not text.strip():
        return Word(None)
    if is_missing_word(text) and word_key(text) != "unknown":
        return Word(None, "a word for nothing here")
    if column == "furniture_type" and word_key(text) == "unknown":
        return Word(None, "a word for nothing here")
    word = look_up(column, text.strip(), own)
    if column in ("wood", "finish") and word.value == "nothing":  # as answered
        return Word(None, "a word for nothing here")
    return word


def _cells(
    words: list[Word],
    texts: Sequence[str],
    numbers: tuple[list[float | None], list[float | None]],
    *,
    unify: bool,
) -> WordCells:
    """The cells of `words`; `numbers` are the counts and the hours that the texts name."""
    first: dict[str, str] = {}
    cells = []
    for word in words:
        value, why = word.value, word.why
        if unify and value is not None:
            value = first.setdefault(value.casefold(), value)
            why = why or "spelling"
        if word.suggestion:
            why = f'kept as typed; did you mean "{word.suggestion}"?'
        elif word.question and value is not None:
            why = "kept as typed; it has two meanings" if "can mean" in word.question else why
        cells.append(Cell(value, why))
    return WordCells(
        cells,
        [w.question for w in words],
        [w.suggestion for w in words],
        [w.construction for w in words],
        numbers[0],
        [w.wood or None for w in words],
        [w.rest or None for w in words],
        [w.finish or None for w in words],
        numbers[1],
    )
