"""What is worked out for many pieces at once is what each is told by itself."""

from dataclasses import replace

import numpy as np
import pytest

from fleetlib.records.piece import piece_from_row


def test_pieces_told_together_are_told_what_each_is_told_alone(demo_fits) -> None:
    flips = demo_fits.records.flips
    pieces = [piece_from_row(row) for _, row in flips[flips["status"] == "listed"].iterrows()]
    alone, many = replace(demo_fits.prices), replace(demo_fits.prices)
    many.tell_together(pieces)
    assert set(many.told) == set(pieces)
    assert len(pieces) > 5 and not alone.told
    for piece in pieces:
        assert many.usual([piece]) == pytest.approx(alone.usual([piece]), rel=1e-12)
        assert many.doubt(piece) == pytest.approx(alone.doubt(piece), rel=1e-10)
        told, by_itself = many.distribution(piece), alone.distribution(piece)
        assert told.mean == pytest.approx(by_itself.mean, rel=1e-12)
        assert told.interval(0.8) == pytest.approx(by_itself.interval(0.8), rel=1e-10)
        other_days = many.distribution(piece, days=5.0)
        assert other_days.mid == alone.distribution(piece, days=5.0).mid != told.mid
    assert len({round(float(many.usual([p])[0]), 6) for p in pieces}) > 5


def test_one_piece_alone_is_told_as_in_a_list_of_several(demo_fits) -> None:
    flips = demo_fits.records.flips
    pieces = [piece_from_row(row) for _, row in flips[flips["status"] == "listed"].iterrows()][:3]
    fit = replace(demo_fits.prices)
    alone = np.array([fit.usual([p])[0] for p in pieces])
    assert fit.usual(pieces) == pytest.approx(alone, rel=1e-12)
