"""Values of all formulas of a workbook by the formualizer engine, and writing them as caches.

The engine is given a lean copy of the file (cells, tables, names, links, and nothing that has no
part in calculating), so what it refuses to carry can't stand in its way. Only its numbers are
taken back; the file itself is patched by :mod:`estimator.workbook.package.cells`.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from types import MappingProxyType
from typing import Any

from estimator.workbook.package.a1 import Cell, address
from estimator.workbook.package.cells import Cache, Edit, Value, formula_cells, patched
from estimator.workbook.package.container import part_key
from estimator.workbook.package.dependants import circles, dependants
from estimator.workbook.package.lean_copy import MAIN, RELATION, WORD, assembled, lean_copy
from estimator.workbook.package.parts import Package
from estimator.workbook.package.reading import CellValue, grid
from estimator.workbook.package.refused import EngineRefuses, refused_cells
from estimator.workbook.package.standing import Aside, laid_aside, put_back

__all__ = ["Recalculated", "recalculate", "with_caches"]

# Measured: a criteria function over a range as the criterion inside SUMPRODUCT gives 0.
_BY_PRODUCT = re.compile(r"SUMPRODUCT\s*\(")
_BY_CRITERIA = re.compile(r"(?:COUNTIFS?|SUMIFS?|AVERAGEIFS?)\s*\(")
_FORMULA = re.compile(rb"<f[^>]*>([^<]*)</f>")
# Names of several words, as the template has; any other stays where it is.
_NAME = re.compile(
    rb'<definedName (?:[^>]*? )?name="(_xlnm\.\w+|\w+_[\w.]+)"[^>]*>[^<]*</definedName>'
)
_NAMED = re.compile(rb"<definedName [^>]*>([^<]*)</definedName>")
_WORD = re.compile(rb"[a-z_]\w*_[\w.]+|_xlnm\.\w+")
_ANY_FORMULA = re.compile(rb"<f[ />]")
_SEVERAL_SHEETS = re.compile(rb"'[^'\n]*:[^'\n]*'!|:\w[\w.]*!|&apos;")
_PLAIN_TITLE = re.compile(r"[A-Za-z0-9 _]+")
_ENVIRONMENT = frozenset(("CELL", "INFO"))  # their answers are the program's, not the workbook's


@dataclass(frozen=True, slots=True)
class Recalculated:
    """What a recalculation gave.

    Attributes:
        values: Value by (sheet, address) of every formula cell that could be evaluated, and of
            the cells that an array formula fills.
        complete: Whether that is all of them.
        note: One sentence that says what is missing and why; empty when complete.
        unevaluated: Formula cells that the engine can't evaluate, as (sheet, address).
        doubtful: Those and every formula cell that depends on them; ``values`` has none of them.
    """

    values: Mapping[tuple[str, str], Value]
    complete: bool
    note: str
    unevaluated: tuple[tuple[str, str], ...] = ()
    doubtful: frozenset[tuple[str, str]] = frozenset()


def recalculate(data: bytes | Package) -> Recalculated:
    """Evaluate every formula of a workbook from the values of its other cells.

    Who goes on to :func:`with_caches` gives both the same package, so that it is read once.
    TODAY and NOW give the start of today, so that two runs of one day agree to the byte. When
    the engine refuses the workbook nothing is raised: ``values`` is empty and ``note`` says so.

    Raises:
        FileError: If the bytes are no readable workbook.
    """
    package = data if isinstance(data, Package) else Package.open(data)
    formulas = {(s, r, c): content for s, r, c, content in formula_cells(package)}
    if not formulas:
        return Recalculated(MappingProxyType({}), True, "")
    words, functions = _vocabulary(formulas.values())
    refused: Collection[Cell] = ()
    rings: Collection[Cell] = ()
    try:
        unknown = _unknown_functions(functions)
        try:
            output = _evaluated(lean_copy(package, words))
        except EngineRefuses:
            rings = circles(package, formulas)
            refused = refused_cells(package, formulas, _evaluated) | rings
            rest = [content for cell, content in formulas.items() if cell not in refused]
            output = _evaluated(lean_copy(package, _vocabulary(rest)[0], refused))
    except EngineRefuses as error:
        return _refused(formulas, str(error))
    found = _values(Package.open(output), package, formulas)
    failed = [*refused, *(c for c in _failed(formulas, unknown) if c not in refused)]
    reached = dependants(package, formulas, (*failed, *_pictures(package))) & formulas.keys()
    if not reached:
        return Recalculated(MappingProxyType(found), True, "")
    doubtful = {(s, address(r, c)) for s, r, c in reached}
    failed = failed or sorted(reached)
    values = {key: value for key, value in found.items() if key not in doubtful}
    cells = tuple((s, address(r, c)) for s, r, c in failed)
    count = "1 formula" if len(cells) == 1 else f"{len(cells)} formulas"
    note = (
        f"{count} can't be evaluated here ({_places(failed)}); these and what depends on "
        "them get their values when a spreadsheet program opens the file."
    )
    if rings:
        note = f"{note[:-1]}, but for what reads itself in a circle: {_places(sorted(rings))}."
    return Recalculated(MappingProxyType(values), False, note, cells, frozenset(doubtful))


def _places(cells: Sequence[Cell]) -> str:
    """The first of some cells, as a message names them."""
    named = [f"{s}!{address(r, c)}" for s, r, c in cells[:3]]
    return ", ".join(named + ["..."] * (len(cells) > 3))


def _evaluated(data: bytes) -> bytes:
    """A workbook's file with the values of its formulas by the engine.

    Raises:
        EngineRefuses: If it takes no such file, or fails on it.
    """
    return bytes(_engine(data)["bytes"])


def _engine(data: bytes) -> Mapping[str, Any]:
    now = datetime.combine(datetime.now().date(), time(), UTC)
    try:
        import formualizer

        answer: Mapping[str, Any] = formualizer.recalculate_xlsx_bytes(
            data, rng_seed=0, deterministic_timestamp_utc=now
        )
        return answer
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as error:  # a panic of the engine derives from BaseException alone
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        raise EngineRefuses(str(error)) from error


def recalculated(package: Package, known: Collection[Cell] = frozenset()) -> Package | None:
    """The package with every formula's value brought up to date, in one pass of the engine.

    Of the engine's file the parts that differ are taken; it is not opened as a workbook. None
    where the engine refuses the file, lacks a function that it uses, or is known to give a wrong
    value for one of its formulas: :func:`recalculate` then says what can be had.

    Args:
        package: The workbook.
        known: Formula cells that show the right value: they keep it.
    """
    aside = laid_aside(package, known)
    parts = {name: aside.parts.get(name) or package.read(name) for name in _worksheets(package)}
    texts = {text for part in parts.values() for text in _FORMULA.findall(part)}
    products = (t.decode("utf-8", "replace") for t in texts if b"SUMPRODUCT" in t.upper())
    if any(map(_wrong, products)):
        return None
    book = _book_of_names_used(package, texts)
    unread = _unread_sheets(package, parts, texts, book)
    try:
        answer = _engine(package.to_stored_bytes(parts | book | unread))
    except EngineRefuses:
        return None
    summary = answer["summary"]
    if summary["status"] != "success" or summary["unknown_functions"]:
        return None
    left = {part: content for part, content in parts.items() if part not in unread}
    changes = _worksheets_that_differ(left, answer["bytes"], aside)
    return recalculated(package) if changes is None else package.changed(changes)


def _worksheets_that_differ(
    parts: Mapping[str, bytes], data: bytes, aside: Aside
) -> dict[str, bytes | None] | None:
    """Worksheets of the engine's file that the one it was given has otherwise.

    Formulas that were set aside stand in them again; None where one finds no place.
    """
    changes: dict[str, bytes | None] = {}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for part, given in parts.items():
            content: bytes | None = archive.read(part)
            if content == given or content is None:
                continue
            if part in aside.formulas:
                content = put_back(content, aside.formulas[part])
                if content is None:
                    return None
            changes[part] = content
    return changes


def _worksheets(package: Package) -> list[str]:
    theirs = {part_key(info.part) for info in package.sheets if info.kind == "worksheet"}
    return [part for part in package.parts if part_key(part) in theirs]


def _book_of_names_used(package: Package, formulas: Collection[bytes]) -> dict[str, bytes]:
    """The part that lists the names, without those of several words that no formula reads.

    Print areas and the like are such names too. The engine takes none of these, and looks every
    formula through for each; any other costs it time as well.
    """
    book = package.read(package.main_part)
    said = [*formulas, *_NAMED.findall(book)]
    if b"indirect(" in b"\n".join(said).lower():  # whose names may be put together
        return {}
    used = set(_WORD.findall(b"\n".join(text for text in said if b"_" in text).lower()))

    def kept(match: re.Match[bytes]) -> bytes:
        return match[0] if match[1].lower() in used else b""

    return {package.main_part: _NAME.sub(kept, book)}


def _unread_sheets(
    package: Package,
    parts: Mapping[str, bytes],
    formulas: Collection[bytes],
    book: Mapping[str, bytes],
) -> dict[str, bytes]:
    """Sheets without formulas that no formula names, empty: texts alone take the engine time too.

    None where a formula may read a sheet that it does not name: through a block of several, or
    by a text that is put together.
    """
    named = _NAMED.findall(book.get(package.main_part) or package.read(package.main_part))
    said = b"\n".join((*formulas, *named)).lower()
    if b"indirect(" in said or _SEVERAL_SHEETS.search(said):
        return {}
    by_key = {part_key(part): part for part in parts}
    empty = f'<worksheet xmlns="{package.namespace}"><sheetData/></worksheet>'.encode()
    return {
        part: empty
        for info in package.sheets
        if (part := by_key.get(part_key(info.part))) is not None
        and _PLAIN_TITLE.fullmatch(info.name)
        and info.name.lower().encode() not in said
        and not _ANY_FORMULA.search(parts[part])
        and b"tablePart" not in parts[part]
    }


def with_caches(package: Package, values: Mapping[tuple[str, str], Value]) -> Package:
    """The package whose formula cells show the given values; nothing else in it changes.

    A formula cell without a value loses its old one, as nothing may show a number from before,
    and spreadsheet programs are told to calculate on opening. Values of cells that hold no
    formula are left out.

    Raises:
        FileError: If a value can't be stored.
    """
    edits: dict[tuple[str, str], Edit] = {}
    for sheet, row, column, _ in formula_cells(package):
        key = (sheet, address(row, column))
        edits[key] = Cache(values.get(key))
    names = {info.name for info in package.sheets if info.kind == "worksheet"}
    inside = [(name, area) for name in names for area in grid(package, name).multi]
    if inside:
        edits.update((key, Cache(v)) for key, v in values.items() if key not in edits)
    return patched(package, {key: edit for key, edit in edits.items() if key[0] in names})


def _refused(formulas: Iterable[Cell], reason: str) -> Recalculated:
    cells = tuple((s, address(r, c)) for s, r, c in formulas)
    reason = reason.rpartition(": ")[2].strip().rstrip(".")[:120] or "no reason given"
    note = (
        f"The workbook's formulas can't be evaluated here ({reason}); they get their values "
        "when a spreadsheet program opens the file."
    )
    return Recalculated(MappingProxyType({}), False, note, cells, frozenset(cells))


def _pictures(package: Package) -> list[Cell]:
    """Cells that show a picture or another rich value, of which the engine knows nothing."""
    return [
        (info.name, *place)
        for info in package.sheets
        if info.kind == "worksheet"
        for place, cell in grid(package, info.name).cells.items()
        if cell.get("vm") is not None
    ]


def _failed(formulas: Mapping[Cell, CellValue], unknown: frozenset[str]) -> list[Cell]:
    """Formula cells whose value from the engine can't be trusted."""
    pattern = (
        re.compile(rf"(?<![\w.])(?:{'|'.join(map(re.escape, sorted(unknown)))})\(", re.IGNORECASE)
        if unknown
        else None
    )
    return [
        cell
        for cell, content in formulas.items()
        if content.kind == "table"
        or (pattern and pattern.search(content.formula or ""))
        or _wrong(content.formula or "")
    ]


def _wrong(formula: str) -> bool:
    """Whether the engine is known to give a wrong value for a formula."""
    text = formula.upper()
    product = _BY_PRODUCT.search(text)
    return product is not None and _BY_CRITERIA.search(text, product.end()) is not None


def _vocabulary(contents: Iterable[CellValue]) -> tuple[set[str], set[str]]:
    """Words (casefolded) and function names (upper case) of all formulas."""
    text = "\n".join({content.formula or "" for content in contents})
    words, functions = set(), set()
    for match in WORD.finditer(text):
        if match[2]:
            functions.add(match[1].upper())
        elif match[1]:
            words.add(match[1].casefold())
    return words, functions


def _unknown_functions(functions: set[str]) -> frozenset[str]:
    """Which of these functions the engine lacks, asked by calling each once.

    Its own report leaves out those whose error an IFERROR hides.
    """
    asked = sorted(functions)
    cells = "".join(f'<c r="{address(1, i)}"><f>{f}()</f></c>' for i, f in enumerate(asked, 1))
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData><row r="1">{cells}</row></sheetData></worksheet>'
    book = (
        f'<workbook xmlns="{MAIN}" xmlns:r="{RELATION}"><sheets>'
        '<sheet name="A" sheetId="1" r:id="s1"/></sheets></workbook>'
    )
    links = [("s1", "worksheet", "worksheets/sheet1.xml")]
    parts = {"xl/worksheets/sheet1.xml": sheet.encode()}
    summary = _engine(assembled(book.encode(), links, parts))["summary"]
    lacking = {entry["name"].upper() for entry in summary["unknown_functions"]}
    return frozenset(f for f in asked if f in lacking or f.removeprefix("_XLFN.") in lacking) | (
        functions & _ENVIRONMENT
    )


def _values(
    result: Package, package: Package, formulas: Iterable[Cell]
) -> dict[tuple[str, str], Value]:
    names = [info.name for info in package.sheets]
    grids = {name: grid(result, name) for name in {sheet for sheet, _, _ in formulas}}
    found: dict[tuple[str, str], Value] = {}
    for sheet, row, column in formulas:
        found[sheet, address(row, column)] = grids[sheet].value(row, column).value
    for name in names:
        if name in grids:
            for area in grid(package, name).multi:
                for place in area.cells():
                    found.setdefault((name, address(*place)), grids[name].value(*place).value)
    return found
