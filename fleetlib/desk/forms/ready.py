"""Advice worked out before it is asked for: while the page opens, and as soon as a piece is chosen."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterable
from dataclasses import replace
from typing import Any
from weakref import WeakKeyDictionary

from fleetlib.desk.forms.layout import ShopFront
from fleetlib.records.piece import Piece


class Ready:
    """The advice on pieces as the price form shows them, until the records are read again."""

    def __init__(self, shop: ShopFront) -> None:
        self._shop = shop
        self._lock = threading.Lock()
        self._fits: Any = None
        self._held: dict[Piece, Any] = {}
        self.ahead = False  # whether to work ahead at all: on the weekly page only

    def advise(self, piece: Piece) -> Any:
        """The advice on `piece`: held, or worked out now."""
        with self._lock:
            if self._fits is not self._shop.fits:
                self._fits = self._shop.fits
                self._held.clear()
            if piece not in self._held:
                self._held[piece] = self._shop.advise(piece)
            return self._held[piece]

    def soon(self, pieces: Iterable[Piece]) -> None:
        """Work out the advice on `pieces` beside what the page does; what goes wrong is said when it is asked for."""
        if self.ahead:
            threading.Thread(target=self._work, args=(pieces,), daemon=True).start()

    def _work(self, pieces: Iterable[Piece]) -> None:
        with contextlib.suppress(Exception):
            with self._lock:
                _ = self._shop.fits
            advised = [self.advise(piece) for piece in pieces]
            for advice in advised:
                _ = advice.plan.what_ifs  # shown last, under what is folded away


_READY: WeakKeyDictionary[Any, Ready] = WeakKeyDictionary()


def ready(shop: ShopFront) -> Ready:
    """What is held ready for this shop."""
    return _READY.setdefault(shop, Ready(shop))


def as_filled_in(piece: Piece) -> Piece:
    """A piece of the record as the fields give it back: one that says nothing of its number is one piece."""
    return replace(piece, pieces_in_lot=piece.pieces_in_lot or 1.0)
