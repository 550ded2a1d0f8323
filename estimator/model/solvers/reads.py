"""What solvers read, as plain numbers and texts: one option, one row at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from estimator.rows import OPTION_KEYS


class Reader(Protocol):
    """Whatever tells numbers, texts and columns of tables, one option at a time."""

    def number(self, key: str, option: int = 0, row: int = 0) -> float:
        """One number."""

    def text(self, key: str, option: int = 0, row: int = 0) -> str:
        """One text."""

    def column(self, key: str, option: int = 0) -> np.ndarray[Any, np.dtype[Any]]:
        """A column of a table, for one option."""


@dataclass(frozen=True, slots=True)
class Reads:
    """The values that a solver was given."""

    values: Mapping[str, Any]

    def options(self) -> Iterator[int]:
        """Column numbers of the options in use, from 0."""
        return (int(o) for o in np.flatnonzero(self._plain("option_used")[:, 0] > 0))

    def number(self, key: str, option: int = 0, row: int = 0) -> float:
        """One number."""
        return float(self._at(key, option, row))

    def text(self, key: str, option: int = 0, row: int = 0) -> str:
        """One text."""
        return str(self._at(key, option, row))

    def column(self, key: str, option: int = 0) -> np.ndarray[Any, np.dtype[Any]]:
        """A column of a table, for one option."""
        array = self._plain(key)
        return np.asarray(array[min(option, array.shape[0] - 1)])

    def _plain(self, key: str) -> np.ndarray[Any, np.dtype[Any]]:
        return np.asarray(self.values[key])

    def _at(self, key: str, option: int, row: int) -> Any:
        array = self._plain(key)
        return array[min(option, array.shape[0] - 1), min(row, array.shape[1] - 1)]


def zeros(rows: int = 1) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Blank numbers for every option."""
    return np.zeros((len(OPTION_KEYS), rows))


def blanks(rows: int = 1) -> np.ndarray[Any, np.dtype[np.object_]]:
    """Blank texts for every option."""
    return np.full((len(OPTION_KEYS), rows), "", dtype=object)


def as_texts(array: np.ndarray[Any, np.dtype[np.object_]]) -> np.ndarray[Any, np.dtype[np.str_]]:
    """Texts as numpy keeps them."""
    return array.astype(str)
