"""A workbook is opened once a run, and nothing that is made of it on the way is opened again."""

from __future__ import annotations

from pathlib import Path

import planters
import pytest
from books import edited, value
from test_restore import without_name

from estimator.model import build_model
from estimator.model.carry_over import RENAMED, job_specific, unasked
from estimator.typed_job import DEMO_JOB
from estimator.workbook.carry.next_job import start_next
from estimator.workbook.carry.restore import restore_workbook
from estimator.workbook.carry.upgrade import upgrade_workbook
from estimator.workbook.package import parts
from estimator.workbook.package.container import Entry, Limits
from estimator.workbook.refill.file import refill_workbook
from estimator.workbook.template import shipped
from estimator.workbook.template.names import VERSION
from estimator.workbook.template.shipped import template_of

pytestmark = pytest.mark.slow
BOOK = "shed.xlsx"


@pytest.fixture
def book(fresh_template: Path, demo_book: bytes, tmp_path: Path) -> Path:
    """The demo on disk; the template's formulas are known, as a process reads them once."""
    assert fresh_template.exists()
    shipped.shipped(template_of(build_model()))
    path = tmp_path / BOOK
    path.write_bytes(demo_book)
    return path


@pytest.fixture
def read(book: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Label of every file that is read as a package, in order."""
    assert book.exists()
    labels: list[str] = []
    entries = parts.read_entries

    def counted(data: bytes, label: str, limits: Limits) -> tuple[Entry, ...]:
        labels.append(label)
        return entries(data, label, limits)

    monkeypatch.setattr(parts, "read_entries", counted)
    return labels


def test_a_refill_opens_the_workbook_once(book: Path, read: list[str]) -> None:
    book.write_bytes(planters.planted())
    read.clear()
    refill_workbook(book, planters.model())
    assert read == [BOOK]


def test_a_refill_with_a_formula_of_ones_own_opens_it_once_whatever_the_rounds(
    book: Path, read: list[str]
) -> None:
    book.write_bytes(edited(planters.planted(), {("volume_ft3", 0): "=SUM(1,6)"}))
    read.clear()
    refill_workbook(book, planters.model())
    assert read == [BOOK]
    assert value(book.read_bytes(), ("volume_ft3", 0)) == 7


def test_restore_and_upgrade_open_the_workbook_and_the_template_once_each(
    book: Path, demo_book: bytes, read: list[str]
) -> None:
    template = template_of(build_model()).name
    book.write_bytes(edited(demo_book, {VERSION: "1"}))
    read.clear()
    upgrade_workbook(book, build_model(), RENAMED, unasked)
    assert read == [BOOK, template]
    book.write_bytes(without_name(book.read_bytes(), "in_soil"))
    read.clear()
    restore_workbook(book, build_model())
    assert read == [BOOK, template]


def test_the_next_job_opens_the_last_workbook_once(book: Path, read: list[str]) -> None:
    model = build_model()
    start_next(book, book.with_name("next.xlsx"), model, job_specific(model), DEMO_JOB)
    assert read == [BOOK]
