"""Advice: what the models mean for one piece, one style, one quarter.

The questions, each loaded when it is first asked: every one takes `Fits` first and writes nothing.
"""

from importlib import import_module
from typing import Any

_PLACES = {
    "estimate": "estimate",
    "plan": "markdowns",
    "advise": "sheet",
    "advise_all": "sheet",
    "earnings": "earnings",
    "what_next": "work_order",
    "what_to_pay": "buying",
    "best_buys": "best_buys",
    "finish_choice": "finishes",
    "review": "review",
    "last_whole_quarter": "review",
    "accuracy": "accuracy",
}


def ask(question: str, *given: Any, **options: Any) -> Any:
    """Put one `question` of the list above to the function that answers it."""
    return getattr(import_module(f"fleetlib.advice.{_PLACES[question]}"), question)(
        *given, **options
    )
