"""Answers to what the check asked, written to answers.csv, and what became of the record by them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Protocol

from fleetlib.base.errors import BadQuestion, CannotSave
from fleetlib.base.kit import RECORD_FILES, is_kit_demo
from fleetlib.base.opening import names_in
from fleetlib.base.settings import Settings, settings_in
from fleetlib.records.asked.answers import WORDS, key_of, words_in
from fleetlib.records.asked.cells import why_no_answer
from fleetlib.records.asked.question import Chosen, Question, chosen_by, unquoted
from fleetlib.records.files.reading import read_table
from fleetlib.records.folder import read_records
from fleetlib.records.log.answers_file import keep_answers, read_answers


def answer_check(place: Path, codes: Sequence[str]) -> list[str]:
    """Keep what `codes` say: the answers of the check by their codes, and headings by their name.

    Every code means the question that had this number when the record was last read, before any of them counts.
    A heading's column may be said as `Stock=type`, several behind each other; the record is not opened for it, as it
    may be what the record needs to be read at all. `place`: the shop's folder, or the file of its record. Returns what
    was written, in sentences.
    Raises BadQuestion for a code of no question, when nothing is written, and for an answer that cannot be read, when
    the others are; it says which. Raises CannotSave for the kit's demo.
    """
    headings, others = _named_headings(place, codes)
    settings, as_of, chosen = None, None, headings
    folder = place.parent if place.is_file() else place
    if others:
        records = read_records(place)
        settings, as_of = records.settings, records.as_of
        try:
            words, others = _named_words(records.to_answer, others)
            chosen = [*headings, *words, *chosen_by(records.to_answer, others)]
        except BadQuestion as refusal:
            raise BadQuestion(f"{refusal} Nothing was written.") from None
    chosen_settings = settings or settings_in(folder)
    on = chosen_settings.as_of or date.today()
    return _written(folder, chosen, chosen_settings, as_of or on)


def _named_headings(place: Path, codes: Sequence[str]) -> tuple[list[Chosen], list[str]]:
    """The answers that name a heading of the record, and the other codes."""
    files = (
        [place]
        if place.is_file()
        else [p for p in names_in(place) if p.name.lower() in RECORD_FILES]
    )
    typed: dict[str, str] = {}
    sheets = read_answers(place.parent if place.is_file() else place).sheets()
    for file in files if any("=" in c for c in codes) else ():
        typed |= {key_of(h): h for h in read_table(file, sheets=sheets).headings if h.strip()}
    said, others = _by_name(typed, codes)
    return [Chosen(Question("heading", h, f'"{h}":', (), "", 0.0), m, m) for h, m in said], others


def _named_words(asked: Sequence[Question], codes: Sequence[str]) -> tuple[list[Chosen], list[str]]:
    """The answers that name a word that is asked about, alone or among others, as `mah=mahogany`; the other codes."""
    subjects: dict[str, tuple[str, str]] = {}
    for q in asked:
        subject, named = words_in(q.text) if q.about == "words" else (q.about, [q.text])
        if subject in WORDS:
            subjects |= {key_of(n): (subject, n) for n in named if not n.isdigit()}
    said, others = _by_name({k: n for k, (_, n) in subjects.items()}, codes)
    chosen = [
        Chosen(Question(subjects[key_of(n)][0], n, f'"{n}":', (), "", 0.0), m, m) for n, m in said
    ]
    return chosen, others


def _by_name(
    typed: Mapping[str, str], codes: Sequence[str]
) -> tuple[list[tuple[str, str]], list[str]]:
    """What is said behind the names in `typed` (folded -> as typed) and a sign; and the other codes."""
    said, others = list[tuple[str, str]](), list[str]()
    longest_first = sorted(filter(None, typed), key=len, reverse=True)
    named = "|".join(re.escape(h).replace(r"\ ", r"\s+") for h in longest_first)
    begins = re.compile(rf"(?:^|(?<=[\s,;]))({named})\s*=", re.IGNORECASE) if named else None
    for code in codes:
        starts = list(begins.finditer(code)) if begins else []
        others += (
            [before] if (before := code[: starts[0].start() if starts else None].strip()) else []
        )
        ends = [m.start() for m in starts[1:]] + [len(code)]
        for match, end in zip(starts, ends, strict=False):
            meaning = code[match.end() : end].strip(" ,;")
            behind = _CODES_BEHIND.search(meaning)
            if behind:  # Stock=type 3a
                others.append(behind[0])
                meaning = meaning[: behind.start()]
            said.append((typed[key_of(match[1])], unquoted(meaning)))
    return said, others


_CODES_BEHIND = re.compile(r"(?:[\s,;]+\d+[a-z])+$", re.IGNORECASE)


class Answering(Protocol):
    """What answering needs of a shop."""

    records: Any

    def reread(self) -> None:
        """Read the folder again."""


def write_answers(shop: Answering, chosen: Sequence[Chosen]) -> list[str]:
    """Append the chosen answers to the shop's answers.csv and read the record again; says what was written."""
    records = shop.records
    said = _written(records.folder, chosen, records.settings, records.as_of)
    shop.reread()
    return said


def _written(folder: Path, chosen: Sequence[Chosen], settings: Settings, as_of: date) -> list[str]:
    """Append the answers that can be read to the folder's answers.csv; what was written, in sentences."""
    if is_kit_demo(folder):
        raise CannotSave(
            "Nothing is answered in the invented demo shop, which is never written to. Make a shop of your own with: "
            "fleetlib start FOLDER"
        )
    why = [why_no_answer(c, settings=settings, as_of=as_of) for c in chosen]
    wrong = [w for w in why if w]
    good = [c for c, w in zip(chosen, why, strict=True) if not w]
    if not good:
        raise BadQuestion(" ".join([*wrong, "Nothing was written."]))
    path = keep_answers(folder, good, on=settings.as_of or date.today())
    if wrong:
        others = f"The other {len(good)} answers were" if len(good) > 1 else "The other answer was"
        again = "run check again for what is still asked, as the numbers have moved."
        raise BadQuestion(" ".join([*wrong, f"{others} written to {path.name}; {again}"]))
    said = [f"{c.question.said} {c.shown}." for c in good]
    return [*said, f"Written to {path.name}, which you can read, edit and delete."]
