"""The job's inputs: what may be typed where, and how it is read and refused.

A :class:`Field` says what one input is; the model's input sheets are lists of them. The same
field is checked twice: here, with a sentence that names sheet and cell, and in the workbook by a
live formula and a validation rule written from the same limits.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from estimator.errors import InputError, in_quotes
from estimator.expression import Kind
from estimator.units import UNITS_PER_FT, BareUnit, parse_length

InputKind = Literal["length", "number", "whole", "share", "choice", "text", "date", "key"]

DATE_ORIGIN = dt.date(1899, 12, 30)
"""Day 0 of the spreadsheet's calendar (dates after February 1900)."""

_BARE_UNITS: Mapping[str, BareUnit] = {"ft": "ft", "in": "in", "m": "m", "mm": "mm"}
_EXAMPLES: Mapping[str, str] = {
    "ft": "12, 12' 6\" or 3.8 m",
    "in": "6, 5 1/2 or 15 cm",
    "m": "3.6, 3,6 or 360 cm",
    "mm": "150, 15 cm or 0.15 m",
}
MOST_SEARCHED = 255
"""Letters of the longest text that spreadsheets find in a column."""
_BARE = re.compile(r"[\d.,]+")
_MANY = 1e6  # from here on six digits are not the whole number
_ABSURD = 1e300  # past it a whole number may not even fit a float


@dataclass(frozen=True, slots=True)
class Field:
    """One input.

    Args:
        key: Name of the quantity. A length's key ends in ``_ft``, ``_in``, ``_m`` or ``_mm``: the
            unit of a bare number and of the value.
        kind: ``length`` as builders type it; ``share`` a fraction shown as percent; ``choice``
            one of ``choices``; ``key`` a key of the column ``refers``; ``date`` a calendar day.
        default: What a new workbook holds, read as if it were typed; None leaves the cell blank.
        low, high: Limits, both included.
        zero: Whether 0 is taken too, for none: what lies between it and ``low`` is of another unit.
        choices: Allowed texts of a choice.
        refers: Key of the table column that a ``key`` input must name an entry of.
        by_key: Key of the column beside the names of lines, by whose entries files may choose a
            line too; the cell then holds the line's name. Empty: by name alone.
        among: Key of a column and its entry in the lines that the workbook lists to choose from;
            empty: all lines.
        labels: Key of the column beside a text whose word says what the workbook lists to choose
            from, and, by its words in order, the column of these names or an input of the sheet
            whose labels of inputs they are; further words take the last.
        unlike: Key of the column that names the lines of its table: no entry of this column may
            stand twice in the two. Empty: entries may repeat.
        needed: Whether a blank is refused. A blank that is allowed reads as 0 or "".
        absent: What a blank reads as where 0 is an answer: a number that nobody may type.
        when_blank: What a blank means, in words, where it is more than that it may be.
        kinds: Option kinds that use the field; empty means all.
        stands_for: Word of labels and units in whose place the workbook shows what is typed here.
        note: Help shown beside the cell and by the validation message.
    """

    key: str
    label: str
    unit: str = ""
    kind: InputKind = "number"
    default: float | str | dt.date | None = None
    low: float = 0.0
    high: float = 1e6
    zero: bool = False
    choices: tuple[str, ...] = ()
    refers: str = ""
    by_key: str = ""
    among: tuple[str, str] | tuple[()] = ()
    labels: tuple[str, tuple[str, ...]] | tuple[()] = ()
    unlike: str = ""
    needed: bool = True
    absent: float = 0.0
    when_blank: str = ""
    kinds: tuple[str, ...] = ()
    stands_for: str = ""
    note: str = ""
    fmt: str = "0.###"

    def __post_init__(self) -> None:
        """Refuse a length whose key ends in another unit, and a default that nobody may type.

        Raises:
            InputError: Naming the key.
        """
        ends_in = self.key.rpartition("_")[2]
        if self.kind == "length" and (ends_in not in _BARE_UNITS or self.unit not in ("", ends_in)):
            raise InputError(
                "a length's key ends in _ft, _in, _m or _mm, its unit.",
                where=f"input {self.key}",
                cure="A bare number is read in that unit.",
            )
        if self.default is not None and self.kind != "key":
            read(self, self.default, f"the default of {self.key}")

    @property
    def value_kind(self) -> Kind:
        """Kind of the quantity that the field becomes."""
        return "text" if self.kind in ("choice", "text", "key") else "number"

    @property
    def bare_unit(self) -> BareUnit:
        """Unit of a length typed without one."""
        return _BARE_UNITS.get(self.key.rpartition("_")[2], "ft")

    @property
    def blank(self) -> float | str:
        """What an allowed blank reads as."""
        return "" if self.value_kind == "text" else self.absent


def read(
    field: Field,
    typed: Any,
    where: str,
    known: frozenset[str] = frozenset(),
    offered: Sequence[str] = (),
) -> float | str:
    """The value of an input as typed.

    Args:
        field: What the input is.
        typed: Cell or file content: number, text, date, truth value or None.
        where: Sheet and cell, or file and line, for the message.
        known: Entries that a ``key`` input may name.
        offered: Those of them that a message tells; empty: all.

    Returns:
        The number in the field's unit (a date as its day number), or the canonical text.

    Raises:
        InputError: One sentence: what, where, cure.
    """
    if typed is None or (isinstance(typed, str) and not typed.strip()):
        if field.needed:
            raise InputError(
                f"{field.label} is blank.", where=where, cure=f"Type {_wanted(field)}."
            )
        return field.blank
    if field.value_kind == "text":
        return _read_text(field, typed, where, known, offered)
    if isinstance(typed, (int, float)) and not abs(typed) < _ABSURD:
        raise InputError(
            f"{field.label} is no number that can be used.",
            where=where,
            cure=f"Type {_wanted(field)}.",
        )
    value = (
        _read_date(field, typed, where) if field.kind == "date" else _number(field, typed, where)
    )
    if field.kind == "whole" and value != int(value):
        raise InputError(
            f"{field.label} is {value:g}, not a whole number.",
            where=where,
            cure=f"Type {_wanted(field)}.",
        )
    if not (field.low <= value <= field.high or (field.zero and value == 0)):
        or_zero = ", or be 0" if field.zero else ""
        raise InputError(
            f"{field.label} is {shown(field, value)}; it must lie between"
            f" {shown(field, field.low)} and {shown(field, field.high)}{or_zero}.",
            where=where,
            cure=_other_unit(field, typed) or "Check the number and its unit.",
        )
    return value


def day(typed: Any) -> Any:
    """A date as a cell holds it: its day number, from a date or from a text such as 2026-05-01.

    Anything else stays as it is, for :func:`read` to refuse.
    """
    if isinstance(typed, str):
        try:
            typed = dt.date.fromisoformat(typed)
        except ValueError:
            return typed
    return (
        float(typed.toordinal() - DATE_ORIGIN.toordinal()) if isinstance(typed, dt.date) else typed
    )


def words(typed: Any) -> str:
    """A typed text or number as a text, without spaces around it; "" for None."""
    if typed is None:
        return ""
    return (f"{typed:.15g}" if isinstance(typed, float) else str(typed)).strip()


def _number(field: Field, typed: Any, where: str) -> float:
    if field.kind == "length":
        try:
            feet = parse_length(typed, field.bare_unit)
        except InputError as error:
            raise InputError(f"{field.label}: {error.what}", where=where, cure=error.cure) from None
        unit = field.bare_unit
        return feet if unit == "ft" else round(feet * UNITS_PER_FT[unit], 12)
    if isinstance(typed, bool) or not isinstance(typed, (int, float)):
        shown = f"the text {in_quotes(typed)}" if isinstance(typed, str) else f"{typed}"
        raise InputError(
            f"{field.label} holds {shown} where a number belongs.",
            where=where,
            cure=f"Type {_wanted(field)}.",
        )
    return float(typed)


def _read_date(field: Field, typed: Any, where: str) -> float:
    number = day(typed)
    if isinstance(number, (int, float)) and not isinstance(number, bool):
        return float(int(number))
    raise InputError(
        f"{field.label} holds {in_quotes(typed)}, which is not a date.",
        where=where,
        cure="Type a date such as 2026-05-01.",
    )


def _read_text(
    field: Field, typed: Any, where: str, known: frozenset[str], offered: Sequence[str]
) -> str:
    if isinstance(typed, (list, dict)):
        raise InputError(
            f"{field.label} holds a list where one text belongs.",
            where=where,
            cure=f"Type {_wanted(field)}.",
        )
    text = words(typed)
    if any(c < " " and c not in "\t\n\r" for c in text):
        raise InputError(
            f"{field.label} holds a sign that can't be shown.",
            where=where,
            cure=f"Type {_wanted(field)}.",
        )
    if field.kind == "text":
        return text
    allowed = field.choices if field.kind == "choice" else tuple(sorted(known))
    for entry in allowed:
        if entry.casefold() == text.casefold():
            return entry
    told = tuple(offered) or allowed
    if not told:
        raise InputError(
            f"{field.label}: {in_quotes(text)} is not known, and there is none yet.",
            where=where,
            cure="Type it in its own table first, or clear this entry.",
        )
    from difflib import get_close_matches  # long to load, and asked of a mistyped entry alone

    listed = ", ".join(told[:12]) + (", ..." if len(told) > 12 else "")
    near = get_close_matches(text, told, 1) if field.kind == "key" else ()
    nearest = f' Nearest is "{near[0]}": was it renamed?' if near else ""
    raise InputError(
        f"{field.label}: {in_quotes(text)} is not known.",
        where=where,
        cure=f"Use one of: {listed}.{nearest}",
    )


def _wanted(field: Field) -> str:
    if field.kind == "length":
        return f"a length such as {_EXAMPLES[field.bare_unit]}"
    if field.kind == "choice":
        return "one of: " + ", ".join(field.choices)
    if field.kind == "date":
        return "a date such as 2026-05-01"
    if field.kind == "key":
        return "a name from the list"
    if field.kind == "text":
        return "a few words"
    limits = f"{shown(field, field.low)} and {shown(field, field.high)}"
    return f"a number between {limits}{', or 0' if field.zero else ''}"


def _other_unit(field: Field, typed: Any) -> str:
    """What to type where a length stands without a unit and another may have been meant."""
    bare = words(typed)
    if field.kind != "length" or not _BARE.fullmatch(bare):
        return ""
    return f"A bare {bare} is {bare} {field.bare_unit}: type its unit if it has another."


def shown(field: Field, value: float) -> str:
    """A number in the field's unit, in words."""
    if field.kind == "share":
        return f"{value:.4g} ({value:.0%})"
    return f"{value:{'g' if abs(value) < _MANY else '.12g'}} {field.unit}".strip()


Cell = tuple[str, int]
"""Key of an input and the place in it: option number or row, from 0."""


@dataclass(frozen=True, slots=True)
class TypedJob:
    """What was typed: cell by cell, with where it stands for messages.

    Args:
        cells: Typed value by (key, option or row number from 0); absent means blank.
        where: Sheet and cell, or file and line, of a cell.
    """

    cells: Mapping[Cell, Any]
    where: Callable[[str, int], str]
