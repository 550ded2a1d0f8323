"""Lengths as a tape reads, written by live formulas: feet, inches and sixteenths."""

from __future__ import annotations

import numpy as np

from estimator.formula import Node, Ref, as_node
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join

SIXTEENTHS = 16


def tape(length_in: Q) -> Q:
    """A length in inches as a text such as ``15 ft 7 7/16 in``, to the nearest sixteenth.

    Reads as ``units.format_feet_inches`` writes; a negative length has one leading minus. The
    expression keeps the length itself too, for a workbook whose tapes read otherwise.
    """
    size = np.absolute(length_in) + 0.5 / SIXTEENTHS
    feet = np.floor(size / IN_PER_FT)
    inches = np.floor(size) - IN_PER_FT * feet
    parts = np.floor(SIXTEENTHS * size) - SIXTEENTHS * np.floor(size)
    text = join(
        np.where(length_in + 0.5 / SIXTEENTHS <= 0, "-", ""),
        np.where(feet > 0, join(feet, " ft "), ""),
        np.where((inches == 0) & (parts > 0), "", join(inches, "")),
        np.where((inches > 0) & (parts > 0), " ", ""),
        _fraction(parts),
        " in",
    )
    if isinstance(length_in, Ref):
        spelled = as_node(text)
        nodes = (spelled, length_in.node)
        return Ref(Node("tape", nodes, None, "text", spelled.axis, spelled.by_option))
    return text


def _fraction(parts: Q) -> Q:
    """Sixteenths in lowest terms; nothing for 0."""
    quarters = np.where(parts == 8, "1/2", join(parts / 4, "/4"))
    eighths = np.where(parts / 4 == np.floor(parts / 4), quarters, join(parts / 2, "/8"))
    even = parts / 2 == np.floor(parts / 2)
    return np.where(parts == 0, "", np.where(even, eighths, join(parts, "/16")))
