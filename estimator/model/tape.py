"""Lengths as a tape reads, written by live formulas: feet, inches and sixteenths."""

from __future__ import annotations

import numpy as np

from estimator.expression import Node, Ref, as_node
from estimator.tape_formula import SIXTEENTHS, fractions
from estimator.units import IN_PER_FT
from estimator.vocabulary import Q, join, one_of, trimmed


def tape(length_in: Q, parts: int = SIXTEENTHS, *, headed: bool = False) -> Q:
    """A length in inches as a text such as ``15 ft 7 7/16 in``, to the nearest sixteenth.

    Reads as ``units.format_feet_inches`` writes; a negative length has one leading minus. The
    expression keeps the length itself too, for a workbook whose tapes read otherwise.

    Args:
        length_in: The length.
        parts: Into how many an inch is parted: 16, or fewer where nobody works so close.
        headed: Whether the heading of its column says the unit, where it has one alone: feet and
            inches are told all the same, millimetres are not.
    """
    return _told(length_in, parts, feet=True, headed=headed)


def inches(length_in: Q, parts: int = SIXTEENTHS, *, headed: bool = False) -> Q:
    """A length as :func:`tape` tells it, but in inches alone: ``19 1/2 in`` of a trench, and
    ``19 1/2`` where the heading of its column says the unit."""
    return _told(length_in, parts, feet=False, headed=headed)


def _told(length_in: Q, parts: int, *, feet: bool, headed: bool) -> Q:
    size = np.absolute(length_in) + 0.5 / parts
    above = np.floor(size / IN_PER_FT) if feet else 0 * np.floor(size)
    whole = np.floor(size) - IN_PER_FT * above
    over = np.floor(parts * size) - parts * np.floor(size)
    words = join(
        np.where(above > 0, join(above, " ft"), ""),
        np.where((whole == 0) & (over > 0), "", join(" ", whole)),
        one_of(fractions(parts), over),
        "" if headed and not feet else " in",
    )
    text = join(np.where(length_in + 0.5 / parts <= 0, "-", ""), trimmed(words))
    if isinstance(length_in, Ref):
        spelled = as_node(text)
        nodes = (spelled, length_in.node)
        how = f"{parts} {'feet' if feet else 'inches'} {'headed' if headed else 'alone'}"
        return Ref(Node("tape", nodes, how, "text", spelled.axis, spelled.by_option))
    return text
