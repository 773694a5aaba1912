"""How typed cells are read: each spelling of `typed_cells` in a small record of its own, held against its meaning.

Run as `python -m tests.bench_reading`
(with `--list` to see every cell that was not read right, `--kept-back`
to see those of the kept-back spellings too,
family names to hold only those). Four ends: read right; asked (left empty, or kept as typed, and
listed); refused (its row was set aside); silently wrong (anything else). A cell with two readings is right when
it is asked about. Prints shares with their standard errors; exits 1 where a bar is missed: none silently wrong,
and 85 % or more of the cells with one reading read right.
"""

from __future__ import annotations

import csv
import io
import sys
from collections import Counter
from datetime import date, timedelta

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings, settings_from
from fleetlib.records.cleaning.clean import CleanFlips, clean_table
from fleetlib.records.files.reading import table_from_text
from fleetlib.records.schema.columns import SIZES
from tests import typed_cells as cells

AS_OF = date(2026, 9, 30)
RIGHT, ASKED, REFUSED, WRONG = "read right", "asked", "refused", "silently wrong"
RIGHT_BAR = 0.85
DRAWS = 3
_KINDS = ["dresser", "desk", "bookcase", "trunk", "chair", "hutch"]


def record(rows: list[dict[str, str]], settings: Settings | None = None) -> CleanFlips:
    """A record of `rows` as the reader reads it."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(dict.fromkeys(k for r in rows for k in r)), restval="")
    writer.writeheader()
    writer.writerows(rows)
    return clean_table(
        table_from_text(out.getvalue(), name="flips.csv"), settings=settings, as_of=AS_OF
    )


def with_neighbours(
    neighbours: list[dict[str, str]], row: dict[str, str], settings: Settings | None = None
) -> CleanFlips:
    """`row`, named X, in the middle of its neighbours."""
    half = len(neighbours) // 2
    named = [{"Piece": f"N-{i}", **n} for i, n in enumerate(neighbours)]
    return record([*named[:half], {"Piece": "X", **row}, *named[half:]], settings)


def found_in(made: CleanFlips) -> pd.Series | None:
    """The row X, or None where it was set aside."""
    rows = made.flips[made.flips["piece"] == "X"]
    return rows.iloc[0] if len(rows) == 1 else None


def is_listed(made: CleanFlips, row: pd.Series, text: str) -> bool:
    """True where the cell is in the changes or the questions, or its text in a note."""
    for table in (made.changes, made.questions):
        if len(table) and (table["line"] == row["line"]).any():
            return True
    return bool(text.strip()) and any(text.strip() in n for n in made.notes)


def end_of(made: CleanFlips, text: str, columns: tuple[str, ...], want: tuple | None) -> str:
    """What became of the cell whose meaning is `want` (None: it must be asked about)."""
    row = found_in(made)
    if row is None:
        return REFUSED
    got = tuple(row[c] for c in columns)
    missing = [bool(pd.isna(g)) for g in got]
    if want is None:
        asked = all(missing) and (is_listed(made, row, text) or not text.strip(" ?-"))
        return RIGHT if asked else WRONG
    same = all(
        m if w is None else not m and abs(g - w) < 0.02
        for g, w, m in zip(got, want, missing, strict=True)
    )
    if same:
        return RIGHT
    return ASKED if all(missing) and is_listed(made, row, text) else WRONG


def amount(spelling: cells.Spelling, rng: np.random.Generator) -> tuple[str, str]:
    """The text of one draw and its end."""
    v = cells.drawn(rng)
    text = cells.filled(spelling.text, v)
    near = [
        {"Type": _KINDS[i % 6], "Asking": f"{x + 40}", "Sold on": f"2026-0{i + 1}-11", "Sold for": f"{x}"}
        for i, x in enumerate((245, 310, 180, 95, 400, 520))
    ]  # fmt: skip
    kind = "pair of nightstands" if spelling.context == "pair" else "dresser"
    want = cells.amount_meant(spelling.meaning, v)
    bought = spelling.context == "bought"
    heading, column = ("Paid", "buy_price") if bought else ("Sold for", "sale_price")
    own = settings_from({"currency": "GBP"}) if spelling.context == "pounds" else None
    row = {"Type": kind, "Sold on": "2026-04-02", "Sold for": "300", heading: text}
    made = with_neighbours(near, row, own)
    return text, end_of(made, text, (column,), None if want is None else (want,))


def day(spelling: cells.Spelling, rng: np.random.Generator) -> tuple[str, str]:
    """The text of one draw and its end."""
    target = cells.a_day(rng)
    text = cells.filled(spelling.text, cells.day_letters(target))
    shape = {
        "iso": "{Y}-{mm}-{dd}",
        "us": "{m}/{d}/{yy}",
        "eu": "{d}/{m}/{Y}",
        "yy": "{yy}-{mm}-{dd}",
    }
    near = []
    for i, shift in enumerate((-31, -17, -9, 8, 20, 33)):
        near_days = [target + timedelta(days=shift + n) for n in (0, 25)]
        written = [cells.filled(shape[spelling.context], cells.day_letters(d)) for d in near_days]
        near.append(
            {"Type": _KINDS[i], "Listed": written[0], "Asking": "300", "Sold on": written[1], "Sold for": "280"}
        )  # fmt: skip
    made = with_neighbours(near, {"Type": "dresser", "Listed": text, "Asking": "300"})
    row = found_in(made)
    if row is None:
        return text, REFUSED
    got, want = row["listed_on"], spelling.meaning
    if "(sat)" in text and target.weekday() == 5:
        want = "day"  # the day of the week contradicts a day only where it is another
    if want == "?":
        right = pd.isna(got) and (is_listed(made, row, text) or not text.strip(" ?-"))
        return text, RIGHT if right else WRONG
    if not pd.isna(got) and got.date() == target:
        return text, RIGHT
    return text, ASKED if pd.isna(got) and is_listed(made, row, text) else WRONG


def hours(spelling: cells.Spelling, rng: np.random.Generator) -> tuple[str, str]:
    """The text of one draw and its end."""
    v = cells.hour_letters(rng)
    text = cells.filled(spelling.text, v)
    beside = {
        "plain": ("3.5", "6", "4.25", "8", "5", "2.5"),
        "clock": ("3:45", "6:10", "4:25", "8:05", "5:50", "2:30"),
        "minutes": ("210", "360", "255", "480", "300", "150"),
    }[spelling.context]
    near = [{"Type": k, "Asking": "300", "Hrs": h} for k, h in zip(_KINDS, beside, strict=True)]
    want = cells.hours_meant(spelling.meaning, v)
    made = with_neighbours(near, {"Type": "dresser", "Asking": "310", "Hrs": text})
    return text, end_of(made, text, ("hours",), None if want is None else (want,))


def size(spelling: cells.Spelling, rng: np.random.Generator) -> tuple[str, str]:
    """The text of one draw and its end."""
    v = cells.size_letters(rng)
    text = cells.filled(spelling.text, v)
    near = []
    for kind in ("dresser", "desk", "sideboard", "dresser", "console", "vanity"):
        n = cells.size_letters(rng)
        shape = {"cm": "{wcm} x {dcm} x {hcm}", "hwd": "{h} x {w} x {d}"}.get(
            spelling.context, "{w} x {d} x {h}"
        )
        near.append({"Type": kind, "Asking": "300", "Size": cells.filled(shape, n)})
    want = cells.size_meant(spelling.meaning, v)
    made = with_neighbours(near, {"Type": "dresser", "Asking": "310", "Size": text})
    return text, end_of(made, text, SIZES, want)


def word(spelling: cells.Spelling, rng: np.random.Generator) -> tuple[str, str]:
    """The text and its end; a word kept as typed and listed is asked."""
    field, _, meaning = spelling.meaning.partition(" ")
    heading, column = {"kind": ("Type", "furniture_type"), "wood": ("Wood", "wood"), "finish": ("Finish", "finish")}[
        field
    ]  # fmt: skip
    near = [
        {"Type": k, "Wood": w, "Finish": f, "Asking": "300"}
        for k, w, f in zip(_KINDS, ["oak", "pine", "walnut", "maple", "oak", "cherry"], ["oil", "wax", "paint"] * 2, strict=True)  # noqa: E501 - one table row a line
    ]  # fmt: skip
    made = with_neighbours(near, {"Type": "desk", "Wood": "oak", "Finish": "wax", "Asking": "310"} | {heading: spelling.text})  # fmt: skip  # noqa: E501 - one table row a line
    row = found_in(made)
    if row is None:
        return spelling.text, REFUSED
    got = None if pd.isna(row[column]) else str(row[column])
    asked = got in (None, " ".join(spelling.text.split()).casefold(), "unknown")
    if meaning == "?":
        return spelling.text, RIGHT if asked else WRONG
    if got == meaning:
        return spelling.text, RIGHT
    return spelling.text, ASKED if asked else WRONG


def outcome(spelling: cells.Spelling, rng: np.random.Generator) -> tuple[str, str]:
    """The text and its end: the piece's status must be the one meant."""
    near = [
        {"Type": _KINDS[i], "Listed": f"2026-0{i + 1}-02", "Asking": f"{x + 40}", "Sold on": f"2026-0{i + 1}-28",
         "Sold for": f"{x}"}
        for i, x in enumerate((245, 310, 180, 95, 400, 520))
    ]  # fmt: skip
    row = {"Type": "dresser", "Listed": "2026-03-10", "Asking": "300"}
    if spelling.context == "price":
        left = "" if spelling.meaning == "listed" else "2026-04-02"
        row |= {"Sold on": left, "Sold for": spelling.text}
    else:
        row |= {"Sold on": spelling.text, "Sold for": "280" if spelling.meaning == "sold" else ""}
    made = with_neighbours(near, row)
    got = found_in(made)
    if got is None:
        return spelling.text, REFUSED
    return spelling.text, RIGHT if got["status"] == spelling.meaning else WRONG


_HELD = {
    "amounts": amount,
    "dates": day,
    "hours": hours,
    "sizes": size,
    "words": word,
    "outcomes": outcome,
}


def held() -> pd.DataFrame:
    """family, spelling, kept_back, one_reading, text and end of every draw of every spelling."""
    rows = []
    wanted = [a for a in sys.argv[1:] if a in _HELD] or list(_HELD)
    for n, spelling in enumerate(cells.spellings()):
        if spelling.family not in wanted:
            continue
        rng = np.random.default_rng(2026 + n)
        for _ in range(DRAWS if "{" in spelling.text else 1):
            text, end = _HELD[spelling.family](spelling, rng)
            one = not spelling.meaning.endswith("?")
            rows.append((spelling.family, spelling.text, spelling.kept_back, one, text, end))
    names = ["family", "spelling", "kept_back", "one_reading", "text", "end"]
    return pd.DataFrame(rows, columns=names)


def report(made: pd.DataFrame) -> str:
    """The shares by family: of cells with one reading, and of cells that must be asked about."""
    out = []
    for family, part in made.groupby("family", sort=False):
        for one, cells_of in part.groupby("one_reading"):
            spelt = cells_of.groupby("spelling")["end"]
            share = spelt.apply(lambda e: (e == RIGHT).mean())
            error = share.std(ddof=1) / np.sqrt(len(share)) if len(share) > 1 else float("nan")
            count = Counter(cells_of["end"])
            ends = ", ".join(f"{count[e]} {e}" for e in (RIGHT, ASKED, REFUSED, WRONG))
            what = "one reading  " if one else "to be asked  "
            out.append(f"  {family:9} {what} {len(share):3} spellings, right {share.mean():6.1%} (se {error:.1%}): {ends}")  # fmt: skip  # noqa: E501 - one table row a line
    return "\n".join(out)


def main() -> int:
    made = held()
    failed = False
    for back in (False, True):
        part = made[made["kept_back"] == back]
        print("Kept back until the end:" if back else "Looked at while the reader was written:")
        print(report(part))
        one = part[part["one_reading"]]
        right, wrong = (one["end"] == RIGHT).mean(), int((part["end"] == WRONG).sum())
        print(
            f"  together: {right:.1%} of cells with one reading read right, {wrong} of {len(part)} silently wrong"
        )
        failed |= right < RIGHT_BAR or wrong > 0
        if "--list" in sys.argv and (not back or "--kept-back" in sys.argv):
            shown = part[part["end"] != RIGHT].drop_duplicates(["family", "spelling", "end"])
            for row in shown.itertuples():
                print(f"    {row.family:9} {row.end:15} {row.spelling!r} {row.text!r}")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
