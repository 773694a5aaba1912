"""Remarks that tell of a piece that was given away, kept, scrapped or came back, on a row that says otherwise.

A remark is never acted on: it is asked about once, and the answer is what counts. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import Answers, cell_text, key_of
from fleetlib.records.asked.cells import RIGHT
from fleetlib.records.asked.names_for_unnamed import could_be
from fleetlib.records.asked.question import Option, Question, weight
from fleetlib.records.parsing.numbers import plain, shown
from fleetlib.records.parsing.outcomes import ON_HAND
from fleetlib.records.schema.columns import GIVEN_AWAY, KEPT, LEFT_UNSOLD, SCRAPPED

_IT = r"(?:it|this|them|these|that|one)"
_LEFT = {
    GIVEN_AWAY: rf"\bdonated\b(?! by)|\bg(?:ave|iven|iving) (?:{_IT} )?(?:away|to)\b(?! (?:me|us|by))|\bgifted\b"
    r"|\ba gift to\b",
    KEPT: rf"\b(?:kept|keeping) (?:{_IT}|for (?:us|me|myself|ourselves|the house))\b|^(?:kept|keeper)$",
    SCRAPPED: r"\bscrapped\b|\bjunked\b|\bto the (?:dump|tip)\b|\bthrown out\b|\bthrew (?:it|them) out\b",
}
_BACK = re.compile(
    r"(?:^|\bit |[,;.] ?)came back\b|\breturned\b(?! (?:to|the|call))|\bbrought back\b|\brefunded\b"
    rf"|\b(?:brought|sent|took) {_IT} back\b(?! to)"
)
_AGAIN = re.compile(r"\bre-?sold\b|\bsold (?:it |them )?(?:again|on)\b|\bsecond buyer\b")
_HOW = {
    GIVEN_AWAY: "it was given away",
    KEPT: "you kept it",
    SCRAPPED: "it was scrapped",
    ON_HAND: "it came back and is on hand: the sale does not count",
}


def remark_said(text: str) -> str | None:
    """What a remark seems to tell of the piece: "given away", "kept", "scrapped", "on hand" (it came back), or None."""
    body = plain(text)
    if _BACK.search(body):
        return ON_HAND
    return next((said for said, words in _LEFT.items() if re.search(words, body)), None)


def about_remarks(flips: pd.DataFrame, answers: Answers) -> Iterator[Question]:
    """One question a row that counts as sold or on hand and whose remark seems to tell of something else."""
    told = answers.cells()
    for i in np.flatnonzero(
        flips["notes"].notna().to_numpy() & ~flips["status"].eq("withdrawn").to_numpy()
    ):
        row = flips.iloc[int(i)]
        said, piece, note = remark_said(str(row["notes"])), str(row["piece"]), str(row["notes"])
        asked = said in LEFT_UNSOLD or (said == ON_HAND and row["status"] == "sold")
        if not asked or said is None or (piece.casefold(), "notes", key_of(note)) in told:
            continue
        is_said = "sold" if row["status"] == "sold" else "on hand"
        stands = Option(f"nothing of that: it is {is_said}, as the row says", RIGHT)
        options = (Option(_HOW[said], said), stands)
        yield Question(
            "cell",
            cell_text(piece, "notes", note),
            f'Line {row["line"]}, {piece}, counts as {is_said}, and its note says "{note}". What became of it?',
            options[::-1] if _AGAIN.search(plain(note)) else options,
            f"it counts as {is_said}",
            weight("outcome"),
        )


def settle_remarks(
    values: dict[str, np.ndarray], answers: Answers, settings: Settings
) -> list[tuple[int, str, str, str]]:
    """Put what was answered about remarks into `values`; row, column, what stood there and stands there now of each."""
    told = {k: said for k, said in answers.cells().items() if k[1] == "notes" and said in _HOW}
    own = settings.words.get("furniture_type", {})
    done: list[tuple[int, str, str, str]] = []
    notes = [key_of(str(n)) for n in values["notes"]] if told else []
    for (piece, _, note), state in told.items():
        for i in [k for k, n in enumerate(notes) if n == note]:
            row = {c: v[i] for c, v in values.items()}
            if piece == str(row["piece"]).casefold() or piece in could_be(row, own):
                done += _became(values, i, state)
    return done


def _became(values: dict[str, np.ndarray], i: int, state: str) -> list[tuple[int, str, str, str]]:
    """Row i is no sale: it left on its day of sale, or is on hand and its price is what was asked."""
    price, day = values["sale_price"][i], values["sold_on"][i]
    now: dict[str, object] = {"sale_price": np.nan, "sold_on": np.datetime64("NaT", "ns")}
    if state in LEFT_UNSOLD:
        now["outcome"] = state
        if np.isnat(values["withdrawn_on"][i]):
            now["withdrawn_on"] = day
    else:
        now["outcome"] = None
        if np.isnan(values["asking_price"][i]):
            now["asking_price"] = price
    done = []
    for column, value in now.items():
        was, told = _text(values[column][i]), _text(value)
        if was != told:
            values[column] = values[column].copy()
            values[column][i] = value
            done.append((i, column, was, told))
    return done


def _text(value: object) -> str:
    if value is None or value != value:  # missing
        return ""
    if isinstance(value, np.datetime64):
        return "" if np.isnat(value) else str(value)[:10]
    return shown(float(value)) if isinstance(value, float) else str(value)
