"""Small files as real people's exports look, each with its expected table.

`corpus/NAME` is the file, `corpus/NAME_EXT.json` what reading it must give: `rows` lists each kept row with
every cell that is not missing (a cell not named must be missing); `set_aside`, `changes`, `questions` and
`notes` what must be said; `error` the refusal.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from fleetlib.base.errors import BadRecords
from fleetlib.base.settings import settings_from
from fleetlib.records.cleaning.clean import CleanFlips, read_flips
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.schema.columns import DERIVED_NAMES

CORPUS = Path(__file__).with_name("corpus")
CASES = sorted(p for p in CORPUS.iterdir() if p.suffix != ".json")
AS_OF = date(2026, 9, 30)


def want_of(path: Path) -> dict[str, Any]:
    return json.loads(path.with_name(path.name.replace(".", "_") + ".json").read_text("utf-8"))


def read(path: Path, want: dict[str, Any]) -> CleanFlips:
    return read_flips(
        path,
        day_first=want.get("day_first"),
        sheet=want.get("sheet"),
        settings=settings_from(want.get("settings", {})),
        as_of=AS_OF,
    )


def kept_rows(flips: pd.DataFrame) -> list[dict[str, str]]:
    frame = flips.drop(columns=list(DERIVED_NAMES))
    made = []
    for row in frame.to_dict("records"):
        cells = {k: v for k, v in row.items() if not pd.isna(v)}
        made.append(
            {
                k: str(v.date()) if isinstance(v, pd.Timestamp) else shown(v)
                for k, v in cells.items()
            }
        )
    return made


def as_text(row: dict[str, Any]) -> dict[str, str]:
    return {k: shown(float(v)) if isinstance(v, int | float) else v for k, v in row.items()}


def test_the_corpus_is_not_smaller_than_promised() -> None:
    assert len(CASES) >= 40


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.name)
def test_a_file_as_people_export_it_reads_to_its_expected_table(path: Path) -> None:
    want = want_of(path)
    if "error" in want:
        with pytest.raises(BadRecords) as refusal:
            read(path, want)
        assert want["error"] in str(refusal.value)
        assert path.name in str(refusal.value)
        return
    found = read(path, want)
    assert kept_rows(found.flips) == [as_text(row) for row in want["rows"]]
    aside = list(zip(found.set_aside["line"], found.set_aside["reason"], strict=True))
    wanted = want.get("set_aside", [])
    assert [line for line, _ in aside] == [line for line, _ in wanted]
    for (_, reason), (_, part) in zip(aside, wanted, strict=True):
        assert part in reason
    assert found.set_aside["remedy"].str.len().gt(0).all()
    assert found.rows_in == len(want["rows"]) + len(wanted)
    said = "\n".join(found.notes)
    for part in want.get("notes", []):
        assert part in said
    listed = found.changes[["line", "column", "was", "now"]].values.tolist()
    for change in want.get("changes", []):
        assert change in listed
    if want.get("changes") == []:
        assert listed == []
    asked = found.questions[["line", "column"]].values.tolist()
    assert sorted(map(tuple, asked)) == sorted(map(tuple, want.get("questions", asked)))
