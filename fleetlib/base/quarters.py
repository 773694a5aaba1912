"""Calendar quarters: `2026-Q3` is July to September 2026."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from fleetlib.base.errors import BadQuestion


@dataclass(frozen=True, slots=True, order=True)
class Quarter:
    """One calendar quarter, `number` 1 to 4."""

    year: int
    number: int

    def __post_init__(self) -> None:
        if self.number not in (1, 2, 3, 4) or not 1900 <= self.year <= 2999:
            raise BadQuestion(
                f"There is no quarter {self.year}-Q{self.number}. Write it as 2026-Q3."
            )

    @property
    def start(self) -> date:
        """Its first day."""
        return date(self.year, 3 * self.number - 2, 1)

    @property
    def end(self) -> date:
        """Its last day."""
        return self.next().start - timedelta(days=1)

    def next(self) -> Quarter:
        """The quarter after it."""
        return self._moved(1)

    def previous(self) -> Quarter:
        """The quarter before it."""
        return self._moved(-1)

    def year_before(self) -> Quarter:
        """The same quarter one year earlier."""
        return self._moved(-4)

    def _moved(self, by: int) -> Quarter:
        count = 4 * self.year + self.number - 1 + by
        return Quarter(count // 4, count % 4 + 1)

    def __str__(self) -> str:
        return f"{self.year}-Q{self.number}"


def read_quarter(text: str) -> Quarter:
    """`2026-Q3`, `2026Q3`, `q3 2026` or `2026-3` as a Quarter. Raises BadQuestion for anything else."""
    tidy = str(text).strip().upper()
    found = re.fullmatch(r"(\d{4})[\s-]*Q?\s*([1-4])", tidy)
    if found:
        return Quarter(int(found[1]), int(found[2]))
    turned = re.fullmatch(r"Q\s*([1-4])[\s-]*(\d{4})", tidy)
    if turned:
        return Quarter(int(turned[2]), int(turned[1]))
    raise BadQuestion(
        f'"{text}" is not a quarter. Write the year and the quarter, such as 2026-Q3.'
    )


def quarter_of(day: date) -> Quarter:
    """The quarter that holds `day`."""
    return Quarter(day.year, (day.month + 2) // 3)
