"""The template that the project ships: where it is, and the formulas that it holds."""

from __future__ import annotations

import html
import io
import logging
import os
import re
import zipfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from estimator.engine import Model
from estimator.errors import FileError
from estimator.resources import shipped_folder
from estimator.workbook.package.a1 import Range, parse_range
from estimator.workbook.package.parts import Package, read_file
from estimator.workbook.package.shared_formulas import written_out

_LOG = logging.getLogger(__name__)

FOLDER = shipped_folder("workbook_templates")
TEMPLATE = FOLDER / "outbuilding_base.xlsx"
METRIC_TEMPLATE = FOLDER / "outbuilding_base_metric.xlsx"
DESCRIBED = ".txt"
"""Ending of the description that a checkout keeps of a template; its first line is a checksum."""


def template_of(model: Model) -> Path:
    """The shipped template of a model's system of measure, built first where it has to be.

    Raises:
        FileError: If it has to be built and can't be written.
    """
    metric = model.measure == "metric"
    return current(METRIC_TEMPLATE if metric else TEMPLATE, metric=metric)


def current(path: Path, *, metric: bool) -> Path:
    """A template that was built for the description beside it.

    A checkout holds the description alone: the first use of it, and the first after another
    description came in, builds the template, which takes seconds. An installed package holds
    the template and no description.

    Raises:
        FileError: If it has to be built and can't be written, or its description can't be read.
    """
    described = _described(path.with_suffix(DESCRIBED))
    if described is not None and not _bears(path, described):
        _LOG.info("Building the template, once")
        write_template(path, built(metric=metric), described)
    return path


def _described(text: Path) -> bytes | None:
    """The checksum that a description begins with; None where there is no description."""
    try:
        with text.open("rb") as file:
            return file.readline().strip()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileError(
            f"the description of the template can't be read ({error.strerror}).",
            where=str(text),
            cure="Put the project in a folder of your own, or install it: pip install .",
        ) from None


def _bears(path: Path, mark: bytes) -> bool:
    """Whether a file ends in a mark, as a package does that has it for its comment."""
    try:
        with path.open("rb") as file:
            file.seek(-len(mark), os.SEEK_END)
            return file.read() == mark
    except OSError:
        return False


def write_template(path: Path, data: bytes, mark: bytes) -> None:
    """Put a template into its place, whole or not at all, with a mark for its comment.

    Raises:
        FileError: If it can't be written.
    """
    marked = io.BytesIO(data)
    with zipfile.ZipFile(marked, "a") as archive:
        archive.comment = mark
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        beside.write_bytes(marked.getvalue())
        beside.replace(path)
    except OSError as error:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        if _bears(path, mark):  # another run built it meanwhile, and has it open
            return
        raise FileError(
            f"the template can't be built here ({error.strerror}).",
            where=str(path),
            cure="Put the project in a folder of your own, or install it: pip install .",
        ) from None


def built(*, metric: bool) -> bytes:
    """A template as the model makes it; the same for the same model."""
    from estimator.metric import metric as in_metres
    from estimator.model import build_model
    from estimator.typed_job import default_cells
    from estimator.workbook.template.build import template_bytes
    from estimator.workbook.template.charts import decorate

    model = in_metres(build_model()) if metric else build_model()
    return template_bytes(model, default_cells(model), decorate)


_FORMULA = re.compile(r'<c r="([A-Z]+[0-9]+)"[^>]*><f>([^<]*)</f>')


@dataclass(frozen=True, slots=True)
class Shipped:
    """Formulas by sheet and address as the file writes them, and the ranges of defined names.

    A cell of a range that did not move, with the very text that it was shipped with, is nobody's
    change: most are told so, without writing out the model's twenty thousand formulas.
    """

    formulas: Mapping[str, Mapping[str, str]]
    ranges: Mapping[str, tuple[str, Range]]

    def stands(self, sheet: str, place: str, text: str) -> bool:
        """Whether this very text stands in a cell, written as the template's formulas are."""
        written = self.formulas.get(sheet, {}).get(place)
        if written is None or "&" not in written:
            return written == text
        escaped = html.escape(text, quote=False).encode("ascii", "xmlcharrefreplace")
        return written == escaped.decode()

    def formula(self, sheet: str, place: str) -> str | None:
        """The formula of a cell as it reads; None where none stands."""
        written = self.formulas.get(sheet, {}).get(place)
        return None if written is None else html.unescape(written)


def shipped(template: Path) -> Shipped:
    """What stands in a shipped template, as it stands in its file; kept until that changes."""
    stat = template.stat() if template.exists() else None
    return _shipped(template, (stat.st_mtime_ns, stat.st_size) if stat else None)


@lru_cache(maxsize=4)
def _shipped(template: Path, state: tuple[int, int] | None) -> Shipped:  # noqa: ARG001
    package = Package.open(read_file(template), label=template.name)
    found = {
        info.name: dict(_FORMULA.findall(written_out(package.read(info.part)).decode()))
        for info in package.sheets
        if info.kind == "worksheet"
    }
    ranges = {
        name: (target.sheet, parse_range(target.ref))
        for name, target in package.names.items()
        if not target.broken and target.ref
    }
    return Shipped(found, ranges)
