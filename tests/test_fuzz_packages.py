"""Damaged and hostile copies of a small workbook, drawn at random: a sentence, and no harm.

``FUZZ_PACKAGES=2000`` takes that many, ``FUZZ_SEED=7`` others; ``scripts/fuzz_packages.py`` tries
the whole workbook.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from test_scripts import load
from toy_model import TYPED, toy_model

from estimator.errors import EstimatorError
from estimator.typed_job import read_inputs
from estimator.workbook.package.cells import patched
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculate, recalculated, with_caches
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.changes import Formulas
from estimator.workbook.refill.damage import faults
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.made_with import read_made_from, record_damage
from estimator.workbook.template.build import build_template, workbook_bytes

fuzz = load("fuzz_packages")
MODEL = toy_model()
WORKBOOK = workbook_bytes(build_template(MODEL, TYPED))
COPIES = int(os.environ.get("FUZZ_PACKAGES", "300"))
SEED = int(os.environ.get("FUZZ_SEED", "1"))
SHARES = 10


def used(path: Path) -> tuple[int, str]:
    """What reading, restoring and refilling do with a file of the small model, and its sentence."""
    try:
        package = Package.open(path)
        port = FilePort(package)
        record_damage(port)
        faults(port, read_made_from(port).ranges)
        book = read_book(port, MODEL)
        read_inputs(MODEL, book.typed)
        formulas = Formulas(MODEL, book, port)
        formulas.displaced(tuple(formulas.changed()))
        written = patched(package, {("Job", "H40"): 5.0, ("Job", "H41"): "words"})
        fresh = recalculated(written)
        if fresh is None:
            fresh = with_caches(written, recalculate(written).values)
        path.write_bytes(fresh.to_bytes())
        Package.open(path)
    except EstimatorError as error:
        return 2, f"estimator: {error}\n"
    return 0, ""


@pytest.mark.parametrize("share", range(SHARES))
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_hostile_copies_are_read_or_refused_in_one_sentence(share: int, tmp_path: Path) -> None:
    path, codes = tmp_path / "planters.xlsx", set()
    for number in range(share, COPIES, SHARES):
        what, copy = fuzz.copy_of(WORKBOOK, SEED, number)
        code, found = fuzz.tried(path, copy, lambda: used(path))
        assert not found, f"copy {number} of seed {SEED} ({what}): {found}"
        codes.add(code)
    assert codes == {0, 2}


def test_whole_copy_is_read_and_a_fault_would_be_told(tmp_path: Path) -> None:
    path = tmp_path / "planters.xlsx"
    assert fuzz.tried(path, WORKBOOK, lambda: used(path)) == (0, [])
    _, raised = fuzz.tried(path, WORKBOOK, lambda: 1 / 0)
    assert "ZeroDivisionError" in raised[0]
    assert fuzz.fault_of(2, "estimator: KeyError: 'x'\n")
    assert fuzz.fault_of(2, "one\ntwo\n")
    assert fuzz.fault_of(4, "")
