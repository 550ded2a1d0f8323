"""What rows and solvers came to once, for a time in which most of what they read is as it was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.values import Values

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Before:
    """What came of a trial once, for one in which most is as it was.

    Args:
        known: Values by key.
        answered: By solver, which candidates it had an answer for.
    """

    known: Mapping[str, Values]
    answered: Mapping[str, Bools]

    def again(self, key: str, value: Values) -> Values:
        """The very value there was, where it is the same to the last bit; else the new one."""
        old = self.known.get(key)
        if old is None or old is value:
            return value
        same = old.dtype == value.dtype and old.shape == value.shape
        return old if same and old.tobytes() == value.tobytes() else value

    def holds(self, reads: Sequence[str], known: Mapping[str, Values]) -> bool:
        """Whether something was worked out from the very same."""
        return bool(reads) and all(
            key in self.known and known[key] is self.known[key] for key in reads
        )
