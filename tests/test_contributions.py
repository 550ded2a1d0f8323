"""What assemblies add to the whole: what is refused, and what follows when lines are added."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Mapping, Sequence
from inspect import Parameter, Signature
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import Spot, edited, formula, opened, value
from jobs import demo, one_option
from toy_model import TYPED, VALUES, toy_model

from estimator.contributions import Contribution, Fixed, GatherColumn
from estimator.engine import Model, Solver
from estimator.errors import RowError
from estimator.evaluation import evaluate
from estimator.gather import contributed, gather
from estimator.model import SHEETS, build_model, model_of
from estimator.model.adds import (
    HAZARDS,
    WHOLE,
    Check,
    Hours,
    Need,
    Piece,
    PieceList,
    Step,
    Weight,
    by_hazard,
    check,
    steps_of,
)
from estimator.model.cost.hours import work_hours
from estimator.model.kinds import FRAMED, KIND_NAMES
from estimator.rows import Chapter, Sheet
from estimator.typed_job import default_cells, read_inputs
from estimator.values import as_values
from estimator.vocabulary import Q, count_starting, one_of
from estimator.workbook.carry.upgrade import upgraded
from estimator.workbook.package.cells import apply
from estimator.workbook.refill import refill
from estimator.workbook.refill.file import refill_bytes, typed_edits
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.template.build import template_bytes
from estimator.workbook.template.charts import decorate

NAMES = ("alder", "birch", "cedar")
"""Assemblies of the scratch model, in order."""


def named(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
    function.__name__ = name
    return function


def assembly(name: str, factor: float, after: tuple[str, ...] = ()) -> Chapter:
    """One assembly: its rows, and something of every kind."""
    part = Chapter()
    part.section(name.capitalize())
    size = part.row("Size", "ft", fmt="0.000")
    size(named(f"{name}_size_ft", lambda depth_in, boards: depth_in * factor + boards / 8))
    stock = part.row("Stock", kind="text")
    stock(named(f"{name}_wood", lambda option_kind: np.where(option_kind == "box", "2x6", "2x8")))
    own = f"{name}_size_ft"
    part.adds(
        Piece(
            key=name,
            label=name,
            stock=f"{name}_wood",
            length=own,
            count="boards",
            joined=WHOLE,
            mark=name,
            use=f"{name}_wood",
        ),
        Need(key=name, label=name, item=Fixed(f"{name}_oil"), quantity=own),
        Hours(key=name, label=name, quantity=own, trade="timber", after=after, wait="depth_in"),
        Step(key=name, label=name, text=f"Plant the {name}.", after=after),
        Weight(key=name, label=name, dead=own, fresh="depth_in"),
        Check(
            key=f"check_{name}",
            label=name,
            hazard="rot",
            mend="depth_in",
            function=_size_check(own),
        ),
    )
    return part


def _size_check(key: str) -> Callable[..., Any]:
    """A check that reads one quantity."""

    def function(**read: Q) -> Q:
        return np.where(read[key] > 40, "FAIL: too large", "ok")

    function.__signature__ = Signature([Parameter(key, Parameter.KEYWORD_ONLY)])  # type: ignore[attr-defined]
    return function


LINES = {
    "stock": "text",
    "length": "number",
    "need_item": "text",
    "need": "number",
    "task": "number",
    "wait": "number",
    "dead": "number",
    "fresh": "number",
}
"""Suffix of the gathered lines of the scratch model, and what they are."""


UNITS = {"wait": "in", "fresh": "in"}
"""Of the lines that are numbers; the others are in feet."""


WORK_LINES = 6


def work(steps: Sequence[Step]) -> Callable[..., Any]:
    """Column of the order of work of the scratch model."""
    lines = steps_of(steps, FRAMED, WORK_LINES)

    def work_text(work_no: Q) -> Q:
        return one_of(lines, work_no - 1)

    return work_text


def gathering() -> Chapter:
    """A line for each contribution in every way in which the model gathers."""
    part = Chapter()
    every: dict[str, tuple[type[Contribution], Callable[..., Any]]] = {
        "stock": (Piece, lambda stock: stock),
        "length": (Piece, lambda length: length),
        "need_item": (Need, lambda item: item),
        "need": (Need, lambda quantity: quantity),
        "task": (Hours, lambda quantity: quantity),
        "wait": (Hours, lambda wait: wait),
        "dead": (Weight, lambda dead: dead),
        "fresh": (Weight, lambda fresh: fresh),
    }
    for suffix, (kind, mirror) in every.items():
        part.gathers(
            f"All: {suffix}",
            kind,
            stack=f"{suffix}s_all",
            suffix=suffix,
            word=suffix,
            given="fresh" if suffix == "fresh" else "",
            unit=UNITS.get(suffix, "ft") if LINES[suffix] == "number" else "",
            kind="text" if LINES[suffix] == "text" else "number",
        )(mirror)
    part.gathers_rows("All: checks", Check, stack="checks_all", kind="text", order=by_hazard)
    lines = GatherColumn(Step, "work_text", "Do", work)
    part.table("work", "Order of work", WORK_LINES, index=True).gathers(lines)
    part.section("Together")

    @part.row("Work", "ft", fmt="0.000")
    def work_all(tasks_all: Q) -> Q:
        return np.sum(tasks_all)

    @part.row("Failing", fmt="0")
    def failing_all(checks_all: Q) -> Q:
        return count_starting(checks_all, "FAIL")

    part.solved("cut_all", "Cut", "ft", solver="saw", fmt="0.000")
    return part


def scratch(names: tuple[str, ...] = NAMES) -> Model:
    """The planters with these assemblies, in this order, and a solver that reads their pieces."""
    chapters = [assembly(name, 1 + len(name) + i) for i, name in enumerate(names)]
    old = toy_model()
    sheets = gather([*old.sheets, Sheet("Kit", "Kit", "", *chapters, gathering())])
    lines = tuple(piece.line("length") for piece in contributed(sheets, Piece))

    def saw(read: Mapping[str, Any]) -> dict[str, Any]:
        return {"cut_all": as_values(sum(np.nan_to_num(np.asarray(read[key])) for key in lines))}

    return Model(sheets, [*old.solvers.values(), Solver("saw", "the saw", lines, saw)])


INPUTS = {key: as_values(np.asarray(given)) for key, given in VALUES.items()}


def typed_over(names: tuple[str, ...]) -> dict[Spot, Any]:
    """A number or text typed over the line of every assembly in each list, in one option each."""
    cells: dict[Spot, Any] = {}
    for place, name in enumerate(names):
        option = (0, 1, 3)[place]
        for number, (suffix, kind) in enumerate(LINES.items()):
            own = f"{name} {suffix}" if kind == "text" else 100.0 * place + number + 7
            cells[f"{name}_{suffix}", option] = own
        cells[f"check_{name}", option] = "FAIL: seen on site"
    return cells


@pytest.mark.parametrize(
    "now", [("yew", *NAMES), ("alder", "yew", "birch", "cedar"), (*NAMES, "yew")]
)
def test_what_was_typed_over_lines_follows_them_when_one_is_added(
    now: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """First, in the middle and last of each list."""
    monkeypatch.setattr(refill, "refuse", lambda *_: None)  # the planters have no price book
    before, after = scratch(), scratch(now)
    made, _, _ = refill_bytes(template_bytes(before, TYPED), before, "book.xlsx")
    own = typed_over(NAMES)
    made, _, _ = refill_bytes(edited(made, own), before, "book.xlsx")
    grafted = upgraded(opened(made), opened(template_bytes(after)), {})
    data, _, notes = refill_bytes(grafted.data, after, "book.xlsx")
    assert not [note for note in (*grafted.notes, *notes) if "yew" in note]
    for where, typed in own.items():
        assert value(data, where) == typed, where
        assert formula(data, where) is None, where
    fresh = evaluate(after, INPUTS)
    for suffix in LINES:
        for option in (0, 1, 3):
            assert formula(data, (f"yew_{suffix}", option))
            shown, wanted = value(data, (f"yew_{suffix}", option)), fresh[f"yew_{suffix}"]
            assert shown == np.broadcast_to(wanted, (6, 1))[option, 0], (suffix, option)
    for option, name in zip((0, 1, 3), NAMES, strict=True):
        tasks = [own.get((f"{n}_task", option), np.asarray(fresh[f"{n}_task"])[option, 0])
                 for n in now]  # fmt: skip
        assert value(data, ("work_all", option)) == pytest.approx(sum(tasks)), name
        lengths = [own.get((f"{n}_length", option), np.asarray(fresh[f"{n}_length"])[option, 0])
                   for n in now]  # fmt: skip
        assert value(data, ("cut_all", option)) == pytest.approx(sum(lengths)), name
        assert value(data, ("stale_saw", option)) == 0


def test_every_line_mirrors_what_its_assembly_says() -> None:
    values = evaluate(scratch(), INPUTS)
    for name in NAMES:
        for suffix in ("length", "need", "task", "dead"):
            line, row = np.asarray(values[f"{name}_{suffix}"]), values[f"{name}_size_ft"]
            assert np.array_equal(line, np.asarray(row), equal_nan=True)
        item = np.asarray(values[f"{name}_need_item"])[:, 0]
        assert list(item) == [f"{name}_oil", f"{name}_oil", "", f"{name}_oil", "", ""]
    assert np.asarray(values["tasks_all"]).shape == (6, len(NAMES))


# What is refused, by name


def adding(*items: Contribution) -> tuple[Sheet, ...]:
    part = Chapter()
    part.adds(*items)
    old = toy_model().sheets
    return gather([*old, Sheet("Kit", "Kit", "", assembly("alder", 1.0), part, gathering())])


NEED = {"item": Fixed("oil"), "quantity": "depth_in"}
PIECE = {
    "stock": "option_name",
    "length": "depth_in",
    "count": "boards",
    "mark": "slat",
    "use": "option_name",
}


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Need(key="alder", label="Other", **NEED), "need 'alder'.*have this key"),
        (lambda: Need(key="oil", label="Alder", **NEED), "need 'oil'.*have this label"),
        (
            lambda: Need(key="oil", label="Oil", item="", quantity="depth_in"),
            "need 'oil'.*without an item",
        ),
        (
            lambda: Need(key="oil", label="Oil", item=Fixed(""), quantity="depth_in"),
            "need 'oil'.*without an item",
        ),
        (
            lambda: Need(key="oil", label="Oil", item=Fixed("x"), quantity="depth_of_it"),
            "need 'oil'.*unknown quantity 'depth_of_it'",
        ),
        (
            lambda: Piece(key="slat", label="Slats", joined="glued", **PIECE),
            "piece 'slat'.*unknown way of joining 'glued'",
        ),
        (
            lambda: Piece(key="slat", label="Slats", joined=WHOLE, **PIECE | {"mark": ""}),
            "piece 'slat'.*no mark",
        ),
        (
            lambda: Hours(key="oil", label="Oil", quantity="depth_in", trade="magic"),
            "hours 'oil'.*unknown trade 'magic'",
        ),
        (
            lambda: Step(key="oil", label="Oil", text="Oil it.", after=("sanding",)),
            "step 'oil'.*after 'sanding'",
        ),
        (
            lambda: Step(key="oil", label="Oil", text="Oil it.", after=("oil",)),
            "step 'oil'.*after itself",
        ),
        (lambda: Weight(key="oil", label="Oil"), "weight 'oil'.*without a quantity"),
        (
            lambda: Check(key="oil", label="Oil", hazard="bears", function=_size_check("depth_in")),
            "check 'oil'.*unknown hazard 'bears'",
        ),
        (
            lambda: Check(key="oil", label="Oil", hazard="rot", function=_size_check("depth_in")),
            "check 'oil'.*no input where it is mended",
        ),
        (lambda: Need(key="two words", label="Oil", **NEED), "a key, of letters"),
        (lambda: Contribution(key="oil", label="Oil"), "contribution 'oil'.*no section gathers"),
    ],
)
def test_what_cannot_be_gathered_is_refused_by_name(
    make: Callable[[], Contribution], says: str
) -> None:
    with pytest.raises(RowError) as raised:
        adding(make())
    assert re.search(says, f"{raised.value}".replace("\n", " ")), raised.value


def model_with(*items: Contribution) -> Model:
    """The whole model and one contribution more, of quantities that it has."""
    part = Chapter()
    part.adds(*items)
    return model_of([*SHEETS, Sheet("Kit", "Kit", "", part)])


RIM = {
    "stock": "joist_stock_used",
    "count": "joist_count",
    "joined": WHOLE,
    "mark": "shelf",
    "letters": "SH",
}


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (
            lambda: Piece(key="shelf", label="Shelf", length="building_length_ft", **RIM),
            "piece 'shelf'.*'building_length_ft' is in 'ft'.*row in 'in'",
        ),
        (
            lambda: Piece(
                key="shelf", label="Shelf", length="joist_length_in", **RIM | {"letters": "S"}
            ),
            "piece 'skids'.*letters S are those of piece 'shelf'|"
            "piece 'shelf'.*letters S are those of piece 'skids'",
        ),
        (
            lambda: Hours(key="shelf", label="Shelf", quantity="dead_load_lb", trade="carpentry"),
            "hours 'shelf'.*'dead_load_lb' is in 'lbf'.*row in 'h'",
        ),
        (
            lambda: Weight(key="shelf", label="Shelf", dead="joist_count"),
            "weight 'shelf'.*'joist_count' is in 'pieces'.*row in 'lb'",
        ),
    ],
)
def test_a_line_shows_no_quantity_of_another_unit(
    make: Callable[[], Contribution], says: str
) -> None:
    with pytest.raises(RowError) as raised:
        model_with(make())
    assert re.search(says, f"{raised.value}"), raised.value


def test_a_piece_that_any_wood_will_do_for_has_no_use() -> None:
    model = model_with(Piece(key="shelf", label="Shelf", length="joist_depth_in", **RIM))
    values = evaluate(model, read_inputs(model, demo()))
    assert set(np.asarray(values["shelf_use"]).ravel()) == {""}
    assert float(np.asarray(values["shelf_count"])[0, 0]) > 0


def test_a_line_must_not_take_the_key_of_a_row() -> None:
    part = assembly("alder", 1.0)
    part.row("Other", "ft")(named("alder_task", lambda depth_in: depth_in * 2))
    with pytest.raises(RowError, match="alder_task"):
        gather([*toy_model().sheets, Sheet("Kit", "Kit", "", part, gathering())])


def test_nothing_is_added_to_a_sheet_that_is_made() -> None:
    part = assembly("alder", 1.0)
    Sheet("Kit", "Kit", "", part)
    with pytest.raises(RowError, match="already made"):
        part.adds(Need(key="late", label="Late", **NEED))


def test_a_model_of_sheets_that_are_not_gathered_is_refused() -> None:
    sheet = Sheet("Kit", "Kit", "", assembly("alder", 1.0), gathering())
    with pytest.raises(RowError, match="has no rows"):
        Model([*toy_model().sheets, sheet], [])


# The model's own


MODEL = build_model()


def test_hours_come_after_the_work_that_must_be_done_before() -> None:
    order = [key.removesuffix("_task") for key in MODEL.stacks["task_hours"]]
    tasks = {task.key: task for task in contributed(MODEL.sheets, Hours)}
    assert sorted(order) == sorted(tasks)
    for place, key in enumerate(order):
        assert set(tasks[key].after) <= set(order[:place]), key


def test_only_concrete_that_cures_is_waited_for() -> None:
    assert MODEL.stacks["cured_at"] == ("supports_cured_at", "finish_cured_at")
    assert work_hours(as_values(np.array([[1.0, 2.5]]))) == 3.5


def test_every_check_answers_a_hazard_and_every_hazard_has_a_check() -> None:
    answered = [one.hazard for one in contributed(MODEL.sheets, Check)]
    assert set(answered) == set(HAZARDS)


def test_the_saw_reads_every_piece_and_list() -> None:
    reads = set(MODEL.solvers["cutting"].reads)
    for piece in contributed(MODEL.sheets, Piece):
        assert {piece.line(end) for end in ("stock", "length_in", "count")} <= reads
    for each in contributed(MODEL.sheets, PieceList):
        assert {each.line("stock"), each.lengths} <= reads


def test_what_is_typed_over_a_piece_counts_for_its_cut_ends_and_prices_too() -> None:
    ends, unpriced = MODEL.solvers["cutting"], MODEL.quantities["skids_unpriced"]
    assert {"skids_stock", "skids_count"} <= set(ends.reads) & set(unpriced.reads)
    assert {"stock_name", "stock_treated"} <= set(ends.reads)


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_the_order_of_work_is_complete_for_its_kind_and_blank_below(kind: str) -> None:
    steps = contributed(MODEL.sheets, Step)
    own = [step for step in steps if kind in step.kinds]
    lines = steps_of(steps, kind, len(own) + 2)
    assert len(own) >= 4
    assert set(lines) == {step.text for step in own} | {""}
    assert lines[-2:] == ("", "")
    done = [next(step for step in own if step.text == text) for text in lines[:-2]]
    keys = {step.key for step in own}
    for number, step in enumerate(done):
        assert keys & set(step.after) <= {other.key for other in done[:number]}
    with pytest.raises(RowError, match=f"{kind}.*steps; the Field Sheet holds 1"):
        steps_of(steps, kind, 1)


def test_the_check_of_a_chapter_stands_under_its_functions_name() -> None:
    part = Chapter()

    @check(part, "Oil", hazard="rot", mend="depth_in")
    def check_oil(depth_in: Q) -> Q:
        return np.where(depth_in > 1, "LOOK: oil it", "ok")

    (item,) = part.contributions
    assert (item.key, item.label, item.where) == ("check_oil", "Oil", "check 'check_oil'")


# The real demo


def without(kind: type[Contribution], keys: tuple[str, ...]) -> Model:
    """The model before these were added."""
    sheets = []
    for sheet in SHEETS:
        older = copy.copy(sheet)
        older.contributions = [
            item
            for item in sheet.contributions
            if not (isinstance(item, kind) and item.key in keys)
        ]
        sheets.append(older)
    return model_of(sheets)


@pytest.mark.slow
def test_a_filled_demo_keeps_what_was_typed_over_its_needs_when_some_are_added(
    fresh_template: Path,
) -> None:
    """First, in the middle and last of the needs; money is what a fresh run of it gives."""
    lines = [key.removesuffix("_need") for key in MODEL.stacks["need_quantity"]]
    added = (lines[0], lines[len(lines) // 2], lines[-1])
    stays = (lines[1], lines[len(lines) // 2 + 1], lines[-2])
    before = without(Need, added)
    empty = template_bytes(before, default_cells(before), decorate)
    job = one_option(FRAMED, demo())
    data = apply(opened(empty), typed_edits(FilePort(opened(empty)), before, job))
    own = {(f"{key}_need", 0): 3.0 + place for place, key in enumerate(stays)}
    present = opened(fresh_template.read_bytes())
    grafted = upgraded(opened(edited(data, own)), present, {})
    data, _, _ = refill_bytes(grafted.data, MODEL, "book.xlsx")
    cells = {key: {(0, 0): number} for (key, _), number in own.items()}
    fresh = evaluate(MODEL, read_inputs(MODEL, job), typed_over=cells)
    for key in (*(f"{k}_need" for k in lines), "total_cost", "work_hours", "checks_failed"):
        wanted = own.get((key, 0), np.asarray(fresh[key])[0, 0])
        assert value(data, (key, 0)) == pytest.approx(wanted), key
