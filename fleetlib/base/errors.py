"""Every deliberate refusal, one small tree.

Each message says what was wrong, what was found and how to mend it, in the owner's words. Each class
is also the builtin exception a caller would guess, so `except ValueError` works without this module.
"""


class FleetError(Exception):
    """Any refusal fleetlib makes on purpose; the command line and notebooks show it as one sentence."""

    def _render_traceback_(self) -> list[str]:
        """What IPython shows instead of the lines of code the refusal came through."""
        return [str(self)]


class BadRecords(FleetError, ValueError):
    """A file that is there but cannot be read as records."""


class MissingRecords(FleetError, FileNotFoundError):
    """A folder or file that is not where it was said to be."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class BadSettings(FleetError, ValueError):
    """A settings file with an unknown key, a wrong kind of value or one out of bounds."""


class BadQuestion(FleetError, ValueError):
    """A question that cannot be answered as asked: an impossible level, a find without a type."""


class UnknownPiece(FleetError, LookupError):
    """A piece name that is not in the records."""


class TooFewSales(FleetError, ValueError):
    """Fewer past sales than the answer needs."""


class CannotSave(FleetError, OSError):
    """A file that would be overwritten, or a place that cannot be written to."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""
