"""Builds the template: every sheet with its texts, formulas, names, styles and rules.

The same model always gives the same bytes: dates are fixed and nothing depends on the day.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Callable, Mapping
from typing import Any

from openpyxl import Workbook
from openpyxl.packaging.custom import StringProperty
from openpyxl.styles import Font
from openpyxl.utils.indexed_list import IndexedList
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.workbook.properties import CalcProperties

from estimator.engine import Model
from estimator.workbook.package.a1 import range_text
from estimator.workbook.package.shared_formulas import share_formulas
from estimator.workbook.template.charts import described, descriptions
from estimator.workbook.template.entries import write_typed
from estimator.workbook.template.finish import finish_sheets
from estimator.workbook.template.grid import NORMAL
from estimator.workbook.template.layout import Layout, layout
from estimator.workbook.template.made_sheet import write_made_from
from estimator.workbook.template.names import TEMPLATE_VERSION, VERSION, names
from estimator.workbook.template.painter import Painter
from estimator.workbook.template.record_sheets import write_lists, write_snapshot
from estimator.workbook.template.sheet_texts import write_sheet
from estimator.workbook.template.styles import FONT, STYLES, named_style
from estimator.workbook.template.terms import write_terms
from estimator.workbook.template.text_size import BASE_SIZE
from estimator.workbook.template.writer import formulas

MADE = dt.datetime(2026, 1, 1)
"""Date that every template bears, so that two builds are the same file."""

Decorate = Callable[[Workbook, Layout], None]


def build_template(
    model: Model,
    typed: Mapping[tuple[str, int], Any] | None = None,
    decorate: Decorate | None = None,
) -> Workbook:
    """The template as an open workbook.

    Args:
        model: The rows and solvers.
        typed: What stands in the typed cells, by key and place: number of the option or of the
            table row from 0, 0 for a job input. None puts every field's default there.
        decorate: Adds charts and pictures to the finished workbook.

    Raises:
        RowError: If the model can't be laid out, or a row can't be a formula.
    """
    plan = layout(model)
    book = Workbook()
    book.remove(book.worksheets[0])
    _own_font(book)
    for style in STYLES:
        book.add_named_style(named_style(style))
    large = {name for name, sheet in plan.sheets.items() if sheet.size > NORMAL}
    painters = {n: Painter(book.create_sheet(n), large=n in large) for n in plan.order}
    for name, sheet in plan.sheets.items():
        write_sheet(painters[name], plan, sheet)
    write_lists(painters, plan, TEMPLATE_VERSION)
    write_snapshot(painters, plan)
    write_terms(painters, plan)
    write_typed(painters, plan, typed)
    for (name, cell), text in formulas(model, plan).items():
        painters[name].sheet[cell].value = f"={text}"
    found = names(plan)
    for name, reference in found.items():
        book.defined_names[name] = DefinedName(name, attr_text=reference)
    finish_sheets(painters, plan)
    _properties(book, model)
    if decorate is not None:
        decorate(book, plan)
    write_made_from(book, found)
    return book


def template_bytes(
    model: Model,
    typed: Mapping[tuple[str, int], Any] | None = None,
    decorate: Decorate | None = None,
) -> bytes:
    """The template as the bytes of an .xlsx file; the same for the same arguments.

    Raises:
        RowError: If the model can't be laid out, or a row can't be a formula.
    """
    return workbook_bytes(build_template(model, typed, decorate), typed_texts(layout(model)))


def typed_texts(plan: Layout) -> dict[str, str]:
    """By sheet, the cells where a number is a text on purpose (lengths above all)."""
    found: dict[str, list[str]] = {}
    for key, place in plan.places.items():
        if place.typed is not None and plan.entry(key).kind in ("length", "text", "choice", "key"):
            found.setdefault(place.sheet, []).append(range_text(place.typed))
    return {sheet: " ".join(areas) for sheet, areas in found.items()}


def workbook_bytes(book: Workbook, texts: Mapping[str, str] | None = None) -> bytes:
    """A workbook's file with fixed dates in the package and in its properties.

    Args:
        book: The workbook.
        texts: By sheet, the cells where spreadsheets shall not warn of numbers stored as text.
    """
    raw = io.BytesIO()
    book.save(raw)
    quiet = {
        f"xl/worksheets/sheet{book.sheetnames.index(name) + 1}.xml": cells
        for name, cells in (texts or {}).items()
    }
    charts = descriptions(book)
    packed = io.BytesIO()
    with (
        zipfile.ZipFile(raw) as source,
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for name in source.namelist():
            data = source.read(name)
            if name == "docProps/core.xml":
                data = _MODIFIED.sub(rb"\g<1>" + f"{MADE.isoformat()}Z".encode() + rb"\g<2>", data)
            if name == "xl/workbook.xml":
                data = _NAMES.sub(_by_name, data)
            if name == "xl/styles.xml":
                data = _FONT.sub(_ordered, data)
            if name in charts:
                data = described(data, charts[name])
            if name in quiet:
                data = data.replace(b"</headerFooter>", _ignored(quiet[name]), 1)
            if name.startswith("xl/worksheets/sheet"):
                data = share_formulas(data)
            target.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def _by_name(match: re.Match[bytes]) -> bytes:
    """The defined names in the order of spreadsheets: print areas before print titles.

    LibreOffice opens the workbook in three quarters of the time that any other order takes.
    """
    names = sorted(_NAME.findall(match[2]), key=lambda name: name[: name.index(b">")].lower())
    return match[1] + b"".join(names) + match[3]


def _ordered(match: re.Match[bytes]) -> bytes:
    """A font whose parts stand in the order that the file format's schema gives."""
    parts = sorted(
        _FONT_PART.findall(match[2]), key=lambda part: _FONT_ORDER.index(part[0].decode())
    )
    return match[1] + b"".join(whole for _, whole in parts) + match[3]


def _ignored(cells: str) -> bytes:
    rule = f'<ignoredError sqref="{cells}" numberStoredAsText="1"/>'
    return f"</headerFooter><ignoredErrors>{rule}</ignoredErrors>".encode()


_NAMES = re.compile(rb"(<definedNames>)(.*)(</definedNames>)", re.DOTALL)
_NAME = re.compile(rb"<definedName .*?</definedName>", re.DOTALL)
_FONT = re.compile(rb"(<font>)(.*?)(</font>)")
_FONT_PART = re.compile(rb"(?=<(\w+))(<\w+[^>]*/>)")
_FONT_ORDER = (
    "b", "i", "strike", "condense", "extend", "outline", "shadow", "u", "vertAlign", "sz", "color",
    "name", "family", "charset", "scheme",
)  # fmt: skip
_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")


def _own_font(book: Workbook) -> None:
    """Let the font of plain cells, in whose digits columns are measured, be the workbook's own."""
    styles: Any = book
    styles._fonts = IndexedList([Font(name=FONT, size=BASE_SIZE)])
    styles._named_styles["Normal"].font = Font(name=FONT, size=BASE_SIZE)


def _properties(book: Workbook, model: Model) -> None:
    book.properties.title = model.sheets[0].title
    book.properties.creator = "estimator"
    book.properties.created = MADE
    book.properties.modified = MADE
    properties: Any = book  # the published types don't know custom properties
    properties.custom_doc_props.append(StringProperty(name=VERSION, value=TEMPLATE_VERSION))
    book.calculation = CalcProperties(fullCalcOnLoad=True)
    book.active = 0
