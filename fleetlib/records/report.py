"""What reading a shop folder found: what was read, changed and set aside, each with its line and remedy."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from fleetlib.base.errors import CannotSave
from fleetlib.base.saving import write_own
from fleetlib.records.cleaning.changes import is_left_out, left_out
from fleetlib.records.cleaning.clean import write_flips
from fleetlib.records.files.safe_csv import to_csv
from fleetlib.records.folder import Records
from fleetlib.shown import markup

_MOST_ROWS = 40


@dataclass(frozen=True, eq=False, slots=True)
class CheckReport:
    """The check of one folder. `set_aside`: rows that are out; `left_out`: cells that became missing;
    `asked`: values kept that look odd; `reworded`: how many cells were read otherwise than typed, by column
    and reason, with an example."""

    said: str
    set_aside: pd.DataFrame = field(repr=False)
    left_out: pd.DataFrame = field(repr=False)
    asked: pd.DataFrame = field(repr=False)
    reworded: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...]

    @property
    def table(self) -> pd.DataFrame:
        """The rows set aside."""
        return self.set_aside

    def _parts(self) -> list[tuple[str, pd.DataFrame]]:
        parts = [
            ("Rows set aside (they count for nothing until mended)", self.set_aside),
            ("Cells left out (the row stays)", self.left_out),
            ("Kept, but is it right?", self.asked),
            ("Read otherwise than typed", self.reworded),
        ]
        return [(title, frame) for title, frame in parts if len(frame)]

    def __str__(self) -> str:
        lines = [self.said]
        for title, frame in self._parts():
            lines += ["", title, "", markup.text_table(frame.head(_MOST_ROWS), indent=2)]
            if len(frame) > _MOST_ROWS:
                lines.append(f"  ... and {len(frame) - _MOST_ROWS} more; --save writes them all")
        if self.notes:
            lines += ["", "Notes", "", markup.text_notes(self.notes)]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        parts = [f"<p>{markup.escape(self.said)}</p>"]
        for title, frame in self._parts():
            more = f" (the first {_MOST_ROWS} of {len(frame)})" if len(frame) > _MOST_ROWS else ""
            parts.append(markup.table_html(frame.head(_MOST_ROWS), caption=title + more))
        parts.append(markup.notes_html(self.notes))
        return markup.wrap(*parts, heading="Your records")


def check_report(records: Records) -> CheckReport:
    """What reading `records` found, as one page."""
    changes, aside = records.changes, records.set_aside
    left = left_out(changes)[["line", "column", "was", "why"]].rename(columns={"was": "typed"})
    return CheckReport(
        said=_said(records),
        set_aside=_rows_aside(records, aside),
        left_out=left.reset_index(drop=True),
        asked=records.questions[["line", "column", "value", "question"]],
        reworded=_reworded(changes[~is_left_out(changes)]),
        notes=records.notes,
    )


def _said(records: Records) -> str:
    rows = len(records.flips) + len(records.set_aside)
    counts = records.flips["status"].value_counts()
    by = ", ".join(
        f"{counts[s]} {s}" for s in ("sold", "listed", "in work", "withdrawn") if s in counts
    )
    return (
        f"{records.name}: {rows} rows read, {len(records.flips)} kept, {len(records.set_aside)} set aside.\n"
        f"As of {records.as_of}: {by or 'no pieces yet'}; {len(records.events)} events, "
        f"{len(records.supplies)} supplies."
    )


def _rows_aside(records: Records, aside: pd.DataFrame) -> pd.DataFrame:
    own = pd.DataFrame({"where": "line " + aside["line"].astype("str"), "why": aside["reason"]})
    own["what to do"] = aside["remedy"]
    other = records.other_set_aside
    beside = pd.DataFrame(
        {
            "where": other["file"].astype("str") + " line " + other["line"].astype("str"),
            "why": other["reason"],
            "what to do": other["remedy"],
        }
    )
    return pd.concat([own, beside], ignore_index=True) if len(beside) else own


def _reworded(changes: pd.DataFrame) -> pd.DataFrame:
    """One line a kind of reading: in which columns, how many cells, and the first of them."""
    if not len(changes):
        return pd.DataFrame(columns=["how", "cells", "columns", "for example"])
    shown = changes["was"].str.replace(r"\s+", " ", regex=True)
    example = '"' + shown + '" is ' + changes["now"].where(changes["now"] != "", "missing")
    example = example.where(changes["was"] != "", "blank is " + changes["now"])
    how = changes["why"].str.replace(r"^(another word) for .*", r"\1", regex=True)
    how = how.str.replace(r"^\d+ (logged in events.csv)", r"\1", regex=True)
    how = how.str.replace(r"^lot .*, bought for .*", "the price of a lot, split", regex=True)
    grouped = changes.assign(example=example, how=how).groupby("how", sort=True)
    made = grouped.agg(
        cells=("example", "size"), columns=("column", _columns), example=("example", "first")
    ).reset_index()
    made = made.sort_values("cells", ascending=False, kind="stable").reset_index(drop=True)
    return made.rename(columns={"example": "for example"})


def _columns(names: pd.Series) -> str:
    return ", ".join(names.drop_duplicates())


def save_check(records: Records, folder: str | Path) -> list[Path]:
    """Write what was read to `folder` as CSV: pieces.csv, set_aside.csv, changes.csv, questions.csv.

    pieces.csv reads back as the same pieces; every table is safe to open in a spreadsheet. Returns the
    files written. Raises CannotSave, before anything is written, for the shop's own folder and where a file of
    that name is there which this did not write, or which was changed since; and where one cannot be written.
    """
    place = Path(folder)
    if place.resolve() == records.folder.resolve():
        raise CannotSave(
            f"{place} is the shop's own folder. Name another, so that the two do not mix."
        )
    files = {
        "pieces.csv": write_flips(records.flips),
        "set_aside.csv": to_csv(records.set_aside),
        "changes.csv": to_csv(records.changes),
        "questions.csv": to_csv(records.questions),
    }
    if len(records.other_set_aside):
        files["other_set_aside.csv"] = to_csv(records.other_set_aside)
    return write_own(place, files)
