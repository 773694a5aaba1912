"""Questions about words for kinds, woods and finishes: one a word that can be two things, and one for all those that
are near a known word or may be one cut short, whose meanings can be said yes to at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from fleetlib.base.said import pieces_said
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import BETWEEN, EACH, Answers, key_of, words_text
from fleetlib.records.asked.cells import NO_PIECE, SUBJECT
from fleetlib.records.asked.question import Option, Question, weight
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.parsing.cut_short import cut_short
from fleetlib.records.parsing.vocabulary import (
    TWO_MEANINGS,
    known_words,
    may_be,
    of_its_own,
    several_finishes,
    word_key,
)
from fleetlib.records.parsing.words import WordCells

_FEWEST = 3  # words that are asked about at once; our own, no source
_MOST_SHOWN = 12
_OWN_KIND = "a kind of its own"


def about_words(
    column: str,
    cells: TextColumn,
    found: WordCells,
    settings: Settings,
    lines: np.ndarray,
    answers: Answers,
) -> Iterator[Question]:
    """What is asked about the words of `column` that have two meanings, are near a known one or one cut short, or are
    kinds nobody knows.

    Only words of the rows that have a line in `lines` (0: none) are asked about.
    """
    counts = np.bincount(cells.codes[lines > 0], minlength=len(cells.texts))
    own = settings.words.get(column, {})
    mine = {word_key(w) for w in (*own, *own.values())}
    together = _written_in_several_ways(cells, counts) if column == "finish" else {}
    likely: list[Question] = []
    unknown: list[Question] = []
    for i, text in enumerate(cells.texts):
        value = found.cells[i].value
        word = str(value) if value is not None else ""
        if not word or word_key(word) in mine or not counts[i]:
            continue
        meanings = TWO_MEANINGS.get(column, {}).get(word, ()) if found.questions[i] else ()
        two = column != "finish" and bool(meanings)
        meanings = meanings or (
            may_be(column, text) if column == "finish" and word not in known_words(column) else ()
        )
        named = meanings or _likely(column, text, word, found.suggestions[i])
        if not named and (column != "furniture_type" or word in known_words(column)):
            continue
        typed, count = word if meanings else " ".join(text.split()), int(counts[i])
        several = several_finishes(text) if together and meanings else ""
        if several in together:
            count, together[several] = together[several], 0
            if not count:
                continue
            typed = word = several
            meanings = named = tuple(several.split(" and "))
        where = f"line {lines[np.flatnonzero((cells.codes == i) & (lines > 0))[0]]}: {' '.join(text.split())}"
        asked = _question(column, (typed, word, text), (named, bool(meanings)), (count, where))
        if two:
            yield asked
        else:
            (likely if named else unknown).append(asked)
    yield from _at_once(SUBJECT[column], likely, answers)
    yield from _at_once(SUBJECT[column], unknown, answers)


def _likely(column: str, text: str, word: str, near: str) -> tuple[str, ...]:
    """What a word that is kept as typed may be, the likeliest first."""
    if near:
        return (near,)
    if word in known_words(column):
        return ()
    return may_be(column, text) or cut_short(column, text)


def _question(
    column: str,
    words: tuple[str, str, str],
    meant: tuple[tuple[str, ...], bool],
    seen: tuple[int, str],
) -> Question:
    """One question about a word: `words` are what it is filed under, what it was read as and its cell; `meant` what it
    may be, and whether it is that in any case; `seen` in how many rows, and the first of them."""
    (typed, word, text), (named, sure), (count, where) = words, meant, seen
    stays = Option(word, word)
    if column == "furniture_type":
        own_kind = word if sure else of_its_own(text)
        stays = Option(f"{own_kind}, {_OWN_KIND}", own_kind)
    if sure:
        said = f'"{typed}" can be {" or ".join(named)}. Which is it?'
    elif named:
        said = f'"{typed}" is near "{named[0]}". Is it that?'
    else:
        said = f'"{typed}" is no kind of piece that is known. What is it?'
    return Question(
        SUBJECT[column],
        typed,
        f"{said} ({pieces_said(count)}; {where})",
        (
            *(Option(n, n) for n in named),
            stays,
            *(NO_PIECE if column == "furniture_type" and not sure else ()),
        ),
        "it is kept as typed",
        count * weight(column) * (0.7 if named else 0.2),
        "your own word for it",
    )


def _at_once(subject: str, questions: Sequence[Question], answers: Answers) -> Iterator[Question]:
    """The questions, in one where there are several and nobody asked to be asked one by one."""
    each = answers.one_by_one(subject)
    alone = [q for q in questions if key_of(q.text) in each or "|" in q.text]
    rest = [q for q in questions if q not in alone]
    if len(rest) < _FEWEST:
        yield from questions
        return
    yield from alone
    shown = [f"{q.text} = {q.options[0].meaning}" for q in rest[:_MOST_SHOWN]]
    more = f" and {len(rest) - _MOST_SHOWN} more" if len(rest) > _MOST_SHOWN else ""
    kinds_of_own = all(q.options[0].shown.endswith(_OWN_KIND) for q in rest)
    said = f"{len(rest)} of your words for a {subject} look like known ones: {'; '.join(shown)}{more}. Are they?"
    if kinds_of_own:
        named = "; ".join(q.text for q in rest[:_MOST_SHOWN])
        said = (
            f"{len(rest)} kinds of piece are not known: {named}{more}. Is each a kind of its own?"
        )
    firsts = BETWEEN.join(q.options[0].meaning for q in rest)
    kept = BETWEEN.join(_as_kept(q) for q in rest)
    keep = () if kinds_of_own else (Option("no: keep each as typed", kept),)
    yield Question(
        "words",
        words_text(subject, (q.text for q in rest)),
        f"{said} (For one of them alone: {_example(rest)}.)",
        (Option("yes, each of them", firsts), Option("ask one by one", EACH), *keep),
        "they are kept as typed",
        sum(q.cost for q in rest),
    )


def _as_kept(asked: Question) -> str:
    """What a word is kept as: of a kind without the number of pieces."""
    return next((o.meaning for o in asked.options if o.shown.endswith(_OWN_KIND)), asked.text)


def _example(rest: Sequence[Question]) -> str:
    return f'--answer "{rest[0].text}=WORD"'


def _written_in_several_ways(cells: TextColumn, counts: np.ndarray) -> dict[str, int]:
    """Finishes that stand together and are typed in two ways or more -> the rows that have them in any of these."""
    pieces: dict[str, int] = {}
    ways: Counter[str] = Counter()
    for text, n in zip(cells.texts, counts.tolist(), strict=False):
        if n and (several := several_finishes(text)):
            pieces[several] = pieces.get(several, 0) + n
            ways[several] += 1
    return {several: n for several, n in pieces.items() if ways[several] > 1}
