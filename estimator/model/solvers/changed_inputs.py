"""Inputs that a what-if changes: found by the name that a person reads, read as their own cell is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.engine import Model
from estimator.errors import InputError, in_quotes
from estimator.inputs import DATE_ORIGIN, Field, read, shown
from estimator.keys import KIND
from estimator.model.money import CURRENCY
from estimator.model.options import OPTIONS
from estimator.model.prices import NAME, PRICE
from estimator.model.solvers.reads import Reads
from estimator.model.what_if import LINES, OPTION, PRICES, WHERE
from estimator.rows import OPTION_KEYS, Quantity
from estimator.values import Values, as_values

CHANGE_READS = ("change_case", "change_where", "change_input", "change_value")
BLANK = "blank"
"""What is typed as a value to try a blank."""
_ALIKE = 0.5
"""How like a name without a word in common must be to be told for one that is not known, of 1."""


def changeable(quantities: Mapping[str, Quantity]) -> Iterator[str]:
    """Keys of the inputs that a what-if may change: single ones of the sheets offered, prices."""
    for key, item in quantities.items():
        single = item.axis is None and item.sheet in (*WHERE, OPTIONS.name)
        if item.role == "input" and (single or key == PRICE):
            yield key


@dataclass(frozen=True, slots=True)
class Change:
    """One input with another value.

    Args:
        key: Of the input.
        at: Of its block, the option and the row, from 0.
        value: In the input's unit.
        name: What a person calls it.
        now, then: What the job has, and what is tried, in words.
    """

    key: str
    at: tuple[int, int]
    value: float | str
    name: str
    now: str
    then: str


class Inputs:
    """The inputs of a job that can be changed.

    Args:
        model: Whose inputs they are.
        values: What the model knows, in its own units.
    """

    def __init__(self, model: Model, values: Mapping[str, Any]) -> None:
        self._model, self._values, self._q = model, values, Reads(values)

    @property
    def currency(self) -> str:
        """The job's own sign of money."""
        return self._q.text(CURRENCY)

    def cases(self) -> dict[int, list[int]]:
        """Lines of each what-if, by its number."""
        found: dict[int, list[int]] = {}
        for line in range(LINES):
            if number := int(self._q.number("change_case", row=line)):
                found.setdefault(number, []).append(line)
        return dict(sorted(found.items()))

    def kinds(self, lines: Sequence[int]) -> dict[int, str]:
        """Kind of each option in a what-if of some lines; that of the job where none says another."""
        found = {o: self._q.text(KIND, o) for o in range(len(OPTION_KEYS))}
        field = self._told(KIND)
        for line in lines:
            where, name, typed = self._line(line)
            if where.startswith(OPTION) and name.casefold() == field.label.casefold():
                tried = {each.casefold(): each for each in field.choices}.get(typed.casefold())
                option = self._option(where)
                found[option] = tried or found[option]
        return found

    def _line(self, line: int) -> tuple[str, str, str]:
        where, name, typed = (self._q.text(key, row=line).strip() for key in CHANGE_READS[1:])
        return where, name, typed

    @staticmethod
    def _option(where: str) -> int:
        return OPTION_KEYS.index(where.removeprefix(OPTION)) if where.startswith(OPTION) else 0

    def change(self, line: int, kinds: Mapping[int, str]) -> Change:
        """What a line changes.

        Args:
            line: Its number, from 0.
            kinds: Of all options in its what-if.

        Raises:
            InputError: If it names no input that can be changed, or its value can't be used there.
        """
        where, name, typed = self._line(line)
        for text, label in ((where, "sheet or option"), (name, "input"), (typed, "value to try")):
            if not text:
                raise InputError(f"its {label} is blank.")
        key, at = self._priced(name) if where == PRICES else self._labelled(where, name, kinds)
        field = self._told(key)
        if key == PRICE:
            name = f"Price of {name}"
            field = replace(field, label=name)
        value = read(field, _content(field, typed), "", *self._entries(field))
        if key == KIND and not value:
            raise InputError("an option without a kind is none.", cure="Leave the line out.")
        here = np.asarray(self._values[key])
        now = here[min(at[0], here.shape[0] - 1), min(at[1], here.shape[1] - 1)].item()
        label = f"{where}: {name}" if where.startswith(OPTION) else name
        return Change(key, at, value, label, _words(field, now), _words(field, value))

    def changed(self, changes: Sequence[Change]) -> dict[str, Values]:
        """Values of the inputs that some changes concern.

        An option of another kind has what its kind before used as well, and else what a new
        workbook holds.

        Raises:
            InputError: If the price book lacks what a new workbook chooses.
        """
        found: dict[str, NDArray[Any]] = {}

        def put(key: str, at: tuple[int, int], value: float | str) -> None:
            array = found.setdefault(key, np.array(np.asarray(self._values[key]), dtype=object))
            array[at] = value

        for change in changes:
            if change.key == KIND:
                for key, value in self._of_kind(change.at[0], str(change.value)):
                    put(key, change.at, value)
        for change in changes:
            put(change.key, change.at, change.value)
        kinds = {key: str if self._model.quantities[key].kind == "text" else float for key in found}
        return {key: as_values(array.astype(kinds[key])) for key, array in found.items()}

    def _of_kind(self, option: int, kind: str) -> Iterator[tuple[str, float | str]]:
        """Inputs of an option that are others where it is of this kind."""
        before = self._q.text(KIND, option)
        for key, item in self._model.quantities.items():
            if item.role != "input" or not item.by_option or key not in self._values:
                continue
            field = self._told(key)
            if field.kinds and kind not in field.kinds:
                yield key, field.blank
            elif field.kinds and before not in field.kinds:
                yield key, read(field, self._as_new(field), "", *self._entries(field))

    def _as_new(self, field: Field) -> Any:
        """What a new workbook holds, an item of the price book by its name."""
        if not field.by_key:
            return field.default
        keys = (str(each).casefold() for each in self._q.column(field.by_key))
        names = dict(zip(keys, map(str, self._q.column(NAME)), strict=True))
        return names.get(str(field.default).casefold(), field.default)

    def _priced(self, name: str) -> tuple[str, tuple[int, int]]:
        names = [str(each) for each in self._q.column(NAME)]
        for row, each in enumerate(names):
            if each.casefold() == name.casefold():
                return PRICE, (0, row)
        raise InputError(
            f"{in_quotes(name)} is no item of {PRICES}.{_nearest(name, filter(None, names))}"
        )

    def _labelled(
        self, where: str, name: str, kinds: Mapping[int, str]
    ) -> tuple[str, tuple[int, int]]:
        option = self._option(where)
        sheet = OPTIONS.name if where.startswith(OPTION) else where
        labels = {
            label.casefold(): key
            for key, item in self._model.quantities.items()
            if item.role == "input" and item.axis is None and item.sheet == sheet
            for label in (item.label, self._told(key).label)
        }
        key = labels.get(name.casefold())
        if key is None:
            known = [self._told(each).label for each in dict.fromkeys(labels.values())]
            raise InputError(f"{in_quotes(name)} is no input of {sheet}.{_nearest(name, known)}")
        if key not in self._values:
            raise InputError(f"nothing that is compared here depends on {in_quotes(name)}.")
        kind = kinds[option]
        field = self._told(key)
        if where.startswith(OPTION) and not self._q.text(KIND, option):
            raise InputError(f"{where} is not in use.")
        if field.kinds and kind not in field.kinds:
            raise InputError(f'{where} ({kind}) does not use "{field.label}".')
        return key, (option, 0)

    def _told(self, key: str) -> Field:
        """The field of an input, with the job's own words for money and tax."""
        field = self._model.quantities[key].field
        assert field is not None
        for term, by in self._model.terms.items():
            if term in field.label or term in field.unit:
                word = self._q.text(by)
                label, unit = field.label.replace(term, word), field.unit.replace(term, word)
                field = replace(field, label=label, unit=unit)
        return field

    def _entries(self, field: Field) -> tuple[frozenset[str], tuple[str, ...]]:
        """What a name of a list may be, and which of them a message tells."""
        if not field.refers:
            return frozenset(), ()
        names = [str(each) for each in self._q.column(field.refers)]
        told: tuple[str, ...] = ()
        if field.among:
            column, sort = field.among
            sorts = (str(each).casefold() for each in self._q.column(column))
            pairs = zip(names, sorts, strict=True)
            told = tuple(each for each, its in pairs if each and its == sort.casefold())
        return frozenset(filter(None, names)), told


def _content(field: Field, typed: str) -> Any:
    """What a person typed, as the cell of an input would hold it."""
    if typed.casefold() == BLANK:
        return None
    if field.value_kind == "text":
        return typed
    try:
        return float(typed)
    except ValueError:
        return typed


def _words(field: Field, value: float | str) -> str:
    if isinstance(value, str):
        return value or BLANK
    if not field.needed and value == field.blank:
        return BLANK
    if field.kind == "date":
        return str(DATE_ORIGIN.fromordinal(DATE_ORIGIN.toordinal() + int(value)))
    return shown(field, value)


def _nearest(name: str, known: Iterable[str]) -> str:
    """A sentence on the names that look most like one that is none of them."""
    from difflib import SequenceMatcher

    by_fold = {each.casefold(): each for each in known}
    words = [word for word in name.casefold().split() if len(word) > 2]

    def likeness(each: str) -> tuple[int, float]:
        return sum(w in each for w in words), SequenceMatcher(None, name.casefold(), each).ratio()

    ranked = sorted(((likeness(each), each) for each in by_fold), reverse=True)[:3]
    near = [each for (shared, alike), each in ranked if shared or alike >= _ALIKE]
    listed = " or ".join(f'"{by_fold[each]}"' for each in near)
    return f" Did you mean {listed}?" if near else ""
