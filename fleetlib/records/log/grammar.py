"""One line in the trade's own words -> one event, or what is missing; nothing is guessed.

    ENTRY  =  WHAT NAME [AMOUNT] [cells] [at PLACE] [DAY] [: note]

    bought A-113 for 80 furniture_type=dresser wood=oak yesterday
    worked A-113 45 min sand                     cost A-113 12.50 paint
    listed A-113 at 450                          marked down A-113 to 420
    offer A-113 380                              offer refused A-113
    deposit A-113 50                             backed out A-113 keeping 20
    sold A-113 for 420 at the market yesterday   returned A-113 giving back 400
    refund A-113 30: a scratch                   touch-up A-113 20 min
    split A-113 into A-113a A-113b by 60 40      joined A-1 A-2 as A-3

What is bought for all pieces together goes to supplies.csv, shared by the hours worked unless it says otherwise:

    supplies 25.40 sandpaper yesterday           supplies 120 rent of the bay shared by pieces
    tool 180 orbital sander                      (a tool is shared by none: it outlasts the piece)

A name of several words stands in quotes, or is the whole name of a piece on record. DAY is today (when left
out), yesterday, `3 days ago`, a weekday (the last one before today; `last friday` where today is a Friday) or
`on 2026-09-30`. Cells say more, as `wood=oak`, or `finish=oil` when it is finished (which a line takes: `cells.py`);
a value of several words stands in quotes. After a colon everything is a note. A word that has no place in this is
refused, never skipped.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetlib.base.errors import BadQuestion
from fleetlib.base.money import format_money
from fleetlib.base.settings import WEEKDAYS
from fleetlib.records.log.apply_events import step_of
from fleetlib.records.log.cells import cells_of, with_details
from fleetlib.records.log.side_files import EVENTS, NEED_AMOUNT, SHARES
from fleetlib.records.parsing.amounts import read_hours, read_money
from fleetlib.records.parsing.said_days import said_day
from fleetlib.records.schema.columns import STEPS

_NOT_TYPED = ("undo", "timer_started", "timer_stopped")
# The words an entry may begin with, longest first; the event's own name always does too.
VERBS: dict[str, str] = {
    "marked down": "asking_price",
    "asking": "asking_price",
    "asked": "asking_price",
    "worked": "hours",
    "spent": "cost",
    "enquiry about": "enquiry",
    "offer for": "offer",
    "deposit on": "deposit",
    "buyer backed out of": "backed_out",
    "buyer backed out": "backed_out",
    "backed out of": "backed_out",
    "part refund": "refund",
    "touch-up": "touch_up",
    "taken off the market": "off_market",
    "gave away": "given_away",
    **{name.replace("_", " "): name for name in EVENTS if name not in _NOT_TYPED},
}
_ORDERED = sorted(VERBS, key=lambda v: -len(v))
_TIMED = ("hours", "touch_up")
_TOKEN = re.compile(r"""[\w]+=(?:"[^"]*"|\S+)|"[^"]*"|\S+""")
_FOR_ALL = ("supplies", "supply", "tool", "tools")
_BEFORE_AMOUNT = ("for", "at", "to", "of", "keeping", "giving", "back")


INBOX = "inbox "  # begins the mark of a line of inbox.txt that was logged, at the end of the note


def without_mark(note: str) -> str:
    """A note without the mark that its line of inbox.txt left there."""
    return "; ".join(
        part for part in note.split("; ") if not re.fullmatch(rf"{INBOX}[0-9a-f]{{8}}", part)
    )


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as understood, ready for `append_event`; `amount` is money or hours."""

    on: date
    piece: str
    event: str
    amount: float | None
    note: str

    def said(self, currency: str = "USD") -> str:
        """The entry read back: `A-113: sold, $420.00, on Monday 2026-09-28 (channel=market)`."""
        parts = [self.event.replace("_", " ")]
        if self.amount is not None:
            timed = self.event in _TIMED
            parts.append(
                f"{self.amount * 60:.0f} minutes"
                if timed
                else format_money(self.amount, currency, cents=True)
            )
        day = WEEKDAYS[self.on.weekday()]
        told = without_mark(self.note)
        note = f" ({told})" if told else ""
        return f"{self.piece}: {', '.join(parts)}, on {day} {self.on}{note}"


@dataclass(frozen=True, slots=True)
class Supply:
    """One row of supplies.csv as understood; `shared_by` is hours, pieces or none."""

    on: date
    item: str
    cost: float
    shared_by: str

    def said(self, currency: str = "USD") -> str:
        """The row read back: `for all pieces: sandpaper, $25.40, on Monday 2026-09-28 (shared by hours)`."""
        day = WEEKDAYS[self.on.weekday()]
        money = format_money(self.cost, currency, cents=True)
        item = without_mark(self.item)
        return f"for all pieces: {item}, {money}, on {day} {self.on} (shared by {self.shared_by})"


def read_line(
    line: str, *, today: date, currency: str = "USD", names: Sequence[str] = ()
) -> Entry | Supply:
    """What `line` says, an entry about a piece or a row of supplies; `names` of several words need no quotes.

    Raises BadQuestion as `read_entry`.
    """
    first = line.strip().casefold().split(" ")[0]
    if first not in _FOR_ALL:
        return read_entry(_in_quotes(line, names), today=today, currency=currency)
    words = [w.strip('"') for w in _TOKEN.findall(line)][1:]
    on, words = _day(words, today)
    shared_by = "none" if first.startswith("tool") else "hours"
    low = [w.casefold() for w in words]
    if low[-3:-1] == ["shared", "by"]:
        shared_by, words = low[-1], words[:-3]
        if shared_by not in SHARES:
            raise BadQuestion(f'"{shared_by}" is no way to share. Use one of: {", ".join(SHARES)}.')
    amounts = [w for w in words if re.fullmatch(r"[^\w\s]?\d[\d.,]*", w)]
    if len(amounts) != 1:
        raise BadQuestion(f"{first}: write one amount, as: {first} 25.40 sandpaper")
    cell = read_money(amounts, currency=currency)[0]
    if cell.refused or cell.value is None:
        raise BadQuestion(f'"{amounts[0]}" {cell.why or "is no amount"}.')
    words.remove(amounts[0])
    while words and words[0].casefold() in _BEFORE_AMOUNT:
        words = words[1:]
    item = " ".join(words)
    if not item:
        raise BadQuestion(f"{first}: for what? Write what was bought after the amount.")
    return Supply(on, item, float(cell.value), shared_by)


def _in_quotes(line: str, names: Sequence[str]) -> str:
    """The line with the longest of `names` that follows its first words put in quotes, if it stands in none."""
    verb = next((v for v in _ORDERED if re.match(rf"\s*{re.escape(v)}\s", line, re.IGNORECASE)), "")
    rest = line.strip()[len(verb) :].strip()
    for name in sorted(names, key=len, reverse=True):
        if verb and re.match(rf"{re.escape(name)}(?=\s|:|$)", rest, re.IGNORECASE):
            return f'{verb} "{name}"{rest[len(name) :]}'
    return line


def read_entry(line: str, *, today: date, currency: str = "USD") -> Entry:  # noqa: C901 - one refusal for each thing a line can lack
    """The entry that `line` says; see the module. Raises BadQuestion, saying what is missing or not understood."""
    body, _, note = _split_note(line)
    text = " ".join(body.split())
    if not text:
        raise BadQuestion(
            "The line is empty. Write it like: sold A-113 for 420 at the market yesterday"
        )
    verb = next((v for v in _ORDERED if re.match(rf"{re.escape(v)}(?!\S)", text.casefold())), "")
    if not verb:
        raise BadQuestion(
            f'"{text.split()[0]}" begins no entry. Begin with one of: {", ".join(sorted([*VERBS, *_FOR_ALL]))}.'
        )
    event = VERBS[verb]
    words = _TOKEN.findall(text[len(verb) :])
    if not words:
        raise BadQuestion(f'Which piece was {verb}? Write its name after "{verb}".')
    piece = words.pop(0).strip('"')
    if not piece or piece.casefold() in (*_BEFORE_AMOUNT, "today", "yesterday", "on"):
        raise BadQuestion(f'The piece is missing: write its name after "{verb}".')
    on, words = _day(words, today)
    cells, words = _cells(words, event)
    if event in ("split", "joined"):
        piece, told = _regrouped(event, piece, words)
        return Entry(on, piece, event, None, "; ".join(t for t in (told, note) if t))
    amount, words = _amount(words, event, currency)
    if event in _TIMED or event == "cost":
        step = " ".join(words)
        if event == "hours" and words and not (len(words) == 1 and step_of(step) in STEPS):
            raise BadQuestion(f'"{step}" is no step of the work. Use one of: {", ".join(STEPS)}.')
        note, words = "; ".join(t for t in (step, note) if t), []
    if words[:1] == ["at"] and event == "sold":
        place = " ".join(w.strip('"') for w in words[1:] if w != "the")
        if not place:
            raise BadQuestion('"at" where? Write the place after it, or leave "at" out.')
        cells["channel"], words = place, []
    if words:
        raise BadQuestion(
            f'"{" ".join(words)}" has no place in a line about {verb}. A note goes after a colon, at the end.'
        )
    if amount is None and (event in NEED_AMOUNT or event == "sold"):
        unit = "how long? Write 45 min or 1.5 h" if event in _TIMED else "the amount is missing"
        raise BadQuestion(f"{piece} {verb}: {unit}. It is {EVENTS[event]}.")
    if event == "bought" and "furniture_type" not in cells:
        raise BadQuestion(f"{piece} bought: what is it? Add furniture_type=dresser, or what it is.")
    return Entry(on, piece, event, amount, with_details(cells, note))


def _regrouped(event: str, piece: str, words: list[str]) -> tuple[str, str]:
    """The piece that the entry is about, and its note: `into A-1a, A-1b by 60, 40`, or `of A-1, A-2`."""
    rest = [w.strip('",') for w in words if w.casefold() not in ("and", ",")]
    low = [w.casefold() for w in rest]
    if any(set(",;") & set(name) for name in (piece, *rest)):
        raise BadQuestion("A name with a comma or a semicolon in it cannot be split or joined.")
    if event == "split":
        by = low.index("by") if "by" in low else len(rest)
        names, shares = rest[1:by], rest[by + 1 :]
        if low[:1] != ["into"] or len(names) < 2:
            raise BadQuestion(
                f"{piece} split: into what? Write: split {piece} into {piece}a {piece}b"
            )
        if "by" in low and len(shares) != len(names):
            raise BadQuestion(
                f'Write one share a piece after "by": {len(names)} pieces, {len(shares)} shares.'
            )
        odd = [s for s in shares if not re.fullmatch(r"\d+(?:\.\d+)?", s) or float(s) == 0]
        if odd:
            raise BadQuestion(f'"{odd[0]}" is no share. Write numbers above 0, such as: by 60 40')
        told = f"into {', '.join(names)}"
        return piece, f"{told} by {', '.join(shares)}" if shares else told
    at = low.index("as") if "as" in low else -1
    if at < 1 or len(rest) != at + 2:
        raise BadQuestion(f"{piece} joined: with what, as what? Write: joined {piece} A-2 as A-3")
    return rest[at + 1], f"of {', '.join([piece, *rest[:at]])}"


def _split_note(line: str) -> tuple[str, str, str]:
    at = re.search(r":(?:\s|$)", line)
    return (line[: at.start()], ":", line[at.end() :].strip()) if at else (line, "", "")


def _day(words: list[str], today: date) -> tuple[date, list[str]]:
    """The one day that the words name, today where they name none; and the other words."""
    found: list[tuple[int, int, date]] = []
    start = 0
    while start < len(words):
        count, on = _day_at(words, start, today)
        if on is not None:
            found.append((start, count, on))
        start += count
    if len(found) > 1:
        raise BadQuestion("The line names two days. Write one entry a line.")
    if not found:
        return today, words
    first, count, on = found[0]
    after = words[first + count : first + count + 1]
    if (
        "at" in words[:first]
        and after
        and re.fullmatch(r"[^\W\d]+", after[0])
        and after[0] not in _BEFORE_AMOUNT
    ):
        named = " ".join(words[first : first + count + 1])
        raise BadQuestion(
            f'Is "{named}" a place or a day? Put a place of several words in quotes, and the day last.'
        )
    if on > today:
        raise BadQuestion(f"{on} is still to come; today is {today}.")
    return on, words[:first] + words[first + count :]


def _day_at(words: list[str], start: int, today: date) -> tuple[int, date | None]:
    """How many words from `start` on say a day, and which; (1, None) where they say none."""
    for count in (3, 2, 1):
        text = " ".join(words[start : start + count])
        cell = said_day(text, today) if start + count <= len(words) else None
        if cell is not None and cell.refused:
            raise BadQuestion(f'"{text}" {cell.why}.')
        if cell is not None:
            return count, date.fromisoformat(str(cell.value))
    count = 2 if words[start].casefold() == "on" else 1
    typed = words[start : start + count][-1]
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", typed):
        return 1, None
    try:
        return count, date.fromisoformat(typed)
    except ValueError:
        raise BadQuestion(f'"{typed}" is no day of the calendar.') from None


def _cells(words: list[str], event: str) -> tuple[dict[str, str], list[str]]:
    """The cells that a line about `event` fills in, and the other words."""
    cells: dict[str, str] = {}
    rest = []
    for word in words:
        name, mark, value = word.partition("=")
        if not mark:
            rest.append(word)
        elif name not in cells_of(event):
            takes = ", ".join(cells_of(event)) or "none"
            raise BadQuestion(
                f'"{name}" is no cell to fill in here. A line about {event.replace("_", " ")} takes: {takes}.'
            )
        elif name in cells:
            raise BadQuestion(f"{name} is given twice.")
        else:
            cells[name] = value.strip('"')
    return cells, rest


def _amount(words: list[str], event: str, currency: str) -> tuple[float | None, list[str]]:
    """The one amount, with the words that may lead it, and what is left."""
    for i, word in enumerate(words):
        if not re.search(r"\d", word):
            continue
        end = i + 1
        if event in _TIMED:
            while end < len(words) and re.fullmatch(
                r"(?:[\d.:]*)(?:h|hr|hrs|hours?|m|min|mins|minutes?)", words[end].casefold()
            ):
                end += 1
            typed = " ".join(words[i:end])
            if not re.search(r"[a-z:]", typed.casefold()):
                raise BadQuestion(f'"{typed}" of what? Write {typed} min or {typed} h.')
            cell = read_hours([typed])[0]
        else:
            typed = word
            cell = read_money([typed], currency=currency)[0]
        if cell.refused or cell.value is None:
            raise BadQuestion(f'"{typed}" {cell.why or "is no amount"}.')
        first = i
        while first and words[first - 1].casefold() in _BEFORE_AMOUNT:
            first -= 1
        rest = words[:first] + words[end:]
        if event not in _TIMED and any(re.fullmatch(r"[^\w]?\d[\d.,]*", w) for w in rest):
            raise BadQuestion("The line has two amounts. Write one entry a line.")
        return float(cell.value), rest
    return None, words
