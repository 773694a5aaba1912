"""What was kept but looks odd enough to ask about. Nothing here rejects a row or changes a value.

Ratios are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np
import pandas as pd

from fleetlib.base.measured import CM_IN_AN_INCH
from fleetlib.base.noted import Noted, coded
from fleetlib.base.settings import Settings
from fleetlib.records.asked.cells import ODD
from fleetlib.records.asked.usual_sizes import BANDS
from fleetlib.records.parsing.cut_short import cut_short
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.parsed import frame_of
from fleetlib.records.parsing.vocabulary import known_words, may_be
from fleetlib.records.parsing.words import read_types
from fleetlib.records.schema.columns import DATES, NUMBERS, SIZES

_MOST_SHOWN = 8
LEAST_OF_ASK, MOST_OF_ASK = 0.25, 1.30
MANY_HOURS = 60.0
FAR_PRICE = 10.0
_LONG = ("dining table", "bed", "bench", "bar")


def questions_about(
    flips: pd.DataFrame,
    named: np.ndarray,
    right: Collection[tuple[str, str, str]] = (),
    but: Collection[str] = (),
) -> tuple[pd.DataFrame, list[str]]:
    """What was kept but looks odd: a table (line, piece, column, value, question), and a note a rule.

    `named` says which rows came with a name of their own; `right` are cells (piece in small letters, column, value)
    said to be right, `but` columns that are asked about as a whole.
    """
    parts: list[pd.DataFrame] = []
    notes: list[str] = []

    def ask(where: np.ndarray, column: str, question: str, note: str) -> None:
        places = np.flatnonzero(where)
        if not len(places) or column in but:
            return
        row = flips[list(dict.fromkeys(("line", "piece", column)))].iloc[places]
        value = row[column].map(shown) if column in NUMBERS else row[column]
        if right:
            keys = zip(row["piece"].str.casefold(), value, strict=True)
            left = np.array([(piece, column, v) not in right for piece, v in keys])
            row, value = row[left], value[left]
        if not len(row):
            return
        asked = pd.DataFrame({"line": row["line"], "piece": row["piece"], "column": column})
        parts.append(asked.assign(value=value.fillna(""), question=question))
        said = ", ".join(f"line {n}" for n in row["line"][:_MOST_SHOWN])
        more = f" and {len(row) - _MOST_SHOWN} more" if len(row) > _MOST_SHOWN else ""
        told = f"{note} ({said}{more})."
        notes.append(Noted(told, "asked") if column in ODD else told)

    kinds = pd.factorize(flips["furniture_type"].to_numpy())[0]
    ask(
        looks_like_cm(flips),
        "width_in",
        "These look like centimetres; if so, say cm in the heading or set length_unit.",
        "Sizes that look like centimetres but were read as inches",
    )
    last, first = (flips[c].where(flips[c] > 0) for c in ("last_asking_price", "asking_price"))
    ratio = flips["sale_price"] / last.fillna(first)
    odd = ((ratio < LEAST_OF_ASK) | (ratio > MOST_OF_ASK)).to_numpy()
    ask(
        odd,
        "sale_price",
        f"Sold for less than {LEAST_OF_ASK:.0%} or more than {MOST_OF_ASK:.0%} of the asking price; is it right?",
        "Sold far from the asking price",
    )
    ask(
        (flips["hours"] > MANY_HOURS).to_numpy(),
        "hours",
        f"More than {MANY_HOURS:g} hours for one piece; drying time does not count as hours.",
        f"More than {MANY_HOURS:g} hours on one piece, which is often drying time",
    )
    asked, sold = last.fillna(first).to_numpy(), flips["sale_price"].to_numpy()
    own = {
        "sale_price": _of_its_size(sold, asked),
        "asking_price": _of_its_size(flips["asking_price"].to_numpy(), sold),
        "buy_price": ~(flips["buy_price"].to_numpy() > np.fmax(asked, sold)),
    }  # what the other prices of the row bear out
    for column, borne_out in own.items():
        ask(
            _far(flips[column].to_numpy(), kinds, borne_out),
            column,
            f"More than {FAR_PRICE:g} times, or less than a tenth of, the usual {column} of its kind; a slipped point?",
            f"{column} more than {FAR_PRICE:g} times or less than a tenth of the usual for its kind",
        )
    ask(
        flips["piece"].duplicated(keep=False).to_numpy(),
        "piece",
        "Another row has the same name; give each piece its own, or events cannot tell them apart.",
        "Rows that share a name but differ; give each piece its own",
    )
    ask(
        _look_alike(flips, named),
        "piece",
        "The same in every cell as another row without a name; are they two pieces?",
        "Rows that are the same in every cell; give each its name if they are two pieces, delete one if not",
    )
    columns = ["line", "piece", "column", "value", "question"]
    if not parts:
        return frame_of([], columns), notes
    made = pd.concat(parts).astype(dict.fromkeys(columns[1:], "str") | {"line": "int64"})
    return made.sort_values("line", kind="stable").reset_index(drop=True), notes


def looks_like_cm(flips: pd.DataFrame) -> np.ndarray:
    """Over 100 in for what is not long, or all three sides over twice the usual for the kind."""
    kinds, names = pd.factorize(flips["furniture_type"].to_numpy())
    if not len(names):
        return np.zeros(len(flips), dtype=bool)
    sides = np.nan_to_num(np.column_stack([flips[s].to_numpy() for s in SIZES]))
    never = ((0.0, np.inf),) * 3
    tops = np.array([[high for _, high in BANDS.get(n, never)] for n in names])
    long = np.isin(names.astype(object), _LONG)
    over = (sides > 100).any(axis=1) & ~long[kinds]
    return np.asarray(over | (sides > 2 * tops[kinds]).all(axis=1))


def usual_for_kinds(flips: pd.DataFrame) -> tuple[int, int]:
    """How many rows of known kinds are of the usual size of their kind as they were read in inches, and how many would
    be if the same numbers were centimetres; a quarter beyond a band counts as in it."""
    kinds = flips["furniture_type"].to_numpy()
    rows = np.flatnonzero([k in BANDS for k in kinds])
    if not len(rows):
        return 0, 0
    sides = np.column_stack([flips[s].to_numpy()[rows] for s in SIZES])
    bands = np.array([BANDS[kinds[i]] for i in rows])
    sized = ~np.isnan(sides).all(axis=1)
    found = []
    for by in (1.0, CM_IN_AN_INCH):
        fits = (sides / by >= 0.75 * bands[:, :, 0]) & (sides / by <= 1.25 * bands[:, :, 1])
        found.append(int(((fits | np.isnan(sides)).all(axis=1) & sized).sum()))
    return found[0], found[1]


def _of_its_size(values: np.ndarray, beside: np.ndarray) -> np.ndarray:
    """Which values are of the size of the one beside them."""
    return np.asarray((values >= LEAST_OF_ASK * beside) & (LEAST_OF_ASK * values <= beside))


def _far(values: np.ndarray, kinds: np.ndarray, borne_out: np.ndarray) -> np.ndarray:
    """More than ten times off the median of its kind (of at least five); of other kinds more than ten times off that of
    all (of at least eight) and not `borne_out` by the row itself."""
    made = np.zeros(len(values), dtype=bool)
    rows = np.flatnonzero(values > 0)
    if not len(rows):
        return made
    rows = rows[np.argsort(kinds[rows], kind="stable")]
    amounts = values[rows]
    overall = float(np.median(amounts)) if len(amounts) >= 8 else np.nan
    cuts = np.flatnonzero(np.diff(kinds[rows])) + 1
    groups, sizes = np.split(amounts, cuts), np.diff([0, *cuts, len(rows)])
    usual = [np.median(a) if len(a) >= _FEWEST_OF_KIND else overall for a in groups]
    ratio = amounts / np.repeat(usual, sizes)
    few = np.repeat(sizes < _FEWEST_OF_KIND, sizes)
    made[rows] = ((ratio > FAR_PRICE) | (ratio < 1 / FAR_PRICE)) & ~(few & borne_out[rows])
    return made


_FEWEST_OF_KIND = 5


_TELLING = ["furniture_type", "buy_price", "asking_price", "sale_price", "listed_on", "sold_on"]


def _look_alike(flips: pd.DataFrame, named: np.ndarray) -> np.ndarray:
    """Rows without a name of their own that are the same as another in every cell, and hold some amount or day."""
    rows = np.flatnonzero(~named)
    made = np.zeros(len(flips), dtype=bool)
    if len(rows):  # few are the same even in these
        rows = rows[flips[_TELLING].iloc[rows].duplicated(keep=False).to_numpy()]
    if len(rows):
        cells = flips.iloc[rows].drop(columns=["line", "piece"])
        filled = cells[[*DATES, *NUMBERS]].notna().any(axis=1)
        made[rows] = cells.duplicated(keep=False) & filled
    return made


def _first_lines(flips: pd.DataFrame, column: str) -> dict[str, int]:
    """Each word of `column`, and the first line in which it stands."""
    found: dict[str, int] = {}
    for word, line in zip(flips[column].tolist(), flips["line"].tolist(), strict=True):
        if isinstance(word, str):
            found.setdefault(word, line)
    return found


def unknown_kinds(flips: pd.DataFrame, settings: Settings) -> list[str]:
    """The note on kinds of piece that are no word of ours nor the owner's, and near none; at most one."""
    first = _first_lines(flips, "furniture_type")
    kinds = list(first)
    found = read_types(kinds, settings)
    meant = {*known_words("furniture_type"), *settings.words.get("furniture_type", {}).values()}
    rows = zip(kinds, first.values(), found.questions, found.suggestions, strict=True)
    strange = [
        f"line {line}: {kind}" for kind, line, q, n in rows if kind not in meant and not (q or n)
    ]
    if not strange:
        return []
    more = f"; and {len(strange) - _MOST_SHOWN} more" if len(strange) > _MOST_SHOWN else ""
    shown_first = "; ".join(strange[:_MOST_SHOWN])
    return [
        Noted(f"Kinds of piece that are not known, kept as typed ({shown_first}{more}).", "asked")
    ]


def unknown_words(flips: pd.DataFrame, settings: Settings) -> list[str]:
    """A note each on the woods and finishes that are no words of ours nor the owner's and may be none we know."""
    made = []
    for column, name in (("wood", "Woods"), ("finish", "Finishes")):
        own = settings.words.get(column, {})
        meant = {*known_words(column), *own, *own.values()}
        strange = [
            f"line {n}: {w}"
            for w, n in _first_lines(flips, column).items()
            if w not in meant
            and not (may_be(column, w) or (column == "wood" and cut_short(column, w)))
        ]
        if strange:
            more = f"; and {len(strange) - _MOST_SHOWN} more" if len(strange) > _MOST_SHOWN else ""
            shown_first = "; ".join(strange[:_MOST_SHOWN])
            made.append(f"{name} that are not known, kept as typed ({shown_first}{more}).")
    return made


def unread_cells(
    questions: pd.DataFrame,
    flips: pd.DataFrame,
    unread: Mapping[tuple[int, str], str],
    no_price: Collection[int] = (),
) -> tuple[pd.DataFrame, list[str]]:
    """`questions` and those about sales without a price and about pieces on hand of which a price or a day of
    leaving was typed but could not be read; and a note on each sort.

    `unread` maps (line, column) to the text of a price or of a day of leaving that could not be read; the
    sales in the lines `no_price` have none.
    """
    rows: list[tuple[int, str, str, str, str]] = []
    notes = []

    def ask(found: list[tuple[int, str, str, str, str]], note: str) -> None:
        if found:
            rows.extend(found)
            notes.append(_with_lines(note, [(r[0], r[3]) for r in found]))

    unpriced = flips[
        (flips["status"] == "sold") & flips["sale_price"].isna() & ~flips["line"].isin(no_price)
    ]
    typed = {line: text for (line, column), text in unread.items() if column == "sale_price"}
    ask(
        [
            (line, piece, "sale_price", typed.get(line, ""), UNPRICED)
            for line, piece in zip(unpriced["line"], unpriced["piece"], strict=True)
        ],
        UNPRICED_SALES,
    )
    notes = [Noted(n, "unpriced sales") for n in notes]
    cells = (flips[c].tolist() for c in ("line", "piece", "status"))
    on_hand = {n: piece for n, piece, s in zip(*cells, strict=True) if s in ("listed", "in work")}
    for columns, said, note in _UNREAD_ON_HAND:
        before = len(notes)
        ask(
            [
                (line, on_hand[line], column, text, said.format(column=column, typed=text))
                for (line, column), text in sorted(unread.items())
                if line in on_hand and column in columns
            ],
            note,
        )
        if "sold_on" in columns:
            notes[before:] = [Noted(n, "unread leaving") for n in notes[before:]]
    if not rows:
        return questions, []
    more = frame_of(rows, list(questions.columns))
    made = pd.concat([questions, more]).sort_values("line", kind="stable", ignore_index=True)
    return made, notes


def _with_lines(note: str, cells: Sequence[tuple[int, str]]) -> str:
    """The note, and the line of each of the first cells with what was typed in it."""
    said = ", ".join(
        f"line {n}: {text}" if text else f"line {n}" for n, text in cells[:_MOST_SHOWN]
    )
    more = f" and {len(cells) - _MOST_SHOWN} more" if len(cells) > _MOST_SHOWN else ""
    return f"{note} ({said}{more})."


def still_unpriced(notes: Sequence[str], questions: pd.DataFrame) -> list[str]:
    """The notes, that on sales without a price of those alone that `questions` still asks about."""
    left = questions[questions["question"].eq(UNPRICED)]
    cells = list(zip(left["line"], left["value"], strict=True))
    was = coded(notes, "unpriced sales")
    return [n for n in notes if n not in was] + (
        [_with_lines(UNPRICED_SALES, cells)] if was and cells else []
    )


UNPRICED_SALES = (
    "Sold at a price that is missing or could not be read: these count in days to sell, hours and the number of "
    "sales, not in prices or money"
)
UNPRICED = (
    "Sold, but for how much is not known. Enter the final price as one amount under sale_price."
)
_UNREAD_ON_HAND = (
    (
        ("sold_on", "withdrawn_on"),
        '{column} is "{typed}", which could not be read, so this piece counts as on hand and is planned for. Write '
        "the day as 2026-10-04.",
        "A day of leaving was typed but could not be read, so these count as on hand",
    ),
    (
        ("sale_price",),
        '{column} is "{typed}", which is not one amount, and no day of sale could be read, so this piece counts as '
        "on hand. Enter the day and the price if it sold.",
        "A sale price was typed but could not be read, without a day of sale, so these count as on hand",
    ),
    (
        ("asking_price", "last_asking_price"),
        '{column} is "{typed}", which is not one amount; until you enter one, nothing stands in for it and what is '
        "advised does not know what you ask.",
        "An asking price of a piece on hand could not be read, so it is not known what is asked",
    ),
)
