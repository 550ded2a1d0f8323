"""The template that the project ships: where it is, and the formulas that it holds."""

from __future__ import annotations

import html
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from estimator.engine import Model
from estimator.workbook.package.a1 import Range, parse_range
from estimator.workbook.package.parts import Package, read_file

TEMPLATE = Path(__file__).resolve().parents[3] / "workbook_templates" / "outbuilding_base.xlsx"
METRIC_TEMPLATE = TEMPLATE.with_name("outbuilding_base_metric.xlsx")


def template_of(model: Model) -> Path:
    """The shipped template of a model's system of measure."""
    return METRIC_TEMPLATE if model.measure == "metric" else TEMPLATE


_FORMULA = re.compile(rb'<c r="([A-Z]+[0-9]+)"[^>]*><f>([^<]*)</f>')


@dataclass(frozen=True, slots=True)
class Shipped:
    """Formulas by sheet and address, and the ranges of the defined names.

    A cell of a range that did not move, with the very text that it was shipped with, is nobody's
    change: most are told so, without writing out the model's twenty thousand formulas.
    """

    formulas: Mapping[tuple[str, str], str]
    ranges: Mapping[str, tuple[str, Range]]


def shipped(template: Path) -> Shipped:
    """What stands in a shipped template, as it stands in its file; kept until that changes."""
    stat = template.stat() if template.exists() else None
    return _shipped(template, (stat.st_mtime_ns, stat.st_size) if stat else None)


@lru_cache(maxsize=4)
def _shipped(template: Path, state: tuple[int, int] | None) -> Shipped:  # noqa: ARG001
    package = Package.open(read_file(template), label=template.name)
    found = {
        (info.name, cell.decode()): html.unescape(text.decode()) if b"&" in text else text.decode()
        for info in package.sheets
        if info.kind == "worksheet"
        for cell, text in _FORMULA.findall(package.read(info.part))
    }
    ranges = {
        name: (target.sheet, parse_range(target.ref))
        for name, target in package.names.items()
        if not target.broken and target.ref
    }
    return Shipped(found, ranges)
