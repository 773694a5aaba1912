"""Questions about words, orders of dates and single cells, and the cells that were answered."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date

import numpy as np
import pandas as pd

from fleetlib.base.errors import FleetError
from fleetlib.base.measured import CM_IN_AN_INCH
from fleetlib.base.said import day_said, pieces_said
from fleetlib.base.settings import Settings, settings_from
from fleetlib.records.asked.answers import (
    DIFFERENT,
    IN_WORK,
    STATES,
    TWICE,
    WHOLE,
    WORDS,
    Answer,
    Answers,
    cell_named,
    cell_text,
    key_of,
    what_is_wrong,
)
from fleetlib.records.asked.days_of_row import OR_A_YEAR, likely_days
from fleetlib.records.asked.months import bare_day_of_month, day_of_month
from fleetlib.records.asked.names_for_unnamed import (
    base_name,
    could_be,
    names_here,
    said_of_alike,
)
from fleetlib.records.asked.question import (
    COLUMN_UNREAD,
    NOTHING,
    Chosen,
    Option,
    Question,
    column_in_words,
    weight,
)
from fleetlib.records.files.headings import Headings
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.amounts import (
    FOR_EACH,
    maybe_worked,
    read_hours,
    read_money,
    read_prices,
    read_sizes,
)
from fleetlib.records.parsing.counts import in_words, read_counts, read_grades, read_years
from fleetlib.records.parsing.cuts import price_after, says_off
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.days_in_text import A_DAY
from fleetlib.records.parsing.near_days import LATEST, has_no_year, month_or_day
from fleetlib.records.parsing.numbers import Cell, shown
from fleetlib.records.parsing.outcomes import ON_HAND, SOLD, SOLD_AGAIN, remark_said, state_said
from fleetlib.records.parsing.phrases import steps_down
from fleetlib.records.parsing.vocabulary import (
    NOT_A_PIECE,
    word_key,
)
from fleetlib.records.schema.columns import (
    CAME_BACK,
    COLUMN,
    DATES,
    GIVEN_AWAY,
    KEPT,
    LEFT_UNSOLD,
    SCRAPPED,
    SIZES,
)

SUBJECT = {column: about for about, column in WORDS.items()}
_AMOUNT = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:[.,]\d{1,2}(?!\d))?")
_SUM = re.compile(r"(\d+(?:\.\d+)?) ?(?:\+|plus|and|&) ?[$€£]?(\d+(?:\.\d+)?)")
_NONE_PAID = re.compile(r"\b(?:free|gift|nothing|n/c|no charge)\b", re.IGNORECASE)
_ABOVE = re.compile(
    r"(?:w/?|with|see|same as|incl?\.?(?:luded)?(?: in| with| w/?)?|part of|in|as|goes w/?(?:ith)?)? ?(?:the )?"
    r"(?:above|prev(?:ious)?(?: (?:row|line|one))?|(?:row|line|one) above|other one)|ditto",
    re.IGNORECASE,
)
_DAY_FIRST = ("EUR", "GBP", "AUD", "NZD", "INR", "ZAR")  # common usage, no source


NO_PIECE = (Option("not a piece: leave the row out", NOT_A_PIECE),)


def about_states(cells: TextColumn, read: Sequence[Cell]) -> Iterator[Question]:
    """One question a word that should say where a piece stands and does not."""
    counts = np.bincount(cells.codes, minlength=len(cells.texts))
    pieces: dict[str, int] = {}
    typed: dict[str, str] = {}
    for text, cell, n in zip(cells.texts, read, counts, strict=False):
        if cell.refused and n:
            key = key_of(text)
            typed.setdefault(key, " ".join(text.split()))
            pieces[key] = pieces.get(key, 0) + int(n)
    for key, n in pieces.items():
        said = remark_said(typed[key])
        likely = CAME_BACK if said == ON_HAND else said or _but_for_a_day(key) or _begun_by(key)
        if likely == CAME_BACK and SOLD_AGAIN.search(key):
            likely = SOLD
        states = (*([likely] if likely else []), *(s for s in STATES if s not in (likely, IN_WORK)))
        yield Question(
            "state",
            typed[key],
            f'"{typed[key]}" says where a piece stands. What does it mean? ({pieces_said(n)})',
            (
                *(Option(_STATE_SAID.get(s, s), s) for s in states),
                Option("none of these", NOTHING),
                *NO_PIECE,
            ),
            "the cell is empty",
            n * weight("outcome"),
        )


def sold_by(cells: TextColumn, sales: np.ndarray) -> tuple[str, ...]:
    """The word in small letters, if it is none of ours, that most rows of `sales` (n,) have and no other row has.

    It changes nothing of its rows, which tell of a sale without it.
    """
    if not sales.any() or len(sales) != len(cells.codes):
        return ()
    rows = Counter(cells.texts[code].strip().lower() for code in cells.codes)
    found = Counter(cells.texts[code].strip().lower() for code in cells.codes[sales])
    word, n = found.most_common(1)[0]
    most = word and 2 * n > sales.sum() and n == rows[word]
    return (word,) if most and state_said(word) is None else ()


def _but_for_a_day(key: str) -> str | None:
    """Where a piece stands by a word beside a day, as "listed 10/10"; None where there is no day or no such word."""
    word = re.sub(A_DAY, "", key).strip(" ,;:()-")
    said = state_said(re.sub(r"\b(?:on|since|from)$", "", word).strip()) if word != key else None
    return said if said in STATES else None


def _begun_by(key: str) -> str | None:
    """What a lone letter most likely stands for, by the words that begin with it, or one of these words: our own list,
    from memory."""
    alone = len(key) == 1
    for state, said in _BEGIN.items():
        if any(w.startswith(key) if alone else w == key for w in said.split()):
            return state
    return _WHOLE.get(key)


_BEGIN = {
    CAME_BACK: "returned back",
    KEPT: "kept mine",
    GIVEN_AWAY: "donated given",
    SCRAPPED: "trashed junked",
    SOLD: "sold gone",
    ON_HAND: "listed available up workshop",
}
_WHOLE = dict.fromkeys(("home", "house", "ours"), KEPT) | dict.fromkeys(
    ("tip", "dump", "bin", "firewood"), SCRAPPED
)
_STATE_SAID = {
    ON_HAND: "on hand: for sale, still being worked on, or not listed yet",
    CAME_BACK: "sold, but it came back",
}


def about_order(undecided: Sequence[tuple[str, str, int]], currency: str) -> Iterator[Question]:
    """One question on dates such as 03/04/26, by (column, where, cells) of the columns that nothing settles."""
    if not undecided:
        return
    options = (Option("month first", "month first"), Option("day first", "day first"))
    if currency in _DAY_FIRST:
        options = options[::-1]
    names = " and ".join(dict.fromkeys(column_in_words(n) for n, _, _ in undecided))
    yield Question(
        "date order",
        "",
        f"Does the day or the month come first in {names} ({undecided[0][1]})?",
        options,
        "these days are left out",
        sum(n * weight(name) for name, _, n in undecided),
    )


# Answers about days without a year: ask one by one; each is the first such day after the piece was listed.
EACH = "each"
AFTER = {"after listing": ("listed_on", "listed"), "after buying": ("bought_on", "bought")}


def about_year(
    column: str, examples: Sequence[str], many: int, as_of: date, *, after: str = "", title: int = 0
) -> Question:
    """One question on all days of a column whose year nothing tells; `after`: days of listing may tell it; `title`: the
    year that the title of the sheet names, 0 for none."""
    name, this = column_in_words(column), as_of.year
    named = [Option(f"all are of {title}", str(title))] if title else []
    return Question(
        "year",
        name,
        f"{many} days of {name} have no year ({', '.join(examples)}{' ...' * (many > len(examples))}). Which is it?",
        (
            *named,
            *(
                [Option(f"each is the first such day after it was {AFTER[after][1]}", after)]
                if after
                else []
            ),
            Option("the last twelve months: each is the latest it can be", LATEST),
            *(Option(f"all are of {y}", str(y)) for y in (this, this - 1, this - 2) if y != title),
            Option("of several years: ask one by one", EACH),
        ),
        "these days are left out",
        many * weight(column),
        "another year, such as 2021",
    )


def years_wait(headings: Iterable[Question]) -> set[str]:
    """The columns of days, in words, whose years are asked about only once it is said which other columns hold days, as
    those may tell them: all while such a heading is asked about, else none."""
    days = {column_in_words(c) for c in DATES}
    waiting = any(q.cost >= COLUMN_UNREAD and q.options[0].meaning in days for q in headings)
    return days if waiting else set()


def still_without_year(
    questions: Sequence[Question],
    refused: Mapping[str, Mapping[int, tuple[str, str]]],
    lines: np.ndarray,
    keep: np.ndarray,
    as_of: date,
) -> list[Question]:
    """`questions` with those about years asking of the cells that are left: one alone is asked about by itself."""
    made: list[Question] = []
    for asked in questions:
        column = next((c for c in refused if column_in_words(c) == asked.text), "")
        if asked.about != "year":
            made.append(asked)
            continue
        left = [
            f"line {lines[i]}: {typed}"
            for i, (typed, why) in refused.get(column, {}).items()
            if keep[i] and has_no_year(typed) and not why.startswith("could be ")
        ]
        if len(left) > 1:
            after = next((o.meaning for o in asked.options if o.meaning in AFTER), "")
            first = asked.options[0].meaning
            title = int(first) if first.isdigit() else 0
            made.append(about_year(column, left[:3], len(left), as_of, after=after, title=title))
    return made


def called(piece: str, kind: object) -> str:
    """A piece in a sentence about its line: one that is a number alone by its kind too, `piece 21 (sideboard)`."""
    if any(c.isalpha() for c in piece):
        return piece
    return f"piece {piece} ({kind})" if isinstance(kind, str) else f"piece {piece}"


def about_cells(
    refused: Mapping[str, Mapping[int, tuple[str, str]]],
    values: Mapping[str, np.ndarray],
    lines: np.ndarray,
    by_year: Collection[str],
    currency: str,
    as_of: date,
) -> Iterator[Question]:
    """One question a cell of a price, a day or hours that could not be read, in rows that have a line (0: none);
    `values`: the names, kinds, days and first prices of the rows.

    Days without a year of the columns `by_year` (in words) are asked about all at once elsewhere, and others only once
    no other day of their row is asked about.
    """
    open_days = {
        i
        for column in ("bought_on", "listed_on", "sold_on", "withdrawn_on")
        for i, (typed, why) in refused.get(column, {}).items()
        if lines[i] and not has_no_year(typed) and not why.startswith("could be ")
    }
    pieces, kinds = values["piece"], values["furniture_type"]
    for column, cells in refused.items():
        kind = COLUMN[column].kind if column in COLUMN else ""
        if kind not in ("money", "date", "hours"):
            continue
        for i, (typed, why) in cells.items():
            if not lines[i] or (kind == "date" and why.startswith("could be ")):
                continue  # the order of the days is asked about for the whole column
            if column_in_words(column) in by_year and has_no_year(typed):
                continue
            if i in open_days and has_no_year(typed):
                continue  # the day that is asked about in its row may tell its year
            options = _days(values, i, column, (typed, why), as_of) if kind == "date" else []
            options = options or _likely(typed, column)
            if column == "last_asking_price" and says_off(typed):
                options = _off_the_first(typed, float(values["asking_price"][i]))
            each = why == FOR_EACH
            options = _by_count(typed, currency) if each else options
            if i and kind == "money" and _ABOVE.fullmatch(" ".join(typed.split())):
                with_it = f"it belongs to the row above (line {lines[i - 1]}) and counts there"
                options = [Option(with_it, OF_THE_ROW_ABOVE), *options]
            yield Question(
                "cell",
                cell_text(str(pieces[i]), column, typed),
                f'Line {lines[i]}, {called(str(pieces[i]), kinds[i])}: {column_in_words(column)} is "{typed}", which '
                f"{why}. What is it?",
                (*options, Option("not known", NOTHING)),
                "the cell is empty",
                weight(column),
                HOW[kind] + ", or how many there were, as 5 pieces" * each,
            )


def _days(
    values: Mapping[str, np.ndarray], i: int, column: str, cell: tuple[str, str], as_of: date
) -> list[Option]:
    """The days until `as_of` that a day or a month typed without its year may be, or a month with its year."""
    typed, why = cell
    bare = typed if has_no_year(typed) else bare_day_of_month(typed)
    days = likely_days(values, i, column, bare, as_of)[:3] if bare else []
    options = [Option(day_said(d), str(d)) for d in days]
    if why == OR_A_YEAR and (of := month_or_day(typed)) and (d := date(of[1], of[0], 15)) <= as_of:
        options = [Option(f"about {day_said(d)}", str(d)), *options]
    return options


def _off_the_first(typed: str, asked: float) -> list[Option]:
    """What is left of the first price asked, NaN where that is not known, after what a cell says came off."""
    last = price_after(typed, asked) if asked > 0 else None
    if last is None:
        return []
    return [Option(f"that much off {shown(asked)}: {shown(last)}", shown(last))]


_PIECES = re.compile(r"(\d{1,3}) ?(?:pieces?|pcs?\.?)")
_LIKELY_COUNTS = (2, 3, 4)


def _by_count(typed: str, currency: str) -> list[Option]:
    """What the price of one piece comes to for so many pieces, and that it is the price of them all."""
    one = read_prices([typed], currency=currency)[0].cell.value
    if one is None:
        return []
    counted = [
        Option(f"{n} pieces, {shown(n * float(one))} in all", f"{n} pieces") for n in _LIKELY_COUNTS
    ]
    return [*counted, Option(f"{shown(float(one))} in all", shown(float(one)))]


def _for_pieces(column: str, typed: str, meaning: str, currency: str) -> dict[str, float]:
    """The amount and the count that `3 pieces` says of `£10 each`; empty where it is no such answer."""
    said = _PIECES.fullmatch(word_key(meaning))
    if not said or COLUMN[column].kind != "money":
        return {}
    price = read_prices([typed], currency=currency)[0]
    if not (price.each and price.cell.value and int(said[1])):
        return {}
    return {column: float(price.cell.value) * int(said[1]), "pieces_in_lot": float(said[1])}


def _likely(typed: str, column: str) -> list[Option]:
    """What a cell that could not be read may mean, the likeliest first."""
    kind = COLUMN[column].kind
    likely = list(
        dict.fromkeys(_likely_amounts(typed, column) if kind == "money" else _either(typed))
    )
    options = [Option(a, a) for a in likely[:3]]
    if kind == "hours" and maybe_worked(typed):
        options = [Option(f"{n} hours", n) for n in dict.fromkeys(_AMOUNT.findall(typed))][:3]
    if column in _ASKED and (steps := _steps_among(likely)):
        first, *_, last = steps
        options = [Option(f"{first} first, {last} last", f"{first} now {last}"), *options]
    if kind == "date" and (day := day_of_month(typed)):
        options = [Option(f"about {day_said(date.fromisoformat(day))}", day)]
    if column in _OF_THE_SALE and (became := remark_said(typed)):
        options = [*_that_it_became(column, became, likely), *options]
    elif column == "sale_price" and not any(map(_SOME_MONEY.search, likely)):
        options = [Option(BECAME[GIVEN_AWAY], GIVEN_AWAY)] if likely else options
        options.append(Option("sold or traded, and there is no price", NO_PRICE))
    return options


def _that_it_became(column: str, became: str, likely: Sequence[str]) -> list[Option]:
    """What a remark in a cell of a sale seems to tell, as it is offered; of a price also how much."""
    if became != ON_HAND:
        return [Option(BECAME[became], became)]
    priced = likely[:1] if column == "sale_price" else []
    both = [Option(f"it sold for {a} and came back", f"{a}, {CAME_BACK}") for a in priced]
    return both or [Option(BECAME[became], CAME_BACK)]


BECAME = {
    GIVEN_AWAY: "it was given away",
    KEPT: "you kept it",
    SCRAPPED: "it was scrapped",
    ON_HAND: "it was sold and came back",
}  # what a remark seems to tell, as it is offered
_SOME_MONEY = re.compile("[1-9]")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
# What looks odd there is asked about cell by cell.
ODD = ("sale_price", "buy_price", "asking_price", "hours")
ODD_SIZE = "width_in"  # a size that looks like centimetres is asked about by its width
RIGHT = "right"  # the answer that a value which looks odd is what it was


def about_odd(questions: pd.DataFrame, flips: pd.DataFrame) -> Iterator[Question]:
    """One question a price, hours or a size that were kept but look odd (`questions`: line, piece, column, value,
    question)."""
    odd = questions[questions["column"].isin((*ODD, ODD_SIZE))].astype("str")
    if odd.empty:
        return
    lines = flips["line"].astype("str")
    kinds = dict(zip(lines, flips["furniture_type"], strict=True))
    sizes = dict(zip(lines, flips[list(SIZES)].to_numpy(), strict=True))
    right, out = Option("it is right", RIGHT), Option("not known: leave it out", NOTHING)
    for line, piece, column, value, why in odd.itertuples(index=False, name=None):
        sized, kind = column == ODD_SIZE, kinds[line]
        sides = " x ".join(shown(float(s)) or "?" for s in sizes[line]) if sized else ""
        if sized and not value:
            continue
        yield Question(
            "cell",
            cell_text(piece, column, value),
            f"Line {line}, {called(piece, kind)}: {'size' if sized else column_in_words(column)} is {sides or value}. "
            f"{why}",
            (Option("its size is in centimetres", "cm"), right, out) if sized else (right, out),
            "it counts as it is",
            weight(column) / 4,  # most are right
            "" if sized else HOW[COLUMN[column].kind],
        )


def settle_odd(
    values: dict[str, np.ndarray], answers: Answers, *, settings: Settings, as_of: date
) -> list[tuple[int, str, str, str]]:
    """Put the answers about odd numbers into `values`; returns row, column, the number and the answer of each."""
    done: list[tuple[int, str, str, str]] = []
    own, here = settings.words.get("furniture_type", {}), names_here(values["piece"])
    for (piece, column, typed), meaning in answers.cells().items():
        asked = column in ODD or (column == ODD_SIZE and meaning in ("cm", ""))
        if not asked or word_key(meaning) == RIGHT or not _NUMBER.fullmatch(typed):
            continue
        sized = column == ODD_SIZE
        value = (
            None if sized else read_answer(column, meaning or "-", settings=settings, as_of=as_of)
        )
        rows = np.flatnonzero(values[column] == float(typed))
        for i in rows if value is not None or not meaning or sized else ():
            row = {c: v[i] for c, v in values.items()}
            if piece != str(row["piece"]).casefold() and piece not in could_be(row, own, here):
                continue
            for side in SIZES if sized else (column,):
                values[side] = values[side].copy()
                by = values[side][i] / CM_IN_AN_INCH if sized and meaning else np.nan
                values[side][i] = np.round(by, 2) if value is None else value
            done.append((int(i), column, typed, meaning))
    return done


def _either(typed: str) -> list[str]:
    """Both of `4 or 6`, as two columns that say one thing may hold; none of any other text."""
    parts = [p.strip() for p in typed.split(" or ")]
    return parts if len(parts) == 2 and all(p[-1:].isdigit() for p in parts) else []


def _likely_amounts(typed: str, column: str) -> list[str]:
    """The amounts that a cell may mean, the likeliest first: letters that look like digits among digits are digits;
    what was spent on several things is their sum."""
    meant = _AMONG_DIGITS.sub(lambda m: m.group().translate(_LOOK_ALIKE), typed)
    meant, typed = (_CUT_ON.sub(" ", t) for t in (meant, typed))
    found = [*_AMOUNT.findall(meant), *_AMOUNT.findall(typed)]
    sums = () if column in _ASKED else _SUM.finditer(typed)
    added = [shown(float(m[1]) + float(m[2])) for m in sums]
    spent = [a for a in _AMOUNT.findall(typed) if "," not in a]
    if column in _SPENT and len(spent) > 1:
        added = [shown(sum(map(float, spent)))]
    joined = [re.sub(r"\D", "", typed)] if _APART.fullmatch(typed.strip()) else []
    named = in_words(typed)
    joined += [shown(named[0])] if named else []
    found = [a for a in found if not _ZEROS.fullmatch(a)]
    return [*added, *joined, *found] or (["0"] if _NONE_PAID.search(typed) else [])


def _steps_among(amounts: Sequence[str]) -> list[str]:
    """Those of several amounts that may be prices asked one after the other; none where they do not fall."""
    values = [float(a.replace(",", "")) for a in amounts]
    asked = [a for a, v in zip(amounts, values, strict=True) if v > _LEAST_ASKED * max(values)]
    steps = steps_down(", ".join(asked)).split(" now ")
    return steps if len(steps) > 1 else []


_ASKED = ("asking_price", "last_asking_price")
_LEAST_ASKED = 0.3  # of the first price asked; a number far below is none; our own, no source
_SPENT = ("materials_cost", "other_costs")
_ZEROS = re.compile(r"00+")  # the end of a number, as in 1 000
_APART = re.compile(r"[$€£]? ?(?:\d{1,2} \d\d|\d{1,3}(?: \d{3})+) ?[$€£]?")  # $1 40, 1 000 $
# A word that begins or ends in a digit and is else of letters that are taken for digits: 5oo, l20, 4S0.
_AMONG_DIGITS = re.compile(r"(?<![^\W_])(?=[oOlIsS]*\d)[\doOlIsS]+(?![^\W_])")
_CUT_ON = re.compile(
    r"(?<=\d )(?:on )?\d\d?/\d\d?(?:/\d{2,4})?(?![\d/])|(?<=[\d$€£]) ?\(\d\d?(?:/\d\d?|\.\d\d?\.)\)"
)  # the day behind an amount: 400 8/9, 130 (12/7), 270 (24.10.)
_LOOK_ALIKE = str.maketrans("oOlIsS", "001155")


def about_alike(
    flips: pd.DataFrame, alike: Collection[str], answers: Answers
) -> Iterator[Question]:
    """One question on the pieces that cannot be told apart by each name, until it is answered."""
    bases = {p: base_name(p, named=False) for p in alike}
    for base, (text, said) in said_of_alike(alike, answers).items():
        if said:
            continue
        rows = flips[flips["piece"].isin([p for p in alike if bases[p] == base])]
        cells = rows.drop(columns=["line", "piece"])
        typed = [c for c in COLUMN if c in cells]
        differ = [column_in_words(c) for c in typed if len(cells[c].drop_duplicates()) > 1]
        by = f" by its name, though they differ in {' and '.join(differ[:3])}" if differ else ""
        twice = "those that are the same in every cell" if differ else "they"
        copies = [Option(f"no, {twice} stand there twice: count each once", TWICE)]
        shown = ", ".join(map(str, rows["line"][:_MOST_LINES]))
        more = f" and {len(rows) - _MOST_LINES} more" if len(rows) > _MOST_LINES else ""
        on_hand = int(rows["status"].isin(["listed", "in work"]).sum())
        yield Question(
            "rows",
            text,
            f"{len(rows)} rows cannot be told apart from another{by} (lines {shown}{more}; such as "
            f"{rows['piece'].iloc[0]}). Are they different pieces?",
            (
                Option("yes, each is a piece", DIFFERENT),
                *(copies if cells.duplicated().any() else ()),
            ),
            "each counts as a piece, and nothing can be logged on them. Give each a name of its own in a column called "
            "Piece for that",
            0.5 * len(rows) + weight("piece") * on_hand,
        )


UNSOLD_PRICES = "Price without a day of sale"


def lone_prices(
    values: dict[str, np.ndarray],
    table: TextTable,
    headings: Headings,
    answers: Answers,
    unread: Collection[int] = (),
) -> tuple[np.ndarray, list[Question]]:
    """Prices under the one heading `Price` of rows without a day of sale, where other rows have one: asked, or got?

    Takes them out of `values` until that is answered; rows of which a day was typed but could not be read (`unread`)
    stay. Returns the rows, and what is asked.
    """
    none = np.empty(0, dtype=int), list[Question]()
    place, _ = headings.known.get("sale_price", (-1, None))
    other_prices = {"asking_price", "last_asking_price", "gut_price"} & set(headings.known)
    if place < 0 or other_prices or "sold_on" not in headings.known:
        return none
    if word_key(table.headings[place]) not in ("price", "prices"):
        return none
    priced = ~np.isnan(values["sale_price"])
    left = (
        ~np.isnat(values["sold_on"])
        | ~np.isnat(values["withdrawn_on"])
        | ~pd.isna(values["outcome"])
    )
    rows = np.array([i for i in np.flatnonzero(priced & ~left) if i not in unread], dtype=int)
    said = answers.heading(UNSOLD_PRICES)
    if not len(rows) or not (priced & left).any() or said == "sale_price":
        return none
    moved = values["sale_price"][rows]
    values["sale_price"] = values["sale_price"].copy()
    values["sale_price"][rows] = np.nan
    if said == "asking_price":
        values["asking_price"] = values["asking_price"].copy()
        values["asking_price"][rows] = moved
        return rows, []
    shown = ", ".join(str(n) for n in table.lines[rows[:_MOST_LINES]])
    return rows, [
        Question(
            "heading",
            UNSOLD_PRICES,
            f'{len(rows)} rows have a "{table.headings[place]}" and no day of sale, as others do (lines {shown}). '
            "Is it what you ask, or what it sold for?",
            (Option("what I ask", "asking price"), Option("what it sold for", "sale price")),
            "these prices are left out",
            len(rows) * weight("sale_price"),
        )
    ]


def about_sheets(table: TextTable) -> Iterator[Question]:
    """One question a sheet that looks like a record but has other headings than the one that is read."""
    for title, shares in table.others.items():
        both = (Option("yes, read it too", "read"), Option("no, leave it out", NOTHING))
        yield Question(
            "sheet",
            title,
            f'The sheet "{title}" looks like a record too, under other headings. Are pieces of yours there?',
            both if shares else both[::-1],
            "it is not read",
            2.0 * len(table.lines),
        )


_OF_THE_SALE = ("sale_price", "sold_on", "withdrawn_on")


def _became(values: dict[str, np.ndarray], i: int, state: str | None, noted: str = "") -> None:
    """Row i became what was answered, if anything; `noted` is kept with its notes: the day it came back may be there.

    A piece that left unsold did so on the day under `sold_on`, if known; of one that came back the sale stays.
    """
    if noted:
        notes = values["notes"] = values["notes"].copy()
        notes[i] = f"{notes[i]}; {noted}" if isinstance(notes[i], str) else noted
    if state is None:
        return
    for column in ("outcome", "sold_on", "withdrawn_on"):
        values[column] = values[column].copy()
    values["outcome"][i] = state
    if state == CAME_BACK:
        return  # its sale stays, as one that ended
    if state in LEFT_UNSOLD and np.isnat(values["withdrawn_on"][i]):
        values["withdrawn_on"][i] = values["sold_on"][i]
    if state != SOLD:
        values["sold_on"][i] = np.datetime64("NaT")


def _value_and_state(
    column: str, meaning: str, *, back: bool, settings: Settings, as_of: date
) -> tuple[float | np.datetime64 | None, str | None]:
    """The value and the state that an answer about a cell says; `back`: it is of a sale, and tells of a return."""
    of_sale = column in _OF_THE_SALE
    if column == "sale_price" and is_no_price(meaning, settings, as_of):
        return None, SOLD
    came = _CAME.fullmatch(meaning.strip()) if of_sale else None
    said = (came[1] or "") if came else meaning
    value = read_answer(column, said, settings=settings, as_of=as_of) if said else None
    if came:
        return value, CAME_BACK
    state = state_said(meaning) if of_sale and value is None else None
    return value, CAME_BACK if back and state == ON_HAND else state


def is_no_price(meaning: str, settings: Settings, as_of: date) -> bool:
    """Whether an answer about the price of a sale says that there is none: 0, or that the 0 typed there is right."""
    if word_key(meaning) in (NO_PRICE, RIGHT):
        return True
    return bool(meaning) and read_answer("sale_price", meaning, settings=settings, as_of=as_of) == 0


_CAME = re.compile(rf"(?:(.+?), )?{CAME_BACK}")


_MOST_LINES = 6
OF_THE_ROW_ABOVE = "part of the row above"
NO_PRICE = "no price"  # the answer that a piece was sold, and there is no price to know
HOW = {
    "money": "the amount",
    "date": "the day as 2026-10-04, or its month as April 2026",
    "hours": "the hours",
}


def read_answer(
    column: str, meaning: str, *, settings: Settings, as_of: date
) -> float | np.datetime64 | None:
    """The value of a cell by what was answered; None where the answer cannot be read either."""
    kind, cell = COLUMN[column].kind, Cell(None)
    match kind:
        case "money":
            typed = steps_down(meaning) if column in _ASKED else meaning
            cell = read_money([typed], currency=settings.currency)[0]
        case "hours":
            cell = read_hours([meaning])[0]
        case "size":
            cell = read_sizes([meaning], unit=settings.length_unit)[0]
        case "date":
            first = settings.date_order == "day first" if settings.date_order else None
            cell = read_dates(
                [day_of_month(meaning) or meaning], day_first=first, as_of=as_of
            ).cells[0]
        case "count" | "year" | "grade":
            cell = {"count": read_counts, "year": read_years, "grade": read_grades}[kind](
                [meaning]
            )[0]
    if cell.value is None or cell.refused:
        return None
    if kind == "date":
        return (
            np.datetime64(str(cell.value), "ns") if str(cell.value) <= as_of.isoformat() else None
        )
    value = float(cell.value)
    return value if COLUMN[column].believes(value) else None


def why_no_answer(chosen: Chosen, *, settings: Settings, as_of: date) -> str:
    """Why what was chosen cannot be an answer to its question, in a sentence; "" where it can."""
    asked, meaning = chosen.question, chosen.meaning
    if any(meaning == o.meaning for o in asked.options) or word_key(meaning) == NOTHING:
        return ""
    front = f'"{meaning}" is no answer to "{asked.said}"'
    wrong = what_is_wrong(Answer("", asked.about, asked.text, meaning, 0))
    if wrong:
        return f"{front}: {wrong}"
    named = cell_named(asked.text) if asked.about == "cell" else None
    if named:
        _, column, typed = named
        if _for_pieces(column, typed, meaning, settings.currency):
            return ""
        state = column in _OF_THE_SALE and state_said(meaning)
        if column in (
            "outcome",
            "notes",
        ):  # the day that a piece which came back was up again, or how it left
            column = "sold_on"
            state = meaning if state_said(meaning) in LEFT_UNSOLD else None
        if state or read_answer(column, meaning, settings=settings, as_of=as_of) is not None:
            return ""
        how = HOW.get(COLUMN[column].kind, "it so that it can be read")
        return f"{front}: write {how}."
    if asked.about in WORDS and not re.search(r"[^\W\d_]{2}", meaning):
        return f"{front}: write a word."
    if asked.about in WHOLE:
        try:
            settings_from({asked.about.replace(" ", "_"): meaning})
        except FleetError as refusal:
            return f"{front}: {refusal}"
    return ""


def _first_and_last(
    values: Mapping[str, np.ndarray], i: int, column: str, meaning: str, settings: Settings
) -> dict[str, float | np.datetime64]:
    """The first and the last price asked that one answer holds, the column that was not asked about only where it is
    blank; nothing for any other answer."""
    if column not in _ASKED:
        return {}
    price = read_prices([steps_down(meaning)], currency=settings.currency)[0]
    if price.before is None:
        return {}
    both = zip(_ASKED, (price.before, price.cell.value), strict=True)
    return {c: float(v or 0) for c, v in both if c == column or np.isnan(values[c][i])}


def settle_cells(
    values: dict[str, np.ndarray],
    refused: dict[str, dict[int, tuple[str, str]]],
    answers: Answers,
    *,
    settings: Settings,
    as_of: date,
) -> list[tuple[int, str, str, str]]:
    """Put what was answered about unread cells into `values`, and take them out of `refused`.

    Returns row, column, what was typed and the answer ("" for not known) of each.
    """
    told = answers.cells()
    own, here = settings.words.get("furniture_type", {}), names_here(values["piece"])
    done: list[tuple[int, str, str, str]] = []
    for column, cells in refused.items() if told else ():
        for i, (typed, _) in list(cells.items()):
            pieces = [p for p, c, t in told if (c, t) == (column, key_of(typed))]
            names = {str(values["piece"][i]).casefold()}
            if pieces and not names & set(pieces):  # answered when less of the row was known
                names |= could_be({c: v[i] for c, v in values.items()}, own, here)
            meaning = next((told[p, column, key_of(typed)] for p in pieces if p in names), None)
            if meaning is None:
                continue
            if word_key(meaning) == OF_THE_ROW_ABOVE:
                del cells[i]
                done.append((i, column, typed, OF_THE_ROW_ABOVE))
                continue
            counted = _for_pieces(column, typed, meaning, settings.currency)
            back = column in _OF_THE_SALE and remark_said(typed) == ON_HAND
            value, state = _value_and_state(
                column, meaning, back=back, settings=settings, as_of=as_of
            )
            value = counted.get(column, value)
            if meaning and value is None and not state:
                continue
            _became(values, i, state, typed if back else "")
            if value is not None:
                left = column == "sold_on" and values["outcome"][i] in LEFT_UNSOLD
                to = "withdrawn_on" if left else column  # the day of a piece that was given away
                asks = counted or _first_and_last(values, i, column, meaning, settings)
                for name, said in (asks or {to: value}).items():
                    values[name] = values[name].copy()
                    values[name][i] = said
            del cells[i]
            done.append((i, column, typed, shown(counted[column]) if counted else meaning))
    return done
