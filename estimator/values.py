"""The engine's numbers: numpy arrays that round and compare as the workbook's formulas do.

A :class:`Values` array has at least two axes: ``(..., options, block)``. A scalar of the job is
``(1, 1)``, one number an option ``(options, 1)``, a column of a table ``(1, rows)``. Scenarios
are leading axes. Reductions run over the last axis alone and keep it, so the same plain numpy
function serves a number, an option row, a table and ten thousand scenarios.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.expression import Ref
from estimator.formula import DUST_DIGITS

_COMPARED = {
    np.equal,
    np.not_equal,
    np.less,
    np.less_equal,
    np.greater,
    np.greater_equal,
}
_LOGICAL = {
    np.bitwise_and: np.logical_and,
    np.bitwise_or: np.logical_or,
    np.invert: np.logical_not,
    np.logical_and: np.logical_and,
    np.logical_or: np.logical_or,
    np.logical_not: np.logical_not,
}
_ZERO = np.asarray(0.0)
_STEPPED = {np.ceil, np.floor}
_ASCII_ENDS, _LARGE_A, _ALPHABET = np.uint32(128), np.uint32(ord("A")), np.uint32(26)
_TO_SMALL = np.uint32(ord("a") - ord("A"))
_REDUCED = {np.sum, np.min, np.max, np.amin, np.amax, np.any, np.all}


class Values(np.ndarray[Any, np.dtype[Any]]):
    """A numpy array under the rules of ``formula.py``."""

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: Any, **kwargs: Any) -> Any:
        plain = []
        for given in inputs:
            if isinstance(given, Ref):  # a number made of constants, in a formula
                return NotImplemented
            plain.append(np.asarray(given))
        if kwargs.get("out") is not None:
            kwargs["out"] = tuple(np.asarray(o) for o in kwargs["out"])
        if method == "__call__":
            if ufunc in _COMPARED:
                plain = _comparable(*plain)
            elif ufunc in _LOGICAL:
                ufunc = _LOGICAL[ufunc]
            else:
                plain = [p.astype(float) if p.dtype.kind in "bui" else p for p in plain]
                if ufunc in _STEPPED:
                    plain = [plain[0].round(DUST_DIGITS)]
        result = getattr(ufunc, method)(*plain, **kwargs)
        return result.view(Values) if isinstance(result, np.ndarray) else as_values(result)

    def __array_function__(
        self, func: Callable[..., Any], types: Any, args: Any, kwargs: Any
    ) -> Any:
        plain = []
        for given in args:
            if isinstance(given, Ref):
                return NotImplemented
            plain.append(_plain(given))
        if func in _REDUCED and len(args) == 1 and not kwargs:
            kwargs = {"axis": -1, "keepdims": True}
        elif kwargs:
            kwargs = {k: _plain(v) for k, v in kwargs.items()}
        result = func(*plain, **kwargs)
        return result.view(Values) if isinstance(result, np.ndarray) else result


def _plain(value: Any) -> Any:
    if isinstance(value, Values):
        return value.view(np.ndarray)
    if isinstance(value, (list, tuple)):
        return type(value)(_plain(v) for v in value)
    return value


def as_values(value: Any) -> Values:
    """A number, text or array as :class:`Values` with at least the option and block axes."""
    array: NDArray[Any] = np.asarray(value)
    if array.dtype == object:
        raise TypeError("mixed types in one quantity")
    while array.ndim < 2:
        array = array[..., np.newaxis]
    return array.view(Values)


def same(a: Any, b: Any) -> NDArray[np.bool_]:
    """Where two arrays are equal as the workbook sees it (text without regard to case)."""
    left, right = _comparable(np.asarray(a), np.asarray(b))
    return np.asarray(left == right)


def _comparable(a: NDArray[Any], b: NDArray[Any]) -> list[NDArray[Any]]:
    """Two arrays that compare as those given do in the workbook: text without regard to case,
    numbers without the dust."""
    if a.dtype.kind in "UT" or b.dtype.kind in "UT":
        return [lower(p.astype(str, copy=False)) for p in (a, b)]
    dust = np.multiply(np.subtract(a, b, dtype=float), 10.0**DUST_DIGITS)
    return [np.rint(dust), _ZERO]


def lower(texts: NDArray[np.str_]) -> NDArray[np.str_]:
    """Texts in small letters.

    numpy goes through them one by one; where all of them are ASCII, as item names are, their
    letters are changed all at once.
    """
    if not texts.size or not texts.dtype.itemsize:
        return texts
    letters = np.ascontiguousarray(texts).reshape(-1).view(np.uint32)
    if letters.max() >= _ASCII_ENDS:
        return np.char.lower(texts)
    large = letters - _LARGE_A < _ALPHABET
    if not large.any():
        return texts
    small = letters + large * _TO_SMALL
    return small.view(texts.dtype).reshape(texts.shape)
