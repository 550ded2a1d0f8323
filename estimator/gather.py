"""Sheets with their gathered sections filled: a line for each contribution of all sheets."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, replace
from functools import partial
from typing import Any, TypeVar

from estimator.contributions import (
    MORE_CASES,
    Contribution,
    Fixed,
    Gather,
    GatherColumn,
    OfKind,
    OwnRow,
    with_before,
)
from estimator.errors import RowError
from estimator.rows import Notes, Part, Quantity, Section, Sheet, Table, parameters

C = TypeVar("C", bound=Contribution)
Shown = Mapping[tuple[Contribution, str], str]
Added = Mapping[str, Sequence[OfKind]]


def contributed(sheets: Sequence[Sheet], kind: type[C]) -> tuple[C, ...]:
    """All contributions of one kind, as the sheets and their chapters declare them."""
    return tuple(c for sheet in sheets for c in sheet.contributions if isinstance(c, kind))


def gather(sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets with a line for each contribution in every section that gathers its kind.

    Raises:
        RowError: Naming the contribution: a key or a label is given twice, it names an unknown
            quantity or row, its order can't be kept, or no section gathers its kind.
    """
    items = with_before(contributed(sheets, Contribution))
    _refuse_twins(items)
    _refuse_lost(items, sheets)
    known = {key: item for sheet in sheets for key, item in sheet.quantities.items()}
    shown = _shown(items, sheets)
    cases = _cases(items, known)
    return tuple(_filled(sheet, items, known, shown, cases) for sheet in sheets)


def _cases(items: Sequence[Contribution], known: Mapping[str, Quantity]) -> Added:
    """By row, what it is for kinds that packages add."""
    found: dict[str, list[OfKind]] = {}
    for item in items:
        if isinstance(item, OfKind):
            for row, value in item.rows.items():
                if row not in known or MORE_CASES not in known[row].reads:
                    raise RowError(
                        f"no row {row!r} takes more cases.",
                        where=item.where,
                        cure=f"Is it a row, and has it a parameter {MORE_CASES}?",
                    )
                if isinstance(value, str):
                    if value not in known:
                        raise RowError(f"unknown quantity {value!r} for {row}.", where=item.where)
                    _refuse_unit(known[row].unit, row, known[value], item)
                found.setdefault(row, []).append(item)
    return found


def _with_cases(item: Quantity, added: Sequence[OfKind]) -> Quantity:
    """A row with the cases that are added to it, if it takes any."""
    if MORE_CASES not in item.reads:
        return item
    own = tuple(key for key in item.reads if key != MORE_CASES)
    given = {one.kinds: one.rows[item.key] for one in added}
    keys = [value for value in given.values() if isinstance(value, str)]
    assert item.function is not None
    return replace(
        item,
        reads=tuple(dict.fromkeys((*own, *keys))),
        function=partial(_by_case, item.function, own, given),
    )


def _by_case(
    function: Callable[..., Any],
    own: Sequence[str],
    given: Mapping[tuple[str, ...], str | float | Fixed],
    **values: Any,
) -> Any:
    """A row, given the values of the cases that are added to it."""
    more = {
        kinds: values[value]
        if isinstance(value, str)
        else value.text
        if isinstance(value, Fixed)
        else value
        for kinds, value in given.items()
    }
    return function(**{key: values[key] for key in own}, **{MORE_CASES: more})


def _shown(items: Sequence[Contribution], sheets: Sequence[Sheet]) -> Shown:
    """By contribution and attribute, the line that mirrors it."""
    hows = [
        part.gather
        for sheet in sheets
        for part in sheet.parts
        if isinstance(part, Section) and part.gather and part.gather.shows
    ]
    return {
        (item, how.shows): item.line(how.suffix)
        for how in hows
        for item in items
        if how.gets_line(item)
    }


def _refuse_twins(items: Sequence[Contribution]) -> None:
    seen: dict[tuple[type[Contribution], str, str], str] = {}
    for item in items:
        for what, words in (("key", item.key), ("label", item.label.casefold())):
            if (type(item), what, words) in seen:
                raise RowError(
                    f"two contributions of this kind have this {what}.", where=item.where
                )
            seen[type(item), what, words] = item.key


def _refuse_lost(items: Sequence[Contribution], sheets: Sequence[Sheet]) -> None:
    parts = [part for sheet in sheets for part in sheet.parts]
    kinds = tuple(
        kind
        for part in parts
        if isinstance(part, Section) and part.gather
        for kind in part.gather.kinds
    ) + tuple(how.kind for part in parts if isinstance(part, Table) for how in part.gathered)
    for item in items:
        if not isinstance(item, (*kinds, OfKind)):
            raise RowError("no section gathers contributions of this kind.", where=item.where)


def _filled(
    old: Sheet,
    items: Sequence[Contribution],
    known: Mapping[str, Quantity],
    shown: Shown,
    cases: Added,
) -> Sheet:
    sheet = Sheet(old.name, old.title, old.purpose, shows=old.shows)
    sheet.contributions = old.contributions
    for item in old.quantities.values():
        sheet.add(_with_cases(item, cases.get(item.key, ())))
    for part in old.parts:
        sheet.parts.append(_part(sheet, part, items, known, shown))
    return sheet


def _part(
    sheet: Sheet,
    part: Part,
    items: Sequence[Contribution],
    known: Mapping[str, Quantity],
    shown: Shown,
) -> Part:
    if isinstance(part, Table):
        for how in part.gathered:
            sheet.add(_column(how, part.axis, sheet.name, items))
        lines = part.capacity or sum(isinstance(item, part.counts) for item in items)
        return replace(part, capacity=lines, owner=sheet, gathered=[])
    if isinstance(part, Notes) or part.gather is None:
        return part
    keys = list(part.keys)
    chosen = [item for item in items if part.gather.gets_line(item)]
    lined = part.gather.order(chosen) if part.gather.order else chosen
    for item in lined:
        line = _line(part.gather, item, lined, sheet.name, known, shown)
        if line.key in known:
            raise RowError(
                f"a row has the key {line.key!r}, which its line takes.",
                where=item.where,
                cure="Give the contribution another key, or the row.",
            )
        sheet.add(replace(line, kind=known[part.stack].kind))
        keys.append(line.key)
    if not keys:
        raise RowError("nothing is gathered here.", where=f"{sheet.name}.{part.stack}")
    return Section(part.title, keys, part.stack)


def _column(how: GatherColumn, axis: str, sheet: str, items: Sequence[Contribution]) -> Quantity:
    chosen = [item for item in items if isinstance(item, how.kind)]
    function = how.function(chosen)
    return Quantity(
        how.key,
        how.label,
        how.unit,
        sheet,
        "row",
        how.fmt,
        kind="number" if how.unit else "text",
        axis=axis,
        by_option=how.by_option,
        reads=how.reads(chosen) if how.reads else parameters(function),
        function=function,
    )


def _line(
    how: Gather,
    item: Contribution,
    lined: Sequence[Contribution],
    sheet: str,
    known: Mapping[str, Quantity],
    shown: Shown,
) -> Quantity:
    if how.function is None:
        return own_row(item, sheet)
    function = how.function
    wanted = parameters(function)
    own = {field.name for field in fields(item)}
    given: dict[str, Any] = {name: getattr(item, name) for name in wanted if name in own}
    texts = {name: value.text for name, value in given.items() if isinstance(value, Fixed)}
    if how.says in given:
        texts[how.says] = given[how.says]
    links = how.linked(lined, item) if how.linked else {}
    reads: dict[str, str | tuple[str, ...]] = {
        name: links.get(name, given.get(name, name)) for name in wanted if name not in texts
    }
    for name, key in reads.items():
        if name in given and key not in known:
            raise RowError(
                f"unknown quantity {key!r} as its {name}.",
                where=item.where,
                cure="Is its chapter on a sheet, and the sheet in SHEETS?",
            )
        if name in given and name != how.shows:
            reads[name] = shown.get((item, name), key)
    if how.unit and len(wanted) == 1 and wanted[0] in given.keys() - texts.keys():
        _refuse_unit(how.unit, wanted[0], known[given[wanted[0]]], item)
    twin = known[getattr(item, how.like)] if how.like else None
    return Quantity(
        item.line(how.suffix),
        f"{item.label}: {how.word}" if how.word else item.label,
        twin.unit if twin else how.unit,
        sheet,
        "row",
        twin.fmt if twin else how.fmt,
        item.remark(),
        by_option=True,
        reads=tuple(dict.fromkeys(key for name in reads for key in _several(reads[name]))),
        function=partial(_read, function, reads, texts),
    )


def _refuse_unit(unit: str, name: str, named: Quantity, item: Contribution) -> None:
    """Refuse a quantity that a line in another unit would show."""
    if named.unit != unit:
        found = f"in {named.unit!r}" if named.unit else "without a unit"
        raise RowError(
            f"its {name} {named.key!r} is {found}.",
            where=item.where,
            cure=f"Name a row in {unit!r}.",
        )


def own_row(item: Contribution, sheet: str) -> Quantity:
    """The row that a contribution brings itself, on a sheet.

    Raises:
        RowError: If its kind brings none.
    """
    if not isinstance(item, OwnRow):
        raise RowError("brings no row of its own.", where=item.where)
    return Quantity(
        item.key,
        item.label,
        "",
        sheet,
        "row",
        note=item.remark(),
        source=item.source,
        by_option=True,
        reads=item.reads or parameters(item.function),
        function=item.function,
        mended_at=item.mend,
    )


def _several(keys: str | tuple[str, ...]) -> tuple[str, ...]:
    return (keys,) if isinstance(keys, str) else keys


def _read(
    function: Any,
    reads: Mapping[str, str | tuple[str, ...]],
    texts: Mapping[str, str],
    **values: Any,
) -> Any:
    """A line's row, its parameters read by the keys that its contribution names."""
    found = {
        name: values[key] if isinstance(key, str) else tuple(values[one] for one in key)
        for name, key in reads.items()
    }
    return function(**found, **texts)
