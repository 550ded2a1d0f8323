"""From a plain new workbook to a decision: a dozen cells, nine readings and one refill.

Cells are typed into in feet and questions answered in metric; with the environment variable
FIRST_ANSWER set to ``all``, both in both.
"""

from __future__ import annotations

import io
import os
import sys
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import spot, value
from office import Office, needs_office

from estimator.cli import main
from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import KIND_NAMES
from estimator.questions import QUESTIONS
from estimator.rows import OPTION_KEYS
from estimator.typed_job import default_job
from estimator.workbook.package.a1 import parse_cell
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.file import create_workbook, refill_bytes
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import Refill, check_book

pytestmark = pytest.mark.slow
ALL = os.environ.get("FIRST_ANSWER") == "all"


@dataclass(frozen=True, slots=True)
class Person:
    """What somebody types: the answers to the questions in their order, and the readings.

    Args:
        numbers: Answers that a cell holds as a number.
    """

    flag: tuple[str, ...]
    answers: tuple[str, ...]
    readings: tuple[str, ...]
    numbers: tuple[str, ...]

    def entry(self, text: str) -> str | float:
        """An answer as it is typed into a cell."""
        return float(text.replace(",", ".")) if text in self.numbers else text


PEOPLE = {
    "feet": Person(
        (),
        (
            *("Tool shed", "Invented lot 7", "14'", "10 ft", "right", "30 in", "40", "110"),
            *("clay", "machine", "drops"),
        ),
        ("0", "1.5 in", "3 1/2 in", "5 in", "8 in", "7.5 in", "0-6", "3 in", "4 1/4 in"),
        ("40", "110"),
    ),
    "metric": Person(
        ("--metric",),
        (
            *("Garden room", "Invented lot 8", "4,2 m", "3", "back", "600", "1,5", "40"),
            *("sand", "by hand", "rod readings"),
        ),
        ("1,40", "1,42", "1,47 m", "1.5", "155 cm", "1,52", "1,48", "1,43", "1,46"),
        ("1,5", "40"),
    ),
}


def model_of(measure: str) -> Model:
    return metric(build_model()) if measure == "metric" else build_model()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("first")


@lru_cache(maxsize=2)
def typed_in_cells(measure: str, folder: Path) -> tuple[bytes, Refill, tuple[str, ...]]:
    """A plain workbook, typed into in LibreOffice, saved there and refilled once."""
    model, person = model_of(measure), PEOPLE[measure]
    made = create_workbook(folder / f"{measure}.xlsx", model, default_job(model=model))
    plain = made.path.read_bytes()
    entries: dict[Any, Any] = {
        f"in_{model.name(key)}": person.entry(answer)
        for key, answer in zip(QUESTIONS, person.answers, strict=True)
    }
    for row, reading in enumerate(person.readings):
        entries[f"in_{model.name('quick_reading_ft')}", 0, row] = reading
    assert len(entries) <= 12 + 9
    with Office(plain) as office:
        places = {where: spot(plain, where) for where in entries}
        cells = {(s, *parse_cell(a)): entries[where] for where, (s, a) in places.items()}
        seen = office.edit(cells, read=["Start"])
        assert seen["Start"][2][0].startswith("OUT OF DATE"), "typed, and not yet worked out"
        typed = office.saved()
    return refill_bytes(typed, model, "plain.xlsx")


def typed_of(data: bytes, model: Model) -> dict[tuple[str, int], Any]:
    """What stands in the typed cells, blanks left out."""
    return dict(read_book(FilePort(Package.open(data, label="book.xlsx")), model).typed.cells)


def assert_decided(data: bytes, model: Model) -> None:
    """A workbook that is valid, prices every kind and names an option that passes."""
    assert value(data, "inputs_ok") == 1
    assert value(data, "open_points") == 0
    options = range(len(KIND_NAMES))
    assert [value(data, ("option_kind", o)) for o in options] == list(KIND_NAMES)
    assert all(value(data, ("total_cost", o)) > 1000 for o in options), "all kinds are priced"
    assert value(data, "incomplete_options") == 0
    assert [value(data, (model.name("guessed_share"), o)) for o in options] == [0] * len(options)
    letter = value(data, "cheapest_name")
    passing = [
        value(data, ("total_cost", o)) for o in options if value(data, ("checks_failed", o)) == 0
    ]
    assert value(data, "chosen_failed") == 0
    assert value(data, "chosen_total") == min(passing)
    title = value(data, "chosen_title")
    kind = KIND_NAMES[OPTION_KEYS.index(letter)]
    assert title == f"{letter} {kind}: none is typed, so the cheapest that passes"
    assert value(data, "overall_flag").startswith(("LOOK: nothing fails", "OK: nothing fails"))
    checked = check_book(FilePort(Package.open(data, label="book.xlsx")), model)
    assert checked.stale == {}
    assert checked.typed_over == ()


@needs_office
@pytest.mark.parametrize("measure", PEOPLE if ALL else ["feet"])
def test_a_dozen_cells_nine_readings_and_one_refill_are_a_decision(
    measure: str, folder: Path
) -> None:
    model = model_of(measure)
    data, refill, notes = typed_in_cells(measure, folder)
    assert notes == ()
    assert_decided(data, model)
    with Office(data) as office:
        office.edit({})
        again = office.saved()
    assert_decided(again, model)
    for option in range(len(KIND_NAMES)):
        total = float(np.asarray(refill.values["total_cost"])[option, 0])
        assert value(again, ("total_cost", option)) == pytest.approx(total, rel=1e-9)


@pytest.mark.parametrize("measure", PEOPLE if ALL else ["metric"])
def test_the_same_by_the_questions_is_the_same_workbook(
    measure: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    model, person = model_of(measure), PEOPLE[measure]
    monkeypatch.chdir(tmp_path)
    asked = () if person.flag else ("",)
    name, *rest = person.answers
    lines = io.StringIO("\n".join((*asked, name, "", *rest, *person.readings)) + "\n")
    monkeypatch.setattr(lines, "isatty", lambda: True)
    monkeypatch.setattr(sys, "stdin", lines)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    assert main(["new", *person.flag]) == 0
    said = capsys.readouterr().out
    (path,) = tmp_path.glob("*.xlsx")
    assert path.stem == person.answers[0].casefold().replace(" ", "_")
    data = path.read_bytes()
    assert_decided(data, model)
    assert value(data, "chosen_title") in said
    typed = typed_of(data, model)
    for key, answer in zip(QUESTIONS, person.answers, strict=True):
        assert typed[model.name(key), 0] == person.entry(answer)
    for row, reading in enumerate(person.readings):
        assert typed[model.name("quick_reading_ft"), row] == reading
