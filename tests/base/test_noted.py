"""Notes that others act on carry a code; a sentence that only looks like one does not."""

from fleetlib.base.noted import Noted, coded


def test_a_note_is_found_by_its_code_whatever_its_words() -> None:
    noted = Noted("Any words at all.", "unread leaving")
    notes = ["A day of leaving was typed but could not be read.", noted]
    assert coded(notes, "unread leaving") == [noted]
    assert coded(notes, "no sale prices") == []
    assert str(noted) == "Any words at all." and noted == "Any words at all."
