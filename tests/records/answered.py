"""A record of a few lines with answers beside it, as the tests of walks over shops kept by others read it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from fleetlib.records.asked.question import Question
from fleetlib.records.folder import Records, read_records

AS_OF = date(2026, 11, 28)
BESIDE = "on,about,text,meaning\n"


def answered(folder: Path, *answers: str) -> None:
    """Write the answers, each `about,text,meaning`, beside the record."""
    rows = "".join(f"2026-09-30,{a}\n" for a in answers)
    (folder / "answers.csv").write_text(BESIDE + rows, encoding="utf-8")


def read(folder: Path, text: str, *answers: str, as_of: date = AS_OF) -> Records:
    """Write `text` as flips.csv with the answers beside it, and read the folder."""
    (folder / "flips.csv").write_text(text, encoding="utf-8")
    answered(folder, *answers)
    return read_records(folder, as_of=as_of)


def asked(found: Records, about: str) -> list[Question]:
    """The questions still open about one thing, such as "kind"."""
    return [q for q in found.to_answer if q.about == about]
