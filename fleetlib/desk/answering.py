"""Answers to what the check asked, written to answers.csv, and what became of the record by them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, Protocol

from fleetlib.base.errors import CannotSave
from fleetlib.base.kit import is_kit_demo
from fleetlib.records.asked.question import Chosen, chosen_by
from fleetlib.records.log.answers_file import keep_answers


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
    if is_kit_demo(shop.records.folder):
        raise CannotSave(
            "Nothing is answered in the invented demo shop, which is never written to. Make a shop of your own with: "
            "fleetlib start FOLDER"
        )
    path = keep_answers(shop.records.folder, chosen, on=shop.records.settings.as_of or date.today())
    shop.reread()
    said = [f"{c.question.said} {c.shown}." for c in chosen]
    return [*said, f"Written to {path.name}, which you can read, edit and delete."]
