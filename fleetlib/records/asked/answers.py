"""What the person answered about their record, by subject and by what was typed; settings.toml wins over it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import NamedTuple

from fleetlib.base.errors import FleetError
from fleetlib.base.settings import Settings, settings_from
from fleetlib.records.asked.question import NOTHING, column_in_words
from fleetlib.records.files.headings import SIZE, Heading, match_heading
from fleetlib.records.files.two_in_one import WOOD_AND_FINISH
from fleetlib.records.parsing.cuts import OFF
from fleetlib.records.parsing.outcomes import ON_HAND, SOLD
from fleetlib.records.parsing.vocabulary import NOT_A_PIECE, word_key
from fleetlib.records.schema.columns import CAME_BACK, COLUMN, GIVEN_AWAY, KEPT, NAMES, SCRAPPED

FILE = "answers.csv"
ANSWER_COLUMNS = ("on", "about", "text", "meaning")
ABOUT: Mapping[str, str] = {
    "heading": "text is a heading of yours, or several with | between them, meaning the column it stands for, or "
    "price cuts: what came off the first price, or nothing",
    "kind": "text is your word for a kind of piece, meaning the kind, or not a piece",
    "wood": "text is your word for a wood, meaning the wood",
    "finish": "text is your word for a finish, meaning the finish",
    "state": "text is your word for where a piece stands, meaning sold, on hand, in work, came back, kept, "
    "given away or scrapped",
    "words": "text is kind, wood or finish and words of yours with | between them, meaning what each means in the same "
    "order, or each: ask one by one",
    "currency": "meaning is the three-letter code of the money the file is in",
    "unit": "meaning is in or cm, for sizes that name no unit, or some: cm where they look so, else in",
    "date order": "meaning is day first or month first",
    "year": "text is a column of days, meaning the year of those without one, or latest, or each; or rows between, "
    "meaning the day of a row that is of the year above it, first or last; or the list from its first day, meaning the "
    "year of that",
    "months": "text is the year that months without a day stand under, meaning their year, or each, or nothing",
    "remarks": "text is what notes tell of, meaning read, or each, or nothing",
    "sheet": "text is a sheet of a workbook, meaning read or nothing",
    "rows": "text is the name that rows share, meaning different pieces or the same twice",
    "cell": "text is PIECE: column: what was typed; meaning what it says, or nothing",
}
WORDS = {"kind": "furniture_type", "wood": "wood", "finish": "finish", "state": "outcome"}
DIFFERENT, TWICE = "different pieces", "the same twice"  # rows that cannot be told apart
PRICE_CUTS = (
    "price cuts",
    "cuts",
)  # the meaning of a heading over what was taken off the first price
EACH = "each"  # the answer that several are asked about one by one
BETWEEN = " | "
IN_WORK = "in work"
STATES = (SOLD, ON_HAND, IN_WORK, CAME_BACK, KEPT, GIVEN_AWAY, SCRAPPED)
_COLUMNS_LONGEST_FIRST = sorted(map(column_in_words, NAMES), key=len, reverse=True)
_CELL = re.compile(rf"(.*): ({'|'.join(map(re.escape, _COLUMNS_LONGEST_FIRST))}): (.*)", re.DOTALL)


class Answer(NamedTuple):
    """One answer as it stands in the file, on this line."""

    on: str
    about: str
    text: str
    meaning: str
    line: int


@dataclass(frozen=True, eq=False, slots=True)
class Answers:
    """The answers that count: by subject and what was typed (folded) -> the row. `notes`: rows that were no answer."""

    rows: Mapping[tuple[str, str], Answer] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def of(self, about: str, text: str = "") -> str:
        """The meaning given to `text`, "" where nothing was answered."""
        found = self.rows.get((about, key_of(text)))
        return found.meaning if found else ""

    def heading(self, text: str) -> str | None:
        """The column that the heading `text` was said to stand for, NOTHING for none, None where not answered."""
        said = self._said_of_heading(text)
        return _column_named(said) if said else None

    def among_others(self, text: str) -> str:
        """What was answered of a heading together with others; "" for nothing."""
        lists = (
            r.meaning
            for (about, typed), r in self.rows.items()
            if about == "heading" and BETWEEN in typed and key_of(text) in apart(typed)
        )
        return next(lists, "")

    def _said_of_heading(self, text: str) -> str:
        """What was answered of a heading, alone or among others; "" for nothing."""
        said = self.of("heading", text) or self.among_others(text)
        return "" if word_key(said) == EACH else said

    def heading_marks(self, text: str) -> Heading:
        """The unit, the currency and the order of sides that the answer about the heading `text` names, if any; the
        unit of cuts of a price is OFF."""
        said = self._said_of_heading(text)
        if word_key(said) in PRICE_CUTS:
            return Heading("last_asking_price", OFF)
        return match_heading(said) or Heading("")

    def cells(self) -> dict[tuple[str, str, str], str]:
        """(piece, column, what was typed), all folded -> what it was said to mean, "" for nothing."""
        found = {}
        for (about, _), row in self.rows.items():
            named = cell_named(row.text) if about == "cell" else None
            if named:
                piece, column, typed = named
                meaning = "" if word_key(row.meaning) == NOTHING else row.meaning
                found[key_of(piece), column, key_of(typed)] = meaning
        return found

    def said_of_words(self) -> Iterator[tuple[str, Answer]]:
        """What was answered of single words, and of each in a list of them: the subject and the row of it alone."""
        for (about, _), row in self.rows.items():
            if about in WORDS:
                yield about, row
        for (about, _), row in self.rows.items():
            if about == "words" and word_key(row.meaning) != EACH:
                subject, named = words_in(row.text)
                for text, meaning in zip(named, apart(row.meaning), strict=True):
                    yield subject, row._replace(text=text, meaning=meaning)

    def one_by_one(self, subject: str) -> set[str]:
        """The words (folded) that were said to be asked about one by one."""
        said = [
            r.text
            for (about, _), r in self.rows.items()
            if about == "words" and word_key(r.meaning) == EACH
        ]
        lists = [words_in(text) for text in said]
        return {key_of(w) for about, named in lists if about == subject for w in named}

    def years(self) -> dict[str, str]:
        """Columns of days -> what was said of their days without a year."""
        return {c: said for c in NAMES if (said := self.of("year", column_in_words(c)))}

    def sheets(self) -> dict[str, bool]:
        """Folded names of sheets -> whether they were said to be read."""
        said = {text: row.meaning for (about, text), row in self.rows.items() if about == "sheet"}
        return {text: word_key(meaning) != NOTHING for text, meaning in said.items()}

    def over(self, settings: Settings) -> tuple[Settings, list[str]]:
        """`settings` with the answers where settings.toml says nothing, and what to say of answers that cannot be."""
        notes: list[str] = []
        words = {column: dict(own) for column, own in settings.words.items()}
        for about, row in self.said_of_words():
            if row.meaning:
                own = words.setdefault(WORDS[about], {})
                no_piece = about == "kind" and word_key(row.meaning) == NOTHING
                meaning = NOT_A_PIECE if no_piece else row.meaning.strip()
                own.setdefault(row.text.strip().lower(), meaning)
        made = replace(
            settings, words=MappingProxyType({c: MappingProxyType(o) for c, o in words.items()})
        )
        keys = {"currency": "currency", "unit": "length_unit", "date order": "date_order"}
        for about, key in keys.items():
            meaning = self.of(about)
            if meaning and key not in settings.chosen and (about, meaning) != ("unit", "some"):
                try:
                    said = settings_from({key: meaning}, name=FILE)
                except FleetError as refusal:
                    notes.append(str(refusal))
                else:
                    made = replace(made, **{key: getattr(said, key)}, chosen=made.chosen | {key})
        return made, notes


NO_ANSWERS = Answers()


def key_of(text: str) -> str:
    """What was typed, as it is looked up: spaces and capitals make no difference."""
    return " ".join(text.split()).casefold()


def words_text(subject: str, words: Iterable[str]) -> str:
    """What an answer about several words is filed under: `wood: mah | mpl`."""
    return f"{subject}: {BETWEEN.join(words)}"


def words_in(text: str) -> tuple[str, list[str]]:
    """The subject and the words of such a text."""
    subject, _, named = text.partition(": ")
    return word_key(subject), apart(named)


def apart(text: str) -> list[str]:
    """The single ones of several that stand with | between them."""
    return [t.strip() for t in text.split("|")]


def cell_named(text: str) -> tuple[str, str, str] | None:
    """The piece, the column and what was typed, of the text that an answer about one cell is filed under."""
    named = _CELL.fullmatch(" ".join(text.split()))
    if not named:
        return None
    return named[1], next(c for c in NAMES if column_in_words(c) == named[2]), named[3]


def cell_text(piece: str, column: str, typed: str) -> str:
    """What an answer about one cell is filed under."""
    return f"{piece}: {column_in_words(column)}: {' '.join(typed.split())}"


def _column_named(meaning: str) -> str | None:
    """The column that `meaning` names, NOTHING for none; None where it names no column."""
    if word_key(meaning) in (NOTHING, "none", "own column", "note"):
        return NOTHING
    if word_key(meaning) in PRICE_CUTS:
        return "last_asking_price"
    name = word_key(meaning).replace(" ", "_")
    if name in COLUMN or name == SIZE:
        return name
    found = match_heading(meaning)
    return found.column if found else None


WHOLE = (
    "currency",
    "unit",
    "date order",
)  # said of the whole file: the text is a help to the reader only


def what_is_wrong(row: Answer) -> str:
    """Why a row is no answer; "" where it is one."""
    about = word_key(row.about)
    if about not in ABOUT:
        return f'about is "{row.about}"; it must be one of {", ".join(ABOUT)}.'
    both = word_key(row.meaning) in (WOOD_AND_FINISH, EACH)
    if about == "heading" and row.meaning and not both and _column_named(row.meaning) is None:
        return (
            f'meaning is "{row.meaning}", which is no column; write one such as sold on, or nothing. Several at once: '
            '--answer "Price=asking price Got=sale price".'
        )
    if (
        about == "state"
        and row.meaning
        and word_key(row.meaning) not in (*STATES, NOTHING, NOT_A_PIECE)
    ):
        return f'meaning is "{row.meaning}"; it must be one of {", ".join(STATES)}, or nothing.'
    if (
        about == "year"
        and row.meaning
        and not re.fullmatch(
            r"(19|20)\d\d|latest|each|after listing|after buying|first|last", row.meaning
        )
    ):
        return f'meaning is "{row.meaning}"; it must be a year, or latest, or each.'
    if about == "months" and not re.fullmatch(r"(19|20)\d\d|each|nothing|", row.meaning):
        return f'meaning is "{row.meaning}"; it must be a year, or each, or nothing.'
    if about == "words" and row.meaning and word_key(row.meaning) != EACH:
        subject, named = words_in(row.text)
        if subject not in WORDS or len(named) != len(apart(row.meaning)):
            return f'text is "{row.text}" and meaning "{row.meaning}"; each word must have one meaning, | between them.'
    if about == "rows" and row.meaning and word_key(row.meaning) not in (DIFFERENT, TWICE):
        return f'meaning is "{row.meaning}"; it must be {DIFFERENT} or {TWICE}.'
    if about == "cell" and not _CELL.fullmatch(row.text):
        return f'text is "{row.text}"; a cell is written as PIECE: column: what was typed.'
    return ""
