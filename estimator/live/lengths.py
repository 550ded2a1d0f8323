"""Live answers about lengths: reading them as typed, writing them as a tape reads."""

from __future__ import annotations

from typing import Any, cast

from estimator.errors import InputError
from estimator.live.convert import Block, Cell, cell_by_cell, length_ft, number, plain, word
from estimator.units import UNITS_PER_FT, BareUnit, format_feet_inches


def feet(lengths: Any, bare: Any) -> Block:
    """Lengths as typed, in feet, in the shape of the range; blanks stay blank."""
    unit = cast(BareUnit, word(bare, "unit", tuple(UNITS_PER_FT), "ft"))

    def one(where: str, value: Any) -> Cell:
        return "" if plain(value, where) is None else length_ft(value, where, unit)

    return cell_by_cell(lengths, "lengths", one)


def feet_inches(lengths: Any, parts: Any) -> Block:
    """Feet written as a tape reads, in the shape of the range; blanks stay blank."""
    denominator = number(parts, "parts", 16.0)
    if denominator < 1 or denominator != int(denominator):
        raise InputError(f"{denominator:g} is not a whole number of parts.", where="parts")

    def one(where: str, value: Any) -> Cell:
        if plain(value, where) is None:
            return ""
        return format_feet_inches(number(value, where), int(denominator))

    return cell_by_cell(lengths, "lengths", one)
