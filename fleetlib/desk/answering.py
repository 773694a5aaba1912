"""Answers to what the check asked, written to answers.csv, and what became of the record by them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Protocol

from fleetlib.base.errors import BadQuestion, CannotSave
from fleetlib.base.kit import RECORD_FILES, is_kit_demo
from fleetlib.base.opening import names_in
from fleetlib.base.settings import settings_in
from fleetlib.records.asked.answers import Answer, key_of, what_is_wrong
from fleetlib.records.asked.question import Chosen, Question, chosen_by
from fleetlib.records.files.reading import read_table
from fleetlib.records.log.answers_file import keep_answers


def name_headings(place: Path, codes: Sequence[str]) -> tuple[list[str], list[str]]:
    """Keep the answers that name a heading of the record, as `Stock=type`: what was written, and the other codes.

    They may be what the record needs to be read at all, so that it is not opened for them. `place`: the shop's folder,
    or the file of its record. Raises BadQuestion where what stands behind the sign is no column.
    """
    files = (
        [place]
        if place.is_file()
        else [p for p in names_in(place) if p.name.lower() in RECORD_FILES]
    )
    folder = place.parent if place.is_file() else place
    typed: dict[str, str] = {}
    for file in files if any("=" in c for c in codes) else ():
        typed |= {key_of(h): h for h in read_table(file).headings if h.strip()}
    named = {
        c: typed[key_of(c.split("=")[0])]
        for c in codes
        if key_of(c.split("=")[0]) in typed and "=" in c
    }
    chosen = []
    for code, heading in named.items():
        meaning = code.split("=", 1)[1].strip()
        if wrong := what_is_wrong(Answer("", "heading", heading, meaning, 0)):
            raise BadQuestion(f'"{code}": {wrong}')
        asked = Question("heading", heading, f'"{heading}":', (), "", 0.0)
        chosen.append(Chosen(asked, meaning, meaning))
    if not chosen:
        return [], list(codes)
    said = _written(folder, chosen, settings_in(folder).as_of)
    return said, [c for c in codes if c not in named]


class Answering(Protocol):
    """What answering needs of a shop."""

    records: Any

    def reread(self) -> None:
        """Read the folder again."""


def answer(shop: Answering, codes: Sequence[str]) -> list[str]:
    """Append what `codes` choose among the questions of the check, and read the record again; says what was written.

    Raises BadQuestion for a code of no question, CannotSave for the kit's own demo; then nothing was written.
    """
    return write_answers(shop, chosen_by(shop.records.to_answer, codes))


def write_answers(shop: Answering, chosen: Sequence[Chosen]) -> list[str]:
    """Append the chosen answers to the shop's answers.csv and read the record again; says what was written."""
    said = _written(shop.records.folder, chosen, shop.records.settings.as_of)
    shop.reread()
    return said


def _written(folder: Path, chosen: Sequence[Chosen], on: date | None) -> list[str]:
    """Append the answers to the folder's answers.csv; what was written, in sentences."""
    if is_kit_demo(folder):
        raise CannotSave(
            "Nothing is answered in the invented demo shop, which is never written to. Make a shop of your own with: "
            "fleetlib start FOLDER"
        )
    path = keep_answers(folder, chosen, on=on or date.today())
    said = [f"{c.question.said} {c.shown}." for c in chosen]
    return [*said, f"Written to {path.name}, which you can read, edit and delete."]
