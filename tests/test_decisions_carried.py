"""A number decided over a solved single value goes along with a restore and an upgrade.

In metres an upgrade alone is tried; with the environment variable DECISIONS set to ``all``, all.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass

import numpy as np
import pytest
from books import Refilled, edited, opened, spot, value
from rich_workbooks import change_part

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.rows import mark_of
from estimator.workbook.carry.next_job import unsolved_bytes
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.carry.restore import restored
from estimator.workbook.carry.solved_record import solved_record
from estimator.workbook.carry.upgrade import upgraded
from estimator.workbook.package.a1 import range_text
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file import refill_bytes
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.names import VERSION
from estimator.workbook.template.shipped import template_of
from estimator.workbook.template.snapshot import SNAPSHOT_VALUE

pytestmark = pytest.mark.slow
ALL = os.environ.get("DECISIONS") == "all"
DECIDED = 5.0
AGREED = "frame_courses"
"""Another decision: the very number that the solver gives, marked as a decision."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A refilled demo with decisions over solved values, and its template."""

    model: Model
    template: Package
    corner: str
    solved: float
    data: bytes

    def refill(self, data: bytes) -> Refilled:
        """As ``estimator refill`` leaves it."""
        return Refilled(*refill_bytes(data, self.model, "shed.xlsx"))


@pytest.fixture(scope="module")
def feet(demo_book: bytes) -> Scene:
    return begun(build_model(), demo_book)


@pytest.fixture(scope="module")
def metres(metric_demo_book: bytes) -> Scene:
    return begun(metric(build_model()), metric_demo_book)


@pytest.fixture(params=["feet", "metres"] if ALL else ["feet"])
def scene(request: pytest.FixtureRequest) -> Scene:
    """What is carried does not know of measures: one is enough unless all is asked for."""
    found: Scene = request.getfixturevalue(request.param)
    return found


def begun(model: Model, demo: bytes) -> Scene:
    """A demo in which a solved number and the very one that was solved are decided."""
    shipped = template_of(model)
    corner = model.name("ground_corner_1_ft")
    courses = value(demo, (AGREED, 0))
    more = edited(demo, {(corner, 0): DECIDED, (AGREED, 0): courses + 1})
    data = refill_bytes(more, model, "shed.xlsx")[0]
    marked = edited(data, {record_spot(data, AGREED, "A"): "typed over"})
    return Scene(
        model,
        Package.open(shipped.read_bytes(), label=shipped.name),
        corner,
        value(demo, (corner, 0)),
        marked,
    )


def record_spot(data: bytes, key: str, option: str) -> tuple[str, int, int]:
    """Where the workbook keeps what a solver gave."""
    record = solved_record(FilePort(opened(data)))
    assert record is not None
    row, column = record[key, option, 0].place
    return SNAPSHOT_VALUE, column, row


def with_a_line_less(data: bytes, *names: str) -> bytes:
    """The workbook as it is after a row of each name's cells was deleted, as far as names tell."""
    ranges = FilePort(opened(data)).ranges()
    for name in names:
        sheet, area = ranges[name]
        text = "$" + range_text(area._replace(row2=area.row2 - 1)).replace(":", ":$")
        text = re.sub(r"([A-Z])(\d)", r"\1$\2", text)
        pattern = re.compile(rb'(<definedName name="' + name.encode() + rb'">)[^<]*')
        shorter = f"'{sheet}'!{text}".encode()
        data = change_part(
            data, "xl/workbook.xml", lambda c, p=pattern, s=shorter: p.sub(rb"\g<1>" + s, c)
        )
    return data


def table_on(scene: Scene, sheet: str) -> str:
    """A column of a solved list on a sheet."""
    return next(
        key
        for key, item in scene.model.quantities.items()
        if item.sheet == sheet and item.axis and item.role in ("solved", "row")
    )


def restore(scene: Scene, broken: bytes) -> Replaced:
    return restored(Package.open(broken, label="shed.xlsx"), scene.template)


def assert_decided(scene: Scene, done: Refilled) -> None:
    """Both decisions are in force and on record, and every total is as before."""
    corner = scene.model.quantities[scene.corner]
    assert value(done.data, (scene.corner, 0)) == DECIDED
    assert value(done.data, record_spot(done.data, scene.corner, "A")) == pytest.approx(
        scene.solved, abs=1e-9
    )
    assert {o.label for o in done.refill.typed_over} == {
        corner.label,
        scene.model.quantities[AGREED].label,
    }
    assert value(done.data, (AGREED, 0)) == value(scene.data, (AGREED, 0))
    for option in range(4):
        assert value(done.data, ("total_cost", option)) == pytest.approx(
            value(scene.data, ("total_cost", option)), rel=1e-9
        )


def test_a_decision_on_a_damaged_sheet_is_restored_with_it(scene: Scene) -> None:
    sheet = scene.model.quantities[scene.corner].sheet
    broken = with_a_line_less(scene.data, table_on(scene, sheet))
    done = restore(scene, broken)
    assert done.notes[0].startswith(f"The sheet {sheet} is whole again")
    assert not any("Not carried over" in note for note in done.notes)
    assert_decided(scene, scene.refill(done.data))


def test_the_record_of_what_was_solved_is_restored_where_it_can_still_be_read(
    scene: Scene,
) -> None:
    broken = with_a_line_less(scene.data, "snapshot_changed")
    done = restore(scene, broken)
    assert done.notes[0].startswith("The sheet Solved From is whole again")
    refilled = scene.refill(done.data)
    assert not any("typed into this solved list" in note for note in refilled.notes)
    assert_decided(scene, refilled)


def test_decisions_that_no_record_tells_any_more_are_said_by_name(scene: Scene) -> None:
    broken = with_a_line_less(scene.data, SNAPSHOT_VALUE)
    done = restore(scene, broken)
    for name in (scene.corner, AGREED):
        place = "!".join(spot(scene.data, (name, 0)))
        assert any(note.startswith(f"Not carried over: {place}:") for note in done.notes), name
    refilled = scene.refill(done.data)
    assert refilled.refill.typed_over == ()
    assert value(refilled.data, (scene.corner, 0)) == pytest.approx(scene.solved, abs=1e-9)


@pytest.mark.parametrize("measure", ["feet", "metres"])
def test_an_upgrade_carries_a_decision_and_what_the_solver_gave(
    measure: str, request: pytest.FixtureRequest
) -> None:
    scene: Scene = request.getfixturevalue(measure)
    older = edited(scene.data, {VERSION: "1"})
    done = upgraded(Package.open(older, label="shed.xlsx"), scene.template, {})
    assert not any("Not carried over" in note for note in done.notes)
    assert value(done.data, record_spot(done.data, AGREED, "A")) == "typed over"
    assert_decided(scene, scene.refill(done.data))


def test_a_workbook_that_waits_for_inputs_keeps_the_decision_and_is_marked(scene: Scene) -> None:
    older = edited(scene.data, {VERSION: "1"})
    carried = upgraded(Package.open(older, label="shed.xlsx"), scene.template, {}).package
    blank = unsolved_bytes(carried, scene.model)
    assert value(blank, (scene.corner, 0)) == DECIDED
    assert not value(blank, (scene.corner, 1))
    found = check_book(FilePort(opened(blank)), scene.model)
    assert found.stale["ground"] == 2
    assert value(blank, (mark_of("ground"), 0)) == 2
    assert value(blank, "overall_flag").startswith("NOT VALID")
    assert np.asarray(found.values[scene.corner])[0, 0] == DECIDED
    assert_decided(scene, scene.refill(blank))
