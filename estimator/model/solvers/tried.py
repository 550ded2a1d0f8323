"""What is known of candidates of several options, taken apart by option and by candidate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.model.solvers.candidate_axes import Ints, coded, moves, narrow
from estimator.model.solvers.trial import Known
from estimator.values import Values, as_values


@dataclass(frozen=True, slots=True)
class Tried:
    """Values over a grid of candidates, (candidates..., options or 1, rows), by key.

    Args:
        known: The values; one that is the same for all candidates may have no axes for them.
        shape: Number of candidates along each axis.
    """

    known: Known
    shape: tuple[int, ...]

    def moves(self, key: str) -> bool:
        """Whether a value differs between candidates, of any option."""
        return moves(self.known[key])

    def moves_for(self, key: str, option: int) -> bool:
        """Whether a value differs between candidates of one option, by its place here."""
        value = self.of(key, option)
        return moves(value) and moves(narrow(value, len(self.shape)))

    def is_text(self, key: str) -> bool:
        """Whether a value is a text."""
        return self.known[key].dtype.kind == "U"

    def of(self, key: str, option: int) -> Values:
        """The values of one option, its axis kept."""
        value = self.known[key]
        at = min(option, value.shape[-2] - 1)
        return as_values(value[..., at : at + 1, :])

    def fixed(self, key: str, option: int) -> NDArray[Any]:
        """The rows of a value that is the same for all candidates."""
        array = np.asarray(self.of(key, option))
        return array.reshape(array.shape[-1])

    def at(self, key: str, option: int, places: Ints) -> Values:
        """The value at some places on the grid.

        Args:
            key: Of which value.
            option: Of which option, by its place here.
            places: Places, (..., axes of the grid).

        Returns:
            (..., 1, rows); (1, rows) where the value is the same for all candidates.
        """
        array = np.asarray(self.of(key, option))
        if array.ndim == 2:
            return as_values(array)
        on = tuple(
            places[..., axis] if array.shape[axis] > 1 else 0 for axis in range(len(self.shape))
        )
        return as_values(array[on])

    def codes(self, keys: Sequence[str], option: int, places: Ints) -> Ints:
        """A number for each different content of some values together, (places,)."""
        codes = np.zeros((len(places), 1), dtype=np.int64)
        if keys:
            columns = [coded(self.of(key, option), len(self.shape)) for key in keys]
            codes = np.stack([_spread(column, places) for column in columns], axis=-1)
        _, code = np.unique(codes, axis=0, return_inverse=True)
        return np.asarray(code, dtype=np.int64).reshape(-1)


def _spread(codes: Ints, places: Ints) -> Ints:
    on = tuple(places[:, axis] if n > 1 else 0 for axis, n in enumerate(codes.shape))
    return np.broadcast_to(codes[on], (len(places),))
