"""Each word has one meaning, said alike everywhere."""

from pathlib import Path

import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.base.words import WORDS, meaning_of

README = Path(__file__).resolve().parents[2] / "README.md"


def test_a_word_is_explained_as_typed_or_by_a_part_of_it() -> None:
    assert meaning_of("Lowest_Offer").startswith("lowest offer: the least worth taking")
    assert meaning_of("salvage").startswith("salvage value:")


def test_a_word_nobody_explains_names_those_that_are() -> None:
    with pytest.raises(BadQuestion, match=r'"hedonic" is none .* flip, asking price'):
        meaning_of("hedonic")


def test_the_readme_explains_in_the_same_words() -> None:
    text = README.read_text(encoding="utf-8")
    for word in ("flip", "gut price", "comparable sales", "lowest offer", "floor", "salvage value"):
        assert f"| {word} | {WORDS[word]} |" in text
