"""Lengths as a tape reads, written by live formulas: feet, inches and sixteenths."""

from __future__ import annotations

import numpy as np

from estimator.expression import Node, Ref, as_node
from estimator.tape_formula import FRACTIONS, SIXTEENTHS
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, one_of, trimmed


def tape(length_in: Q) -> Q:
    """A length in inches as a text such as ``15 ft 7 7/16 in``, to the nearest sixteenth.

    Reads as ``units.format_feet_inches`` writes; a negative length has one leading minus. The
    expression keeps the length itself too, for a workbook whose tapes read otherwise.
    """
    size = np.absolute(length_in) + 0.5 / SIXTEENTHS
    feet = np.floor(size / IN_PER_FT)
    inches = np.floor(size) - IN_PER_FT * feet
    parts = np.floor(SIXTEENTHS * size) - SIXTEENTHS * np.floor(size)
    words = join(
        np.where(feet > 0, join(feet, " ft"), ""),
        np.where((inches == 0) & (parts > 0), "", join(" ", inches)),
        one_of(FRACTIONS, parts),
        " in",
    )
    text = join(np.where(length_in + 0.5 / SIXTEENTHS <= 0, "-", ""), trimmed(words))
    if isinstance(length_in, Ref):
        spelled = as_node(text)
        nodes = (spelled, length_in.node)
        return Ref(Node("tape", nodes, None, "text", spelled.axis, spelled.by_option))
    return text
