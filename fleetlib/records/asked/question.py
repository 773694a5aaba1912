"""One question about a record: what was found, its likeliest answers, and what is done until it is answered."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from fleetlib.base.errors import BadQuestion
from fleetlib.records.schema.columns import COLUMN

NOTHING = "nothing"  # the meaning of a heading that is none of ours, and of a cell that stays empty
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_MOST_OPTIONS = 6

# What a cell of each column is worth to the answers, against a cell of a note. Our own weights, no source: without
# the kind, the price and the day of sale there is no answer at all.
WEIGHTS: dict[str, float] = {
    "furniture_type": 12, "sale_price": 12, "sold_on": 10, "asking_price": 7, "listed_on": 7, "buy_price": 6,
    "bought_on": 4, "last_asking_price": 4, "hours": 5, "withdrawn_on": 4, "piece": 3, "wood": 3, "finish": 3,
    "materials_cost": 3, "other_costs": 3, "outcome": 8, "pieces_in_lot": 3,
}  # fmt: skip


class Option(NamedTuple):
    """One answer offered: how it is worded, and what is written for it."""

    shown: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Question:
    """`about` (a word of `answers.ABOUT`) and `text` (what was typed) are what the answer is filed under.

    `options`: the likeliest answer first; `meanwhile`: what is done until it is answered; `cost`: the cells that
    wait for it, weighted by what they are worth; `free`: what else may be typed, "" where nothing else may;
    `filed`: what the answer is filed under where that is not `text`.
    """

    about: str
    text: str
    said: str
    options: tuple[Option, ...]
    meanwhile: str
    cost: float
    free: str = ""
    filed: str = ""


class Chosen(NamedTuple):
    """A question and the meaning that was chosen for it."""

    question: Question
    shown: str
    meaning: str


COLUMN_UNREAD = 1e6  # above the cost of any cell: a whole column waits, so it is asked about first


def weight(column: str) -> float:
    """What one cell of `column` is worth to the answers, 1 for a note."""
    return WEIGHTS.get(column, 1.0)


def column_in_words(column: str) -> str:
    """A column as one would say it: `sold on`."""
    return column.removesuffix("_in").replace("_", " ")


def in_order(questions: Iterable[Question]) -> tuple[Question, ...]:
    """The costliest first; of two with the same answer only one, and no more options than fit a line."""
    best: dict[tuple[str, str], Question] = {}
    for q in questions:
        kept = best.get((q.about, q.text.casefold()))
        if kept is None or kept.cost < q.cost:
            best[q.about, q.text.casefold()] = q
    return tuple(sorted(best.values(), key=lambda q: (-q.cost, q.about, q.text)))


def at_once(questions: Sequence[Question]) -> int:
    """How many of the questions are shown: so many, and all that a whole column waits for."""
    return max(MOST_ASKED, sum(q.cost >= COLUMN_UNREAD for q in questions))


MOST_ASKED = 12


def code(number: int, option: int) -> str:
    """The code of an answer: 3b is the second answer of the third question."""
    return f"{number + 1}{_LETTERS[option]}"


_CODE = re.compile(r"(\d+)([a-z])", re.IGNORECASE)
# `3=word` up to the next code, or anything else that stands by itself.
_PART = re.compile(r"\d+\s*=.+?(?=[\s,;]+\d+(?:[a-z](?![a-z0-9])|\s*=)|$)|[^\s,;]+", re.IGNORECASE)
_FREE = re.compile(r"(\d+)\s*=\s*(.+)")


def chosen_by(questions: Sequence[Question], codes: Sequence[str]) -> list[Chosen]:
    """What `codes` choose: `3b`, several as `1a 3b` or `1a,3b`, and `3=word` where a word of one's own may stand.

    Raises BadQuestion for a code that none of the questions has.
    """
    found = []
    for part in _parts(codes):
        of_own, letter = _FREE.fullmatch(part), _CODE.fullmatch(part)
        number = int((of_own or letter or ["", "0"])[1])
        if not 1 <= number <= len(questions):
            raise BadQuestion(
                f'"{part}" is no answer: write the number of a question and the letter of an answer, such as 1a. '
                f"There are {len(questions)} questions now; run check to see them."
            )
        question = questions[number - 1]
        if of_own and (own := _in_own_words(question, of_own[2].strip())):
            found.append(own)
            continue
        place = _LETTERS.index(letter[2].lower()) if letter else len(question.options)
        if place >= len(question.options):
            offered = ", ".join(code(number - 1, i) for i in range(len(question.options)))
            raise BadQuestion(f'"{part}" is no answer to question {number}; it has {offered}.')
        found.append(Chosen(question, *question.options[place]))
    return found


def unquoted(said: str) -> str:
    """What was typed, without quote marks around it."""
    quoted = len(said) > 1 and said[0] == said[-1] and said[0] in "\"'"
    return said[1:-1].strip() if quoted else said


def _in_own_words(question: Question, said: str) -> Chosen | None:
    """What was typed behind the sign: an answer that is offered, or words of one's own where they may stand."""
    said = unquoted(said)
    if question.about in ("kind", "wood", "finish"):
        said = said.replace("_", " ")  # coffee_table: the word with a space
    offered = (
        o for o in question.options if said.casefold() in (o.shown.casefold(), o.meaning.casefold())
    )
    option = next(offered, None)
    if option:
        return Chosen(question, *option)
    return Chosen(question, said, said) if question.free else None


def _parts(codes: Sequence[str]) -> list[str]:
    """The single codes; a word of one's own goes on to the next code or the end of what was typed."""
    return [p.strip() for typed in codes for p in _PART.findall(typed)]


def column_options(columns: Iterable[str]) -> tuple[Option, ...]:
    """Answers that name a column, and last that it is none of them."""
    named = [
        Option(_MEANINGS.get(c, column_in_words(c)), column_in_words(c))
        for c in columns
        if c in COLUMN or c in _MEANINGS
    ]
    return (*named[: _MOST_OPTIONS - 1], Option("none of these: carry it along", NOTHING))


_MEANINGS = {
    "size": "width x depth x height",
    "piece": "your name or number for it",
    "furniture_type": "the kind of piece",
    "bought_on": "the day you bought it",
    "listed_on": "the day you listed it",
    "sold_on": "the day it sold",
    "withdrawn_on": "the day it left unsold",
    "buy_price": "what you paid for it",
    "asking_price": "the first price you asked",
    "last_asking_price": "the last price you asked",
    "price_cuts": "how much came off your first price, cut by cut",
    "sale_price": "what it sold for",
    "materials_cost": "materials used on it",
    "other_costs": "other costs of it",
    "selling_fees": "selling fees",
    "delivery_charged": "delivery the buyer paid",
    "hours": "hands-on hours",
    "outcome": "whether it sold",
    "channel": "where it was sold",
    "wood": "the wood",
    "finish": "the finish",
    "wood_and_finish": "the wood, and behind a comma the finish",
    "notes": "notes",
}
