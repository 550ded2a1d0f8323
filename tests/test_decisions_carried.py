"""A number decided over a solved single value goes along with a restore and an upgrade.

What is carried is tried on the small workbook of the planters, an upgrade in metres and of the
whole workbook too; with the environment variable DECISIONS set to ``all``, all on all.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import planters
import pytest
from books import Refilled, Spot, edited, opened, refilled, spot, value
from rich_workbooks import change_part
from toy_model import TYPED

from estimator.engine import Model
from estimator.metric import metric
from estimator.model import build_model
from estimator.rows import OPTION_KEYS, mark_of
from estimator.workbook.carry.next_job import unsolved_bytes
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.carry.restore import restored
from estimator.workbook.carry.solved_record import solved_record
from estimator.workbook.carry.upgrade import upgraded
from estimator.workbook.package.a1 import range_text
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.build import template_bytes
from estimator.workbook.template.names import VERSION
from estimator.workbook.template.shipped import template_of
from estimator.workbook.template.snapshot import SNAPSHOT_VALUE

pytestmark = pytest.mark.slow
ALL = os.environ.get("DECISIONS") == "all"
DECIDED = 5.0


@dataclass(frozen=True, slots=True)
class Scene:
    """A refilled workbook with decisions over solved values, and its template.

    Args:
        model: Its model.
        template: What it is restored and upgraded from.
        solver: Gives what was decided.
        decided: The value over which another number was decided.
        agreed: Another decision: the very number that the solver gives, marked as a decision.
        total: A row of every option that comes of them.
        given: What the solver gives the first.
        data: The workbook.
    """

    model: Model
    template: Package
    solver: str
    decided: tuple[str, int]
    agreed: tuple[str, int]
    total: str
    given: float
    data: bytes

    def refill(self, data: bytes) -> Refilled:
        """As ``estimator refill`` leaves it."""
        return refilled(data, "shed.xlsx", self.model)


@pytest.fixture(scope="module")
def planted() -> Scene:
    return begun(planters.model(), planters.template(), planters.planted(), *SMALL)


@pytest.fixture(scope="module")
def planted_in_metres() -> Scene:
    model = metric(planters.model())
    cells = {(model.name(key), n): in_inches(key, v) for (key, n), v in TYPED.items()}
    made = refilled(template_bytes(model, cells), "shed.xlsx", model).data
    template = Package.open(template_bytes(model), label="template")
    return begun(model, template, made, *SMALL)


def in_inches(key: str, value: Any) -> Any:
    """An entry that a workbook in metres reads as the one in feet does."""
    return f"{value} in" if key.endswith("_in") and str(value).isdigit() else value


SMALL = ("buying", ("trips", 0), ("trips", 1), "cost_usd")


@pytest.fixture(scope="module")
def whole(demo_book: bytes) -> Scene:
    return begun(build_model(), of(build_model()), demo_book, *LARGE)


@pytest.fixture(scope="module")
def metres(metric_demo_book: bytes) -> Scene:
    model = metric(build_model())
    return begun(model, of(model), metric_demo_book, *LARGE)


LARGE = ("ground", ("ground_corner_1_ft", 0), ("frame_courses", 0), "total_cost")


def of(model: Model) -> Package:
    """The shipped template of a model."""
    shipped = template_of(model)
    return Package.open(shipped.read_bytes(), label=shipped.name)


SMALL_ONES = ["planted", "planted_in_metres"]


@pytest.fixture(params=[*SMALL_ONES, "whole", "metres"] if ALL else SMALL_ONES)
def scene(request: pytest.FixtureRequest) -> Scene:
    """What is carried does not know of sizes: small ones are enough unless all is asked for."""
    found: Scene = request.getfixturevalue(request.param)
    return found


def begun(
    model: Model,
    template: Package,
    book: bytes,
    solver: str,
    decided: tuple[str, int],
    agreed: tuple[str, int],
    total: str,
) -> Scene:
    """A workbook in which a solved number and the very one that was solved are decided."""
    decided = model.name(decided[0]), decided[1]
    more = edited(book, {decided: DECIDED, agreed: value(book, agreed) + 1})
    data = refilled(more, "shed.xlsx", model).data
    marked = edited(data, {record_spot(data, agreed): "typed over"})
    given = value(book, decided)
    assert given != DECIDED
    return Scene(model, template, solver, decided, agreed, model.name(total), given, marked)


def record_spot(data: bytes, where: tuple[str, int]) -> tuple[str, int, int]:
    """Where the workbook keeps what a solver gave."""
    record = solved_record(FilePort(opened(data)))
    assert record is not None
    row, column = record[where[0], OPTION_KEYS[where[1]], 0].place
    return SNAPSHOT_VALUE, column, row


def with_a_line_less(data: bytes, *names: str) -> bytes:
    """The workbook as it is after a row of each name's cells was deleted, as far as names tell.

    Of a name of one row it is the last column.
    """
    ranges = FilePort(opened(data)).ranges()
    for name in names:
        sheet, area = ranges[name]
        single = area.row1 == area.row2
        less = area._replace(row2=area.row2 - (not single), column2=area.column2 - single)
        text = "$" + range_text(less).replace(":", ":$")
        text = re.sub(r"([A-Z])(\d)", r"\1$\2", text)
        pattern = re.compile(rb'(<definedName name="' + name.encode() + rb'">)[^<]*')
        shorter = f"'{sheet}'!{text}".encode()
        data = change_part(
            data, "xl/workbook.xml", lambda c, p=pattern, s=shorter: p.sub(rb"\g<1>" + s, c)
        )
    return data


def neighbour_of(scene: Scene) -> str:
    """Another name on the sheet of the decision: a column of a list, or else a row of options."""
    sheet = scene.model.quantities[scene.decided[0]].sheet
    found = [
        item
        for item in scene.model.quantities.values()
        if item.sheet == sheet and item.role in ("solved", "row") and item.key != scene.decided[0]
    ]
    return next((i for i in found if i.axis), next(i for i in found if i.by_option)).key


def restore(scene: Scene, broken: bytes) -> Replaced:
    return restored(Package.open(broken, label="shed.xlsx"), scene.template)


def assert_decided(scene: Scene, done: Refilled) -> None:
    """Both decisions are in force and on record, and every total is as before."""
    assert value(done.data, scene.decided) == DECIDED
    assert value(done.data, record_spot(done.data, scene.decided)) == pytest.approx(
        scene.given, abs=1e-9
    )
    assert {o.place for o in done.refill.typed_over} == {
        "!".join(spot(done.data, where)) for where in (scene.decided, scene.agreed)
    }
    assert value(done.data, scene.agreed) == value(scene.data, scene.agreed)
    totals: list[Spot] = [(scene.total, o) for o in range(4) if value(scene.data, (scene.total, o))]
    assert len(totals) > 2
    for total in totals:
        assert value(done.data, total) == pytest.approx(value(scene.data, total), rel=1e-9)


def test_a_decision_on_a_damaged_sheet_is_restored_with_it(scene: Scene) -> None:
    sheet = scene.model.quantities[scene.decided[0]].sheet
    broken = with_a_line_less(scene.data, neighbour_of(scene))
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
    again = scene.refill(done.data)
    assert not any("typed into this solved list" in note for note in again.notes)
    assert_decided(scene, again)


def test_decisions_that_no_record_tells_any_more_are_said_by_name(whole: Scene) -> None:
    """By the list of what is typed over, which the small model has not."""
    scene = whole
    broken = with_a_line_less(scene.data, SNAPSHOT_VALUE)
    done = restore(scene, broken)
    for where in (scene.decided, scene.agreed):
        place = "!".join(spot(scene.data, where))
        assert any(note.startswith(f"Not carried over: {place}:") for note in done.notes), where
    again = scene.refill(done.data)
    assert again.refill.typed_over == ()
    assert value(again.data, scene.decided) == pytest.approx(scene.given, abs=1e-9)


@pytest.mark.parametrize("place", [*SMALL_ONES, "whole", *(["metres"] if ALL else [])])
def test_an_upgrade_carries_a_decision_and_what_the_solver_gave(
    place: str, request: pytest.FixtureRequest
) -> None:
    scene: Scene = request.getfixturevalue(place)
    older = edited(scene.data, {VERSION: "1"})
    done = upgraded(Package.open(older, label="shed.xlsx"), scene.template, {})
    assert not any("Not carried over" in note for note in done.notes)
    assert value(done.data, record_spot(done.data, scene.agreed)) == "typed over"
    assert_decided(scene, scene.refill(done.data))


def test_a_workbook_that_waits_for_inputs_keeps_the_decision_and_is_marked(scene: Scene) -> None:
    older = edited(scene.data, {VERSION: "1"})
    carried = upgraded(Package.open(older, label="shed.xlsx"), scene.template, {}).package
    blank = unsolved_bytes(carried, scene.model)
    key, option = scene.decided
    assert value(blank, scene.decided) == DECIDED
    assert not value(blank, (key, 3))
    found = check_book(FilePort(opened(blank)), scene.model)
    assert found.stale[scene.solver] == 2
    assert value(blank, (mark_of(scene.solver), 0)) == 2
    assert not value(blank, "overall_flag").startswith(("OK", "LOOK"))
    assert np.asarray(found.values[key])[option, 0] == DECIDED
    assert_decided(scene, scene.refill(blank))
