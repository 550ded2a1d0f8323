"""Sheets, expressions and answers with the marks in their texts read in one system of measure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from operator import is_
from typing import Any

import numpy as np

from estimator.amounts import Measure, as_said, in_measure
from estimator.errors import EstimatorError, RowError
from estimator.expression import Node
from estimator.rows import Notes, Part, Quantity, Section, Sheet


def worded_sheet(sheet: Sheet, measure: Measure) -> Sheet:
    """A sheet whose texts read in this measure.

    Raises:
        RowError: Naming the row or the sheet, if a mark in a text is none.
    """

    def read(text: str) -> str:
        return _at(sheet.name, text, measure)

    def part(old: Part) -> Part:
        if isinstance(old, Notes):
            return replace(old, title=read(old.title), lines=tuple(map(read, old.lines)))
        if isinstance(old, Section):
            folded = {key: read(words) for key, words in old.folded.items()}
            return replace(old, title=read(old.title), folded=folded)
        shown = old.shows.worded(read)
        return replace(old, title=read(old.title), note=read(old.note), owner=new, shows=shown)

    shows = sheet.shows.rewritten(read=read)
    new = Sheet(sheet.name, read(sheet.title), read(sheet.purpose), shows=shows)
    new.contributions = sheet.contributions
    for item in sheet.quantities.values():
        new.add(_quantity(item, measure))
    new.parts.extend(map(part, sheet.parts))
    return new


def _quantity(item: Quantity, measure: Measure) -> Quantity:
    def read(text: str) -> str:
        return _at(f"{item.sheet}.{item.key}", text, measure)

    field = item.field
    if field is not None:
        texts = (field.label, field.note, field.when_blank, *field.choices)
        said = tuple(map(read, texts))
        if said != texts:
            label, note, when_blank, *choices = said
            field = replace(
                field, label=label, note=note, when_blank=when_blank, choices=tuple(choices)
            )
    label, note, source = map(read, (item.label, item.note, item.source))
    if field is item.field and (label, note, source) == (item.label, item.note, item.source):
        return item
    return replace(item, label=label, note=note, source=source, field=field)


def _at(where: str, text: str, measure: Measure) -> str:
    try:
        return in_measure(text, measure)
    except RowError as error:
        raise RowError(error.what, where=where, cure=error.cure) from error


def worded(node: Node, measure: Measure) -> Node:
    """An expression whose texts read in this measure; the same node where none has a mark.

    Raises:
        RowError: If a mark in a text is none.
    """
    texts = {str(at.value) for at in node.walk() if at.op == "text"}
    read = {text: in_measure(text, measure) for text in texts}
    if all(text == said for text, said in read.items()):
        return node
    done: dict[int, Node] = {}

    def write(at: Node) -> Node:
        if at.op == "text":
            said = read[str(at.value)]
            return at if said == at.value else at._replace(value=said)
        if not at.args:
            return at
        new = done.get(id(at))
        if new is None:
            args = tuple(map(write, at.args))
            same = all(map(is_, args, at.args))
            new = done[id(at)] = at if same else at._replace(args=args)
        return new

    return write(node)


Answer = Mapping[str, Any]


def worded_answers(function: Callable[..., Answer], measure: Measure) -> Callable[..., Answer]:
    """A solver's function whose texts and refusals read in this measure.

    Texts that it was given stay as they are.
    """

    def answer(*given: Mapping[str, Any]) -> Answer:
        try:
            found = function(*given)
        except EstimatorError as error:
            what, cure = (as_said(text, measure) for text in (error.what, error.cure))
            raise error.said(what, cure) from error
        known = None
        said = dict(found)
        for key, value in found.items():
            plain = np.asarray(value)
            if plain.dtype.kind in "UO" and any("{" in text for text in plain.ravel().tolist()):
                known = known if known is not None else _texts(given[0])
                said[key] = _said(plain, measure, known)
        return said

    return answer


def _texts(values: Mapping[str, Any]) -> frozenset[str]:
    arrays = (np.asarray(value) for value in values.values())
    return frozenset(str(t) for array in arrays if array.dtype.kind == "U" for t in array.ravel())


def _said(plain: Any, measure: Measure, known: frozenset[str]) -> Any:
    flat = [str(t) if str(t) in known else as_said(str(t), measure) for t in plain.ravel()]
    return np.array(flat, dtype=str).reshape(plain.shape)
