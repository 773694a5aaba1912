"""One rule which command answers what about a piece: `piece` what happened, `price --piece` what to ask, `today` what
is due. Each of the three names the other two."""

from __future__ import annotations

import re
from collections.abc import Mapping

_ANSWERS: Mapping[str, str] = {
    "piece": "what happened: fleetlib piece {name}",
    "price": "what to ask: fleetlib price --piece {name}",
    "today": "what is due: fleetlib today",
}


def others_answer(command: str, name: str = "NAME") -> str:
    """The sentence with which `command` names the other two, for the piece `name`."""
    said = [a.format(name=quoted(name)) for c, a in _ANSWERS.items() if c != command]
    sentence = "; ".join(said)
    return f"{sentence[0].upper()}{sentence[1:]}."


def quoted(word: object) -> str:
    """A word of a command as one would type it, in quotes where a terminal would take it for several."""
    text = str(word)
    return text if re.fullmatch(r"[\w./\\:~+-]+", text) else f'"{text}"'
