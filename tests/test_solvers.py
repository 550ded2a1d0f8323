"""What solvers declare holds: an edit of what one reads shows on Start, and it reads nothing else.

The demo workbook is recalculated after each edit by an engine that knows nothing of the model, as
a spreadsheet does for a person.
"""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import formualizer
import pytest
from books import edited, opened
from hypothesis import given
from hypothesis import strategies as st
from jobs import changed, demo, on_flat, one_option, with_options
from toy_model import VALUES, toy_model

from estimator.engine import Declared, Model, Solver
from estimator.errors import RowError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.rows import OPTION_KEYS, Sheet, mark_of
from estimator.typed_job import read_inputs
from estimator.vocabulary import Q, join
from estimator.workbook.package.a1 import address
from estimator.workbook.refill.file import create_workbook
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.layout import layout
from estimator.workbook.template.writer import formulas

pytestmark = pytest.mark.anew

OUT_OF_DATE, NOT_CHEAPEST, FRESH = 2, 1, 0
START = {
    OUT_OF_DATE: "yes: refill this workbook (estimator refill)",
    NOT_CHEAPEST: "prices or loads changed: a refill may find a better plan",
    FRESH: "no",
}
ADVICE = {"suggest", "range", "falls", "what_ifs", "first_suggestions"}
"""Solvers on whose answer nothing rests that is built or bought: Start calls nothing out of date
for them."""


# --- the demo workbook, edited with no Python in sight ---


@dataclass(frozen=True, slots=True)
class Edit:
    """One typed cell changed: by its key, its option or its row."""

    key: str
    value: float | str | None
    option: int = 0
    row: int = 0


BOARD = "lumber_2x4_8"
WRONG = {
    "readings": Edit("point_reading_ft", 3.0, row=3),
    "ground": Edit("door_side", "left"),
    "ground_beside": Edit("grade_run_ft", 12),
    "siting": Edit("siting_step_ft", 2),
    "outlines": Edit("setback_ft", 7),
    "balance": Edit("stone_depth_in", 7),
    "blank_sizes": Edit("joist_stock", None),
    "frame": Edit("bedding_in", 3),
    "joists": Edit("joist_spacing_in", 12),
    "cutting": Edit("kerf_in", 0.25),
    "sheets": Edit("screw_edge_in", 5),
    "suggest": Edit("kerf_in", 0.25),
    "range": Edit("tax_share", 0.09),
    "falls": Edit("falls_wanted", "yes"),
    "what_ifs": Edit("change_case", 1),
}
"""For every solver an edit of something that it reads."""
DEARER = {
    "siting": Edit("wage_per_h", 50),
    "blank_sizes": Edit("item_price", 99),
    "first_suggestions": Edit("joist_stock", None),
    "cutting": Edit("item_price", 99),
    "suggest": Edit("item_price", 99),
}
"""For every solver with prices an edit of one; prices of boards are those of ``BOARD``."""


class Open:
    """A workbook held open and recalculated after each edit."""

    def __init__(self, data: bytes, path: Path) -> None:
        path.write_bytes(data)
        self.book: Any = formualizer.load_workbook(str(path))
        self.ranges = FilePort(opened(data)).ranges()
        self.book.evaluate_all()

    def place(self, name: str, option: int = 0, row: int = 0) -> tuple[str, int, int]:
        sheet, area = self.ranges[name]
        return sheet, area.row1 + row, area.column1 + option

    def shows(self, name: str, option: int = 0, row: int = 0) -> Any:
        return self.book.get_value(*self.place(name, option, row))

    def type(self, edit: Edit) -> Any:
        """Type an edit; gives what stood there."""
        row = edit.row
        if edit.key == "item_price":
            row = next(r for r in range(200) if self.shows("in_item_key", 0, r) == BOARD)
        place = self.place(f"in_{edit.key}", edit.option, row)
        before = self.book.get_value(*place)
        self.book.set_value(*place, edit.value)
        self.book.evaluate_all()
        return before

    def put_back(self, edit: Edit, before: Any) -> None:
        self.type(dataclasses.replace(edit, value=before))

    def marks(self) -> dict[str, int]:
        """The worst mark of each solver among the options."""
        return {
            name: max(int(self.shows(mark_of(name), o) or 0) for o in range(len(OPTION_KEYS)))
            for name in build_model().solvers
        }


def grade_on_start(marks: Mapping[str, int]) -> int:
    """What Start should say of these marks."""
    return max(min(m, NOT_CHEAPEST) if n in ADVICE else m for n, m in marks.items())


@pytest.fixture(scope="module")
def demo_open(demo_book: bytes, tmp_path_factory: pytest.TempPathFactory) -> Open:
    return Open(demo_book, tmp_path_factory.mktemp("open") / "demo.xlsx")


def test_every_solver_has_an_edit_of_what_it_reads_and_of_its_prices() -> None:
    solvers = build_model().solvers.values()
    assert set(WRONG) == {s.name for s in solvers if s.reads}
    assert set(DEARER) == {s.name for s in solvers if s.prices}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("solver", "edit", "grade"),
    [(name, edit, OUT_OF_DATE) for name, edit in WRONG.items()]
    + [(name, edit, NOT_CHEAPEST) for name, edit in DEARER.items()],
)
def test_an_edit_of_what_a_solver_reads_shows_on_start(
    demo_open: Open, solver: str, edit: Edit, grade: int
) -> None:
    assert demo_open.shows("start_state") == START[FRESH]
    before = demo_open.type(edit)
    marks = demo_open.marks()
    said = demo_open.shows("start_state")
    by_option = demo_open.shows("stale_most", edit.option)
    demo_open.put_back(edit, before)
    assert marks[solver] == grade
    assert said == START[grade_on_start(marks)]
    assert by_option == grade_on_start(marks), "every one of these edits concerns option A"
    assert demo_open.shows("start_state") == START[FRESH]


@pytest.mark.slow
@pytest.mark.parametrize("option", [0, len(OPTION_KEYS) - 1], ids=["in use", "not in use"])
@pytest.mark.parametrize("solver", build_model().solvers)
def test_the_mark_of_each_solver_alone_shows_on_start(
    demo_open: Open, solver: str, option: int
) -> None:
    place = demo_open.place(mark_of(solver), option)
    formula = demo_open.book.get_formula(*place)
    demo_open.book.set_value(*place, OUT_OF_DATE)
    demo_open.book.evaluate_all()
    said = demo_open.shows("start_state")
    demo_open.book.set_formula(*place, formula)
    demo_open.book.evaluate_all()
    assert said == START[NOT_CHEAPEST if solver in ADVICE else OUT_OF_DATE]
    assert demo_open.shows("start_state") == START[FRESH]


@pytest.mark.slow
def test_clearing_an_option_is_said_on_start_while_its_numbers_stand(demo_open: Open) -> None:
    edit = Edit("option_kind", None, option=3)
    before = demo_open.type(edit)
    said = demo_open.shows("start_state")
    demo_open.put_back(edit, before)
    assert said == START[OUT_OF_DATE]


@pytest.mark.slow
def test_a_search_that_nobody_asked_for_leaves_no_mark_until_it_is_asked_for(
    tmp_path: Path, fresh_template: Path
) -> None:
    assert fresh_template.exists()
    path = tmp_path / "no_search.xlsx"
    create_workbook(path, build_model(), changed(demo(), siting_wanted="no"))
    book = Open(path.read_bytes(), tmp_path / "open.xlsx")
    assert book.shows("start_state") == START[FRESH]
    moved, asked = Edit("setback_ft", 7), Edit("siting_wanted", "yes")

    def checked(*edits: Edit) -> dict[str, int]:
        data = edited(path.read_bytes(), {(f"in_{e.key}", e.option, e.row): e.value for e in edits})
        return dict(check_book(FilePort(opened(data)), build_model()).stale)

    before = book.type(moved)
    marks = {name: mark for name, mark in book.marks().items() if mark}
    assert marks == {"outlines": OUT_OF_DATE} == checked(moved)
    assert book.shows("start_state") == START[OUT_OF_DATE], "the plan shows the old setback line"
    book.type(asked)
    marks = {name: mark for name, mark in book.marks().items() if mark}
    assert marks == {"siting": OUT_OF_DATE, "outlines": OUT_OF_DATE} == checked(moved, asked)
    book.put_back(moved, before)
    marks = {name: mark for name, mark in book.marks().items() if mark}
    assert marks == {"siting": OUT_OF_DATE} == checked(asked)
    assert book.shows("start_state") == START[OUT_OF_DATE]


# --- any model: what its solvers say of themselves is enough ---


def with_solver(solver: Solver) -> Model:
    """The planters with one solver more, on a sheet that shows the state of the whole."""
    sheet = Sheet("Extra", "Extra", "One more thing that is solved.")
    sheet.section("Solved")
    sheet.solved("extra_in", "Extra", "in", solver=solver.name)
    sheet.state("state_of_option", "Worst state")
    sheet.state("state_of_all", "Worst state of all", scope="job")

    @sheet.row("Said", kind="text", scope="job")
    def state_said(state_of_all: Q) -> Q:
        return join("state ", state_of_all)

    toy = toy_model()
    return Model([*toy.sheets, sheet], [*toy.solvers.values(), solver])


def extra(**declared: Any) -> Solver:
    return Solver(
        "extra",
        "the extra",
        ("planter_width_in",),
        lambda read: {"extra_in": read["planter_width_in"]},
        **declared,
    )


MARKS = st.sampled_from([FRESH, NOT_CHEAPEST, OUT_OF_DATE])


@given(marks=st.lists(MARKS, min_size=3, max_size=3), worst=st.sampled_from([1, 2]))
def test_a_solver_added_to_a_model_shows_in_its_state_without_being_listed(
    marks: list[int], worst: Any
) -> None:
    model = with_solver(extra(worst=worst))
    given_marks = {mark_of(n): float(m) for n, m in zip(model.solvers, marks, strict=True)}
    values = evaluate(model, VALUES | given_marks)
    wanted = max(marks[0], marks[1], min(marks[2], worst))
    assert values["state_of_all"].tolist() == [[wanted]]
    assert values["state_of_option"][:2].tolist() == [[wanted], [wanted]]
    assert values["state_said"].tolist() == [[f"state {wanted}"]]


def test_the_formula_of_the_state_reads_the_mark_of_every_solver() -> None:
    model = with_solver(extra())
    plan = layout(model)
    found = formulas(model, plan)
    place = plan.places["state_of_option"]
    text = found[place.sheet, address(*place.cell(0, 0))]
    for name in model.solvers:
        assert address(plan.snapshot.mark_rows[mark_of(name)], 3) in text


def test_a_solver_that_reads_what_it_does_not_declare_is_refused_by_name() -> None:
    nosy = dataclasses.replace(extra(), function=lambda read: {"extra_in": read["depth_in"]})
    with pytest.raises(RowError, match=r"solver extra.*depth_in"):
        evaluate(with_solver(nosy), VALUES)


def test_a_solver_that_leaves_a_row_without_an_answer_is_refused_by_name() -> None:
    silent = dataclasses.replace(extra(), function=lambda _: {})
    with pytest.raises(RowError, match=r"solver extra.*does not answer 'extra_in'"):
        evaluate(with_solver(silent), VALUES)


def test_what_a_solver_says_of_itself_has_to_fit_together() -> None:
    with pytest.raises(RowError, match=r"solver extra.*'depth_in'"):
        with_solver(extra(counts_when="depth_in"))
    with pytest.raises(RowError, match=r"solver extra.*live=False"):
        with_solver(extra(keep=lambda read, held: held))  # noqa: ARG005


# --- the solvers themselves ---


def busy_job() -> TypedJob:
    """The demo on a longer floor with openings, a partition, readings along a line and a stake."""
    return changed(
        demo(),
        siting_step_ft=5,
        siting_turn_deg=90,
        building_length_ft=24,
        opening_what="hatch",
        opening_x_ft=4,
        opening_y_ft=3,
        opening_length_ft=2,
        opening_width_ft=3,
        opening_framed="yes",
        double_what="partition",
        double_at_ft=8,
        line_name="L1",
        line_x_ft=0,
        line_y_ft=0,
        line_height_ft=100,
        line_deg=0,
        drop_name="D1",
        drop_line="L1",
        drop_length_ft=6,
        drop_in=1,
        quick_reading_ft={8: 4.5},
        joist_stock={0: None},
        skid_count={0: 5},
        change_case=dict.fromkeys(range(3), 1),
        change_where={0: "Job", 1: "Job", 2: "Option A"},
        change_input={0: "Sales tax on material", 1: "Labour, per person and hour", 2: "Stone"},
        change_value={0: "0.1", 1: "40", 2: "Crusher run, 3/4 in and finer"},
    )


class Recorded(Declared):
    """What a solver is given, and which of it was looked at."""

    def __init__(self, solver: str, values: Mapping[str, Any], seen: set[str]) -> None:
        super().__init__(solver, values)
        self.seen = seen

    def __getitem__(self, key: str) -> Any:
        self.seen.add(key)
        return super().__getitem__(key)

    def items(self) -> Any:
        raise AssertionError("a solver names what it reads, key by key")

    def values(self) -> Any:
        raise AssertionError("a solver names what it reads, key by key")

    def __iter__(self) -> Iterator[str]:
        raise AssertionError("a solver names what it reads, key by key")


@pytest.mark.slow
def test_solvers_look_at_all_that_they_declare_to_read() -> None:
    written, seen = build_model().written, defaultdict[str, set[str]](set)

    def recording(solver: Solver) -> Solver:
        return dataclasses.replace(
            solver,
            function=lambda reads, **measure: solver.function(
                Recorded(solver.name, reads, seen[solver.name]), **measure
            ),
        )

    model = Model(written.sheets, [recording(solver) for solver in written.solvers])
    high = with_options(
        changed(demo(), falls_wanted="yes"),
        {0: {"option_kind": "slab"}, 1: {"option_kind": "piers", "clear_above_in": 40}},
    )
    deep = one_option(
        "open pad",
        on_flat(changed(demo(), building_length_ft=22, building_width_ft=18)),
        joist_stock="2x6 treated",
        joist_spacing_in=24,
        skid_count=None,
    )  # joists in parts
    tied = changed(
        on_flat(one_option("open pad")),
        survey_method="rod readings",
        point_reading_ft=dict.fromkeys(range(9), 4.0),
        setup_name={0: "S1", 1: "S2"},
        setup_instrument_ft={0: 104},
        setup_foresight_ft={1: 4},
        setup_backsight_ft={1: 5},
        bench_reading_ft=2,
        line_name="L1",
        line_at="Q1",
        line_to="Q2",
        drop_name="D1",
        drop_line="L1",
        drop_length_ft=20,
        drop_in=0,
    )
    ramp = changed(demo(), door_way="ramp", skirting="yes")
    for job in (demo(), busy_job(), high, deep, tied, ramp):
        evaluate(model, read_inputs(model, job))
    for name, solver in build_model().solvers.items():
        assert {*solver.reads, *solver.prices} - seen[name] == set(), name


_ANSWERS = """
import hashlib, sys
import numpy as np
sys.path[:0] = ["tests", "."]
from test_solvers import busy_job
from estimator.evaluation import evaluate
from estimator.typed_job import read_inputs
from estimator.model import build_model
model = build_model()
values = evaluate(model, read_inputs(model, busy_job()))
for name, keys in model.writes.items():
    answer = repr([(key, np.asarray(values[key]).tolist()) for key in keys])
    print(name, hashlib.sha256(answer.encode()).hexdigest())
"""


@pytest.mark.slow
def test_solvers_give_the_same_answer_in_every_process() -> None:
    """Sets and dictionaries of texts lie in another order in every process; no answer may tell."""
    root = Path(__file__).resolve().parents[1]
    said = [
        subprocess.run(
            [sys.executable, "-c", _ANSWERS],
            cwd=root,
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert len(said[0].splitlines()) == len(build_model().solvers)
    assert said[0] == said[1]
