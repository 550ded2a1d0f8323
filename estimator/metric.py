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

from estimator.engine import Declared, Keep, Model, Solve, Solver
from estimator.errors import EstimatorError, RowError
from estimator.expression import Node
from estimator.inputs import Field
from estimator.measures import (
    ITEM_UNIT,
    Unit,
    habit,
    limit,
    metric_format,
    metric_key,
    metric_unit,
    rounded_to,
    says_otherwise,
)
from estimator.model.metric_yard import DEFAULTS, TEXTS
from estimator.retrace import retrace
from estimator.rewrite import Own, Rewriter, Scale
from estimator.rows import Notes, Part, Quantity, Section, Sheet

PUBLISHED_SHEET: Final = "Factors"
"""Sheet whose defaults are values of sources: converted as they are, not made round."""
UNSOURCED: Final = "common practice"
"""How the note of a default begins that has no source, and is made round."""
_DIGITS = 4


@cache
def metric(model: Model) -> Model:
    """The metric model of a model in feet; its keys end in metric units.

    Raises:
        RowError: If a row can't be rewritten, or its key ends in another unit than its own,
            naming it.
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
        self.units = {k: metric_unit(i.unit) for k, i in model.quantities.items()}
        for key, item in model.quantities.items():
            meant = says_otherwise(key, item.unit)
            if meant:
                raise RowError(
                    f"its key ends in {meant}, its unit is {item.unit!r}.",
                    where=f"{item.sheet}.{key}",
                    cure="Name it after its unit; a new unit goes into UNITS of measures.py.",
                )
        self.scales: dict[str, Scale] = {}
        for key, item in model.quantities.items():
            self.scales[key] = Own() if item.unit == ITEM_UNIT else self.units[key].factor
        for stack, parts in model.stacks.items():
            scales = {self.scales[part] for part in parts}
            self.scales[stack] = scales.pop() if len(scales) == 1 else Own()
        self.names = _names(model)
        self.rewriter = Rewriter(self.names, self.scales, TEXTS)

    def model(self) -> Model:
        sheets = [self.sheet(sheet) for sheet in self.old.written.sheets]
        solvers = [self.solver(solver) for solver in self.old.written.solvers]
        return Model(sheets, solvers, measure="metric", names=self.names)

    def sheet(self, old: Sheet) -> Sheet:
        shows = old.shows.rewritten(name=self.names.__getitem__)
        sheet = Sheet(old.name, old.title, old.purpose, shows=shows)
        for item in old.quantities.values():
            sheet.add(self.quantity(item))
        for part in old.parts:
            sheet.parts.append(self.part(sheet, part))
        return sheet

    def part(self, sheet: Sheet, part: Part) -> Part:
        if isinstance(part, Notes):
            return part
        keys = [self.names[key] for key in part.keys]
        if isinstance(part, Section):
            folded = {self.names[key]: words for key, words in part.folded.items()}
            return replace(part, keys=keys, folded=folded)
        shows = part.shows.renamed(self.names.__getitem__)
        return replace(part, keys=keys, owner=sheet, shows=shows)

    def quantity(self, item: Quantity) -> Quantity:
        unit = self.units[item.key]
        function = None
        if item.function is not None:
            node = self.expression(item)
            function = partial(_worked_out, node)
        return replace(
            item,
            key=self.names[item.key],
            unit=unit.name,
            fmt=_format(item.key, item.fmt, unit),
            reads=tuple(self.names[key] for key in item.reads),
            function=function,
            mended_at=self.names.get(item.mended_at, ""),
            field=self.field(item.field, unit, item.sheet) if item.field else None,
        )

    def expression(self, item: Quantity) -> Node:
        scale = self.scales[item.key]
        try:
            return self.rewriter.row(self.old.written.expressions[item.key], scale)
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
        low, high, absent = field.low, field.high, field.absent
        if unit.factor != 1.0:
            low, high = limit(low * unit.factor, up=False), limit(high * unit.factor, up=True)
            absent *= unit.factor
        return replace(
            field,
            key=key,
            unit=unit.name,
            default=default,
            low=low,
            high=high,
            absent=absent,
            refers=self.names.get(field.refers, field.refers),
            by_key=self.names.get(field.by_key, field.by_key),
            among=_columns_named(field.among, self.names),
            labels=self._labels(field),
            unlike=self.names.get(field.unlike, field.unlike),
            fmt=_format(field.key, field.fmt, unit),
        )

    def _labels(self, field: Field) -> tuple[str, tuple[str, ...]] | tuple[()]:
        if not field.labels:
            return ()
        by, of = field.labels
        return self.names[by], tuple(self.names[key] for key in of)

    def solver(self, solver: Solver) -> Solver:
        reads = tuple(self.names[key] for key in solver.reads)
        prices = tuple(self.names[key] for key in solver.prices)
        if solver.by_model:
            return replace(
                solver,
                reads=reads,
                prices=prices,
                counts_when=self.names.get(solver.counts_when, solver.counts_when),
            )
        function = solver.function
        if solver.by_measure:
            function = partial(function, measure="metric")
        return replace(
            solver,
            reads=reads,
            prices=prices,
            function=partial(self.solve, solver, function),
            by_measure=False,
            counts_when=self.names.get(solver.counts_when, solver.counts_when),
            keep=None if solver.keep is None else partial(self.keep, solver, solver.keep),
        )

    def solve(
        self, solver: Solver, function: Solve, values: Mapping[str, Any]
    ) -> Mapping[str, Any]:
        """The answer of a solver's function, asked in metres."""
        keys = (*solver.reads, *solver.prices)
        asked = {key: _divided(values[self.names[key]], self.factor(key)) for key in keys}
        refused = values.refused if isinstance(values, Declared) else None
        answer = function(Declared(solver.name, asked, refused=refused))
        return {
            self.names[key]: _answered(answer[key], self.factor(key))
            for key in self.old.writes[solver.name]
        }

    def keep(
        self, solver: Solver, keep: Keep, values: Mapping[str, Any], last_answer: Mapping[str, Any]
    ) -> Mapping[str, Any]:
        """What a solver that keeps to its last answer says, asked in metres."""
        last = {
            key: _divided(last_answer[self.names[key]], self.factor(key))
            for key in self.old.writes[solver.name]
        }
        return self.solve(solver, lambda asked: keep(asked, last), values)

    def factor(self, key: str) -> float:
        """How many of the metric unit make one of the engine's, as a solver sees it."""
        scale = self.scales[key]
        return scale if isinstance(scale, float) else 1.0


def _columns_named(
    among: tuple[str, str] | tuple[()], names: Mapping[str, str]
) -> tuple[str, str] | tuple[()]:
    return (names.get(among[0], among[0]), among[1]) if among else ()


def _format(key: str, pattern: str, unit: Unit) -> str:
    """Number format of a quantity; a modulus of elasticity is a large number in any unit."""
    return pattern if key.endswith("_e_psi") else metric_format(pattern, unit)


@cache
def _names(model: Model) -> Mapping[str, str]:
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


def _answered(value: Any, factor: float) -> Any:
    """A solver's answer in metric units."""
    return value if factor == 1.0 else np.asarray(value) * factor
