"""The metric model: the same sheets, rows and solvers over metres, millimetres and kilograms.

Nothing is written twice. Every row's expression is rewritten over metric quantities, and engine
and workbook both work with that; every solver is the same function, given feet and answering in
metres. So what holds of the workbook (marks, refills, numbers typed over) holds of the metric one.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import cache, partial
from typing import Any, Final

import numpy as np

from estimator.engine import Declared, Model, Solve, Solver
from estimator.errors import EstimatorError
from estimator.expression import Node
from estimator.inputs import Field
from estimator.measures import (
    OWN,
    Unit,
    habit,
    limit,
    metric_format,
    metric_key,
    metric_unit,
    metric_words,
    rounded_to,
)
from estimator.model.metric_yard import DEFAULTS, NOTES, TABLE_NOTES, TEXTS
from estimator.retrace import retrace
from estimator.rewrite import Own, Rewriter, Scale
from estimator.rows import Notes, Part, Quantity, Section, Sheet, Table
from estimator.units import tape_in_mm

PUBLISHED_SHEET: Final = "Factors"
"""Sheet whose defaults are values of sources: converted as they are, not made round."""
UNSOURCED: Final = "common practice"
"""How the note of a default begins that has no source, and is made round."""
_DIGITS = 4


@cache
def metric(model: Model) -> Model:
    """The metric model of a model in feet; its keys end in metric units.

    Raises:
        RowError: If a row can't be rewritten, naming it.
    """
    return _Conversion(model).model()


def suited(model: Model, names: Collection[str]) -> Model:
    """The model that a workbook with these defined names was made from: as given, or metric."""
    if model.measure == "metric":
        return model
    changed = {(old, new) for old, new in _names(model).items() if old != new}
    found = set(names)
    metric_names = sum(new in found for _, new in changed)
    return metric(model) if metric_names > sum(old in found for old, _ in changed) else model


class _Conversion:
    """Every quantity's new key, unit and scale, and the model made of them."""

    def __init__(self, model: Model) -> None:
        self.old = model
        self.units = {k: metric_unit(k, i.unit) for k, i in model.quantities.items()}
        self.scales: dict[str, Scale] = {}
        for key in model.quantities:
            self.scales[key] = Own() if key in OWN else self.units[key].factor
        for stack, parts in model.stacks.items():
            scales = {self.scales[part] for part in parts}
            self.scales[stack] = scales.pop() if len(scales) == 1 else Own()
        self.names = _names(model)
        self.rewriter = Rewriter(self.names, self.scales, TEXTS)

    def model(self) -> Model:
        sheets = [self.sheet(sheet) for sheet in self.old.sheets]
        solvers = [self.solver(solver) for solver in self.old.solvers.values()]
        return Model(sheets, solvers, measure="metric", names=self.names)

    def sheet(self, old: Sheet) -> Sheet:
        sheet = Sheet(old.name, metric_words(old.title), metric_words(old.purpose))
        for item in old.quantities.values():
            sheet.add(self.quantity(item))
        for part in old.parts:
            sheet.parts.append(self.part(sheet, part))
        return sheet

    def part(self, sheet: Sheet, part: Part) -> Part:
        title = metric_words(part.title)
        if isinstance(part, Notes):
            return Notes(title, tuple(map(metric_words, part.lines)))
        keys = [self.names[key] for key in part.keys]
        if isinstance(part, Section):
            return Section(title, keys, part.stack)
        note = metric_words(part.note)
        if sheet.name == PUBLISHED_SHEET:
            note = TABLE_NOTES.get(part.axis, note)
        return Table(part.axis, title, part.capacity, sheet, note, keys)

    def quantity(self, item: Quantity) -> Quantity:
        unit = self.units[item.key]
        function = None
        if item.function is not None:
            node = self.expression(item)
            function = partial(_worked_out, node)
        return replace(
            item,
            key=self.names[item.key],
            label=metric_words(item.label),
            unit=unit.name,
            fmt=_format(item.key, item.fmt, unit),
            note=NOTES.get(self.names[item.key], metric_words(item.note)),
            source=metric_words(item.source),
            reads=tuple(self.names[key] for key in item.reads),
            function=function,
            field=self.field(item.field, unit, item.sheet) if item.field else None,
        )

    def expression(self, item: Quantity) -> Node:
        scale = self.scales[item.key]
        try:
            return self.rewriter.row(self.old.expressions[item.key], scale)
        except EstimatorError as error:
            raise type(error)(
                error.what, where=f"{item.sheet}.{item.key}, in metres", cure=error.cure
            ) from error

    def field(self, field: Field, unit: Unit, sheet: str) -> Field:
        key = self.names[field.key]
        default = field.default
        if key in DEFAULTS:
            default = DEFAULTS[key]
        elif isinstance(default, str):
            default = TEXTS.get(default, default)
        elif isinstance(default, (int, float)) and unit.factor != 1.0:
            exact = default * unit.factor
            published = sheet == PUBLISHED_SHEET and not field.note.startswith(UNSOURCED)
            default = rounded_to(exact, _DIGITS) if published else habit(exact, unit.name)
        low, high = field.low, field.high
        if unit.factor != 1.0:
            low, high = limit(low * unit.factor, up=False), limit(high * unit.factor, up=True)
        return replace(
            field,
            key=key,
            label=metric_words(field.label),
            unit=unit.name,
            default=default,
            low=low,
            high=high,
            refers=self.names.get(field.refers, field.refers),
            note=NOTES.get(key, metric_words(field.note)),
            fmt=_format(field.key, field.fmt, unit),
        )

    def solver(self, solver: Solver) -> Solver:
        reads = tuple(self.names[key] for key in solver.reads)
        prices = tuple(self.names[key] for key in solver.prices)
        return replace(
            solver,
            reads=reads,
            prices=prices,
            function=partial(self.solve, solver.name),
            counts_when=self.names.get(solver.counts_when, solver.counts_when),
            keep=None if solver.keep is None else partial(self.keep, solver.name),
        )

    def solve(self, name: str, values: Mapping[str, Any]) -> Mapping[str, Any]:
        """What a solver answers, asked in metres."""
        return self.answer(name, self.old.solvers[name].function, values)

    def keep(
        self, name: str, values: Mapping[str, Any], held: Mapping[str, Any]
    ) -> Mapping[str, Any]:
        """What a solver that keeps to its last answer says, asked in metres."""
        keep = self.old.solvers[name].keep
        assert keep is not None
        last = {
            key: _divided(held[self.names[key]], self.factor(key)) for key in self.old.writes[name]
        }
        return self.answer(name, lambda asked: keep(asked, last), values)

    def answer(self, name: str, function: Solve, values: Mapping[str, Any]) -> Mapping[str, Any]:
        """The answer of a solver's function, asked in metres."""
        solver = self.old.solvers[name]
        keys = (*solver.reads, *solver.prices)
        asked = Declared(
            name, {key: _divided(values[self.names[key]], self.factor(key)) for key in keys}
        )
        known = _texts(asked.values())
        try:
            with tape_in_mm():
                answer = function(asked)
        except EstimatorError as error:
            what, cure = metric_words(error.what), metric_words(error.cure)
            raise type(error)(what, where=error.where, cure=cure) from error
        return {
            self.names[key]: _answered(answer[key], self.factor(key), known)
            for key in self.old.writes[name]
        }

    def factor(self, key: str) -> float:
        """How many of the metric unit make one of the engine's, as a solver sees it."""
        scale = self.scales[key]
        return scale if isinstance(scale, float) else 1.0


def _format(key: str, pattern: str, unit: Unit) -> str:
    """Number format of a quantity; a modulus of elasticity is a large number in any unit."""
    return pattern if key.endswith("_e_psi") else metric_format(pattern, unit)


def _names(model: Model) -> dict[str, str]:
    """New key of every key; of two that would be one, such as ft3 and yd3, the first is longer."""
    found = {k: metric_key(k, i.unit) for k, i in model.quantities.items()}
    seen: dict[str, str] = {}
    for key, name in found.items():
        twin = seen.setdefault(name, key)
        if twin != key:
            words, unit = name.rsplit("_", 1)
            found[twin] = f"{words}_volume_{unit}"
    return found


_DUST_DIGITS = 12
"""Decimals of what a solver is given: 12 ft are 12, not 12.000000000000002."""


def _worked_out(node: Node, **values: Any) -> Any:
    return retrace(node, values)


def _divided(value: Any, factor: float) -> Any:
    if factor == 1.0:
        return value
    return np.round(value / factor, _DUST_DIGITS)


def _texts(values: Collection[Any]) -> frozenset[str]:
    arrays = (np.asarray(value) for value in values)
    return frozenset(str(t) for a in arrays if a.dtype.kind == "U" for t in a.ravel())


def _answered(value: Any, factor: float, known: frozenset[str]) -> Any:
    """A solver's answer in metric units; texts that it took over stay as they are."""
    plain = np.asarray(value)
    if plain.dtype.kind not in "UO":
        return plain * factor if factor != 1.0 else value
    flat = [str(t) if str(t) in known else metric_words(str(t)) for t in plain.ravel()]
    return np.array(flat, dtype=str).reshape(plain.shape)
