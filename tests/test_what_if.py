"""What-ifs of a person's own: what a new job with those inputs costs, takes and fails."""

from __future__ import annotations

import copy
import dataclasses
import random
import re
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import edited, opened, refilled, value
from jobs import Solved, at, block, changed, demo, one_option, with_options
from test_falls import ALL_KINDS
from two_measures import metric_inputs

from estimator.engine import Declared, Model
from estimator.errors import SolveError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.carry_over import job_specific
from estimator.model.kinds import BLOCKS, FRAMED, PIERS, SLAB
from estimator.model.solvers.changed_inputs import changeable
from estimator.model.solvers.turned_checks import Outcome, passing_told, turns_told
from estimator.model.solvers.what_ifs import _cut, solve_what_ifs
from estimator.model.what_if import HOURS, MORE, NUMBERS, SAID, TOTALS, WHERE
from estimator.rows import OPTION_KEYS
from estimator.typed_job import default_cells, read_inputs
from estimator.workbook.refill.file import create_workbook
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book
from estimator.workbook.template.entries import names, read_for
from estimator.workbook.template.layout import layout

Line = tuple[int, str, str, Any]
"""What-if, sheet or option, input, value to try."""
COLUMNS = ("change_case", "change_where", "change_input", "change_value")


def asked(job: TypedJob, *lines: Line) -> TypedJob:
    """The job with lines of what-ifs."""
    columns = {key: {n: line[at] for n, line in enumerate(lines)} for at, key in enumerate(COLUMNS)}
    return changed(job, **columns)


def tried(job: TypedJob, *lines: Line) -> Mapping[str, Any]:
    model = build_model()
    return Solved(model, read_inputs(model, asked(job, *lines)))


def said(values: Mapping[str, Any]) -> list[str]:
    return [str(line) for line in block(values, "case_says") if line]


@cache
def small() -> TypedJob:
    """Piers and an open pad: little to solve."""
    return with_options(demo(), {0: ALL_KINDS[2], 2: ALL_KINDS[1]})


# --- against a new job ---


def drawn(model: Model, inputs: Mapping[str, Any], rng: random.Random) -> Line:
    """Some number that a person may change, off by a fifth at most, as its cell would take it."""
    kinds = [str(kind) for kind in np.asarray(inputs["option_kind"])[:, 0]]
    reads = set(model.solvers["what_ifs"].reads)
    items = [model.quantities[key] for key in changeable(model.quantities) if key in reads]
    while True:
        sheet = rng.choice(("Job", "Floor", "Factors", "Options", "Prices"))
        if sheet == "Prices":
            names, prices = (np.asarray(inputs[key])[0] for key in ("item_name", "item_price"))
            row = rng.randrange(60)
            return 0, sheet, str(names[row]), round(float(prices[row]) * rng.uniform(1.1, 2), 2)
        item = rng.choice([item for item in items if item.sheet == sheet])
        field = item.field
        assert field is not None
        option = rng.randrange(5) if item.by_option else 0
        now = np.ravel(inputs[item.key])[option]
        used = not field.kinds or kinds[option] in field.kinds
        if field.kind in ("length", "number", "share") and used and now != field.blank:
            new = round(float(now) * rng.uniform(0.8, 1.2), 4)
            if field.low <= new <= field.high and new != now:
                where = f"Option {OPTION_KEYS[option]}" if item.by_option else sheet
                return 0, where, item.label, new


def with_lines(inputs: Mapping[str, Any], lines: Sequence[Line]) -> dict[str, Any]:
    """Inputs with what-ifs that change what these lines say."""
    found = dict(inputs)
    for key, entries in zip(COLUMNS, zip(*lines, strict=True), strict=True):
        texts = [repr(e) if isinstance(e, float) else e for e in entries]
        blank: list[Any] = [0 if key == "change_case" else ""] * (16 - len(lines))
        found[key] = np.array([[*texts, *blank]])
    return found


def typed_into(model: Model, inputs: Mapping[str, Any], lines: Sequence[Line]) -> dict[str, Any]:
    """Inputs of a new job with these values typed into it."""
    found = {key: np.array(np.asarray(array)) for key, array in inputs.items()}
    for _, where, name, new in lines:
        if where == "Prices":
            found["item_price"][0, list(found["item_name"][0]).index(name)] = new
            continue
        sheet = "Options" if where.startswith("Option ") else where
        (key,) = (
            key
            for key, item in model.quantities.items()
            if item.role == "input" and (item.label, item.sheet, item.axis) == (name, sheet, None)
        )
        found[key].flat[OPTION_KEYS.index(where[-1]) if sheet == "Options" else 0] = new
    return found


@pytest.mark.slow
@pytest.mark.parametrize(("measure", "seed", "count"), [("feet", 3, 3), ("metric", 8, 2)])
def test_a_what_if_is_what_a_new_job_with_those_inputs_gives(
    measure: str, seed: int, count: int
) -> None:
    model = build_model()
    inputs = read_inputs(model, with_options(demo(), ALL_KINDS))
    if measure == "metric":
        inputs, model = metric_inputs(inputs), metric(model)
    rng = random.Random(seed)
    cases = {n: [drawn(model, inputs, rng) for _ in range(n + 1)] for n in NUMBERS[:count]}
    lines = [(n, *line[1:]) for n, some in cases.items() for line in some]
    values = Solved(model, with_lines(inputs, lines))
    moved = 0
    for n, some in cases.items():
        other = Solved(model, typed_into(model, inputs, some))
        for option in range(5):
            total = at(other, "total_cost", option)
            assert block(values, TOTALS[n - 1])[option] == total, some
            assert block(values, HOURS[n - 1])[option] == at(other, "work_hours", option), some
            more = total - at(values, "total_cost", option)
            assert block(values, MORE[n - 1])[option] == pytest.approx(more, abs=1e-6)
            moved += abs(more) > 0.01
        result = next(line for line in said(values) if line.startswith(f"{n}: "))
        failing = [o for o in range(5) if at(other, "checks_failed", o) > 0]
        assert ("All pass" in result) is not failing
        assert all(OPTION_KEYS[o] not in result.split(". ")[-1].split(";")[0] for o in failing)
    assert moved > count


def of_kind(job: TypedJob, option: int, kind: str) -> TypedJob:
    """The job with an option of another kind: defaults where its kind before used no such input."""
    model = build_model()
    new, cells = default_cells(model, options=True), dict(job.cells)
    before = cells["option_kind", option]
    for key, item in model.quantities.items():
        kinds = item.field.kinds if item.role == "input" and item.by_option and item.field else ()
        if kind in kinds and before not in kinds:
            cells.pop((key, option), None)
            cells |= {cell: value for cell, value in new.items() if cell == (key, option)}
    return TypedJob(cells | {("option_kind", option): kind}, job.where)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("option", "kind", "more"),
    [
        (0, FRAMED, []),
        (0, BLOCKS, [("Block", "Solid block 4 x 8 x 16 in"), ("Joist", "2x10")]),
        (2, PIERS, [("Boards a beam", 3.0)]),
        (2, SLAB, []),
    ],
)
def test_an_option_of_another_kind_is_what_a_new_job_with_it_gives(
    option: int, kind: str, more: list[tuple[str, Any]]
) -> None:
    where, model = f"Option {OPTION_KEYS[option]}", build_model()
    lines = [(1, where, name, new) for name, new in more]
    values = tried(small(), (1, where, "Kind", kind), *lines)
    other = of_kind(small(), option, kind)
    for name, new in more:
        (key,) = (
            key
            for key, item in model.quantities.items()
            if item.role == "input" and item.by_option and item.label == name
        )
        other = changed(other, **{key: {option: new}})
    other_values = Solved(model, read_inputs(model, other))
    for o in (0, 2):
        assert block(values, TOTALS[0])[o] == at(other_values, "total_cost", o)
        assert block(values, HOURS[0])[o] == at(other_values, "work_hours", o)
    assert block(values, MORE[0])[option] != 0
    assert said(values)[0].startswith(f"1: {where}: Kind: {kind}")


def test_without_a_change_it_is_the_job_as_it_is_and_numbers_typed_over_are_kept() -> None:
    model = build_model()
    job = asked(small(), (2, "Job", "Saw kerf", at(tried(small()), "kerf_in")))
    over = {"stone_order_yd3": {(2, 0): 9.0}, "cut_hours": {(0, 0): 5.0}}
    for typed_over in (None, over):
        values = evaluate(model, read_inputs(model, job), typed_over=typed_over)
        for o in (0, 2):
            total, hours = (at(values, key, o) for key in ("total_cost", "work_hours"))
            assert block(values, "case_total_now")[o] == block(values, TOTALS[1])[o] == total
            assert block(values, "case_hours_now")[o] == block(values, HOURS[1])[o] == hours
            assert block(values, MORE[1])[o] == 0
        assert len(said(values)) == 1
        assert "as it is" in said(values)[0]
        assert np.isnan(block(values, TOTALS[0])).all()


def test_who_asks_for_none_gets_blanks_and_pays_nothing() -> None:
    values = tried(small())
    assert said(values) == []
    assert all(np.isnan(block(values, key)).all() for key in ("case_total_now", *TOTALS, *HOURS))


def test_solvers_whose_reads_stay_as_they_are_are_not_asked_again() -> None:
    model = copy.copy(build_model())
    values = dict(tried(small(), (1, "Job", "Contingency", 0.2), (2, "Job", "Saw kerf", 0.25)))
    calls: list[str] = []

    def counted(name: str) -> Any:
        solver = model.solvers[name]

        def solve(reads: Declared) -> Any:
            calls.append(name)
            return solver.function(reads)

        return dataclasses.replace(solver, function=solve)

    model.solvers = {name: counted(name) for name in model.solvers}
    checks = tuple(key for key in model.quantities if key.startswith("check_saw"))
    solve_what_ifs(checks, Declared("what_ifs", values), model)
    assert calls.count("ground") == calls.count("joists") == 1
    assert calls.count("cutting") == 2
    assert set(calls).isdisjoint({"siting", "falls", "range", "suggest", "what_ifs"})


# --- what is typed ---


@pytest.mark.parametrize(
    ("where", "name", "typed", "now", "then"),
    [
        ("Job", "width of the BUILDING", "9' 6\"", "10 ft", "9.5 ft"),
        ("Job", "Width of the building", "9.5", "10 ft", "9.5 ft"),
        ("Job", "Width of the building", "3 m", "10 ft", "9.84252 ft"),
        ("Job", "Contingency", 0.2, "0.1 (10%)", "0.2 (20%)"),
        ("Option A", "Diameter of the spread footing", "blank", "20 in", "blank"),
        ("Option A", "Boards a beam", 2, "3 boards", "2 boards"),
        ("Option C", "Joist", "2X10 treated", "2x8 treated", "2x10 treated"),
        ("Job", "Day of the call to the locating service", "2026-05-04", "blank", "2026-05-04"),
    ],
)
def test_a_value_is_read_as_its_own_cell_reads_it(
    where: str, name: str, typed: Any, now: str, then: str
) -> None:
    values = tried(small(), (1, where, name, typed))
    if name.startswith("Day"):
        assert "nothing that is compared here depends" in said(values)[0]
        return
    assert block(values, "change_now")[0] == now
    assert f": {then}. " in said(values)[0]


def test_a_job_calls_money_and_tax_by_its_own_words() -> None:
    job = changed(small(), currency="EUR", tax_word="VAT")
    values = tried(
        job, (1, "Job", "VAT on material", 0.2), (1, "Job", "Labour, per person and hour", 40)
    )
    assert "VAT on material: 0.2 (20%); Labour, per person and hour: 40 EUR/h. " in said(values)[0]


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (
            [(1, "Job", "Width of the bulding", 9)],
            'line 1: "Width of the bulding" is no input of Job',
        ),
        ([(1, "Job", "Width of the building", "wide")], "line 1: Width of the building: "),
        ([(1, "Job", "Contingency", "much")], 'line 1: Contingency holds the text "much"'),
        ([(1, "Job", "Width of the building", 900)], "it must lie between 4 ft and"),
        (
            [(1, "Job", "Width of the building", "blank")],
            "something is blank then that has to be typed",
        ),
        ([(1, "Job", "Saw kerf", "blank")], "Saw kerf is blank."),
        (
            [(1, "Job", "Width of the building", 9), (1, "Job", "width of the building", 7)],
            "lines 1 and 2 both change ",
        ),
        ([(1, "", "Contingency", 0.1)], "line 1: its sheet or option is blank."),
        ([(1, "Job", "", 0.1)], "line 1: its input is blank."),
        ([(1, "Job", "Contingency", None)], "line 1: its value to try is blank."),
        ([(1, "Option B", "Joist", "2x8")], "Option B is not in use."),
        ([(1, "Option C", "Boards a beam", 2)], "does not use"),
        ([(1, "Option A", "Kind", "blank")], "an option without a kind is none."),
        ([(1, "Option A", "Kind", "tent")], 'Kind: "tent" is not known'),
        ([(1, "Option B", "Kind", "slab")], "Option B is not in use."),
        ([(1, "Job", "Customer", "J. Doe")], "nothing that is compared here depends on"),
        ([(1, "Option A", "Joist", "3x9")], 'Joist: "3x9" is not known'),
        ([(1, "Prices", "Crushed stone", 9)], "is no item of Prices. Did you mean "),
        ([(1, "Job", "Length", "18 ft")], 'Did you mean "Length of the building"'),
        ([(1, "Prices", "6x6 x 12 ft, treated", -1)], "Price of 6x6 x 12 ft, treated is -1"),
    ],
)
def test_what_can_not_be_tried_is_told_in_its_own_result(lines: list[Line], sentence: str) -> None:
    values = tried(small(), *lines, (2, "Job", "Contingency", 0.2))
    first, second = said(values)
    assert first.startswith("1: not worked out: ")
    assert sentence in first
    assert second.startswith("2: Contingency: 0.2 (20%). ")
    assert np.isnan(block(values, TOTALS[0])).all()
    assert block(values, TOTALS[1])[0] > at(values, "total_cost", 0)


def test_a_job_that_can_not_be_built_takes_no_other_what_if_along() -> None:
    model = copy.copy(build_model())
    values = dict(
        tried(small(), (1, "Job", "Length of the building", 14), (3, "Job", "Profit", 0.1))
    )
    joists = model.solvers["joists"]

    def no_longer(reads: Declared) -> Any:
        if np.ravel(reads["building_length_ft"])[0] == 14:
            raise SolveError("no board is long enough", cure="Type another joist.")
        return joists.function(reads)

    model.solvers = model.solvers | {"joists": dataclasses.replace(joists, function=no_longer)}
    found = solve_what_ifs((), Declared("what_ifs", values), model)
    lines = [line for line in found["case_says"][0] if line]
    assert lines[0] == "1: not worked out: no board is long enough. Type another joist."
    assert lines[1].startswith("3: Profit: ")
    assert np.isfinite(found[TOTALS[2]][0, 0])


# --- the place on the lot ---

SETBACK = ("Siting", "Setback from the property line")
SEARCHED = {"siting_step_ft": 2, "siting_wanted": "yes"}


@pytest.mark.parametrize("measure", ["feet", "metric"])
def test_inputs_of_the_search_give_the_place_that_a_new_job_with_them_finds(measure: str) -> None:
    inputs = read_inputs(build_model(), changed(small(), **SEARCHED))
    model = build_model()
    if measure == "metric":
        inputs, model = metric_inputs(inputs), metric(model)
    line = (1, *SETBACK, 1.8 if measure == "metric" else 6.0)
    values = Solved(model, with_lines(inputs, [line]))
    other = Solved(model, typed_into(model, inputs, [line]))
    tried, as_it_is = said(values)[1].removeprefix("1: Best place: ").split("; as it is: ")
    for told, of in ((tried, other), (as_it_is, values)):
        x, y, turn = (
            f"{model.quantities[key].label} {block(of, key)[0]:.1f} {model.quantities[key].unit}"
            for key in map(model.name, ("place_x_ft", "place_y_ft", "place_turn_deg"))
        )
        cost, today = block(of, "place_cost")[0], at(of, "siting_now_cost")
        amounts = f"${cost:,.0f} to compare (where it is staked ${today:,.0f})"
        assert told.rstrip(".") == f"{x}, {y}, {turn}, {amounts}"
    assert tried != as_it_is.rstrip(".")
    for option in (0, 2):
        assert block(values, TOTALS[0])[option] == at(other, "total_cost", option)


def test_a_search_is_run_only_for_what_changes_its_own_inputs() -> None:
    model = copy.copy(build_model())
    lines = [
        (1, "Prices", "Crushed stone, clean, 3/4 in (No. 67)", 90.0),
        (2, *SETBACK, 6.0),
        (3, "Siting", "Look for the best place", "no"),
    ]
    values = dict(tried(changed(small(), **SEARCHED), *lines))
    siting, calls = model.solvers["siting"], []

    def counted(reads: Declared) -> Any:
        calls.append(float(np.ravel(reads["setback_ft"])[0]))
        return siting.function(reads)

    model.solvers = model.solvers | {"siting": dataclasses.replace(siting, function=counted)}
    told = solve_what_ifs((), Declared("what_ifs", values), model)["case_says"][0]
    assert calls == [3, 6, 3]
    first = [line for line in told if line.startswith("1: ")]
    assert not any("Best place" in line for line in first)
    assert any(line.startswith('3: Best place: not looked for ("Look for') for line in told)


def test_where_no_place_is_allowed_it_says_why_and_who_looks_for_none_is_told_so() -> None:
    lines = [
        (1, *SETBACK, 400),
        (2, "Siting", "Look for the best place", "yes"),
        (2, *SETBACK, 400),
    ]
    one, two = [line for line in said(tried(small(), *lines)) if "Best place" in line]
    none = 'not looked for ("Look for the best place": no)'
    assert one == f"1: Best place, as it is: {none}."
    assert two.startswith("2: Best place: a footprint of ")
    assert " has no allowed place. " in two
    assert two.endswith(f"; as it is: {none}.")


# --- in words ---


def outcome(totals: dict[int, float], passes: set[int], says: dict[int, str]) -> Outcome:
    return Outcome(
        totals, totals, frozenset(passes), {"load": says, "air": dict.fromkeys(says, "ok")}
    )


def test_who_passes_and_which_checks_turn_is_told() -> None:
    was = outcome({0: 5, 1: 6, 2: 7}, {0, 1, 2}, {0: "ok", 1: "ok", 2: "FAIL: x"})
    now = outcome({0: 9, 1: 6, 2: 7}, {1, 2}, {0: "FAIL: too much", 1: "LOOK: near", 2: "ok"})
    assert passing_told(was, now) == "B and C pass; the cheapest is B, as it is A."
    assert passing_told(now, was) == "All pass; the cheapest is A, as it is B."
    assert passing_told(was, outcome({0: 1, 1: 2}, set(), {})) == "No option passes."
    assert turns_told(was, now, {"load": "Load", "air": "Air"}) == [
        "A: Load: FAIL: too much",
        "C: Load: no longer FAIL",
        "B: Load: LOOK: near",
    ]


def test_lines_that_have_no_room_are_counted() -> None:
    lines = _cut([["1: a. All pass.", *(f"1: turn {n}" for n in range(30))], ["2: b. All pass."]])
    assert len(lines) == SAID // 2 + 1
    assert lines[SAID // 2 - 1 :] == ["1: and 20 more checks turn", "2: b. All pass."]


# --- in a workbook ---


def test_every_input_that_can_be_changed_is_in_the_list_of_its_sheet_and_named_there_once() -> None:
    for model in (build_model(), metric(build_model())):
        plan = layout(model)
        field = model.quantities["change_input"].field
        assert field is not None
        listed = dict(zip(WHERE, field.labels[1], strict=False))
        seen: set[tuple[str, str]] = set()
        read = read_for(plan, "change")
        for key in read.intersection(changeable(model.quantities)):
            item, row = model.quantities[key], plan.places[key].area.row1
            assert (item.sheet, item.label) not in seen
            seen.add((item.sheet, item.label))
            first = field.labels[1][-1] if item.by_option else listed[item.sheet]
            area = names(plan, first, read)
            if item.axis is not None:
                assert area == "in_item_name"
            else:
                sheet, top, end = re.fullmatch(r"(\w+)!\$A\$(\d+):\$A\$(\d+)", area).groups()
                assert sheet == item.sheet
                assert int(top) <= row <= int(end)


def test_what_ifs_are_not_taken_to_the_next_job() -> None:
    assert set(COLUMNS) <= job_specific(build_model())


@pytest.mark.slow
def test_a_workbook_is_refilled_with_what_ifs_and_says_when_they_are_out_of_date(
    tmp_path: Path, fresh_template: Path
) -> None:
    assert fresh_template.exists()
    path = tmp_path / "piers.xlsx"
    job = one_option(PIERS, **{k: v for k, v in ALL_KINDS[2].items() if k != "option_kind"})
    create_workbook(path, build_model(), asked(job, (1, "Job", "Width of the building", "9' 6\"")))
    data = path.read_bytes()

    def stale(cells: dict[Any, Any]) -> bool:
        checked = check_book(FilePort(opened(edited(data, cells))), build_model())
        return bool(checked.stale.get("what_ifs"))

    assert value(data, (TOTALS[0], 0, 0)) != value(data, ("case_total_now", 0, 0)) > 0
    assert not stale({})
    assert not stale({"in_customer_name": "J. Doe"})
    assert stale({("in_change_value", 0, 0): 10})
    assert stale({"in_contingency_share": 0.4})
    typo = {("in_change_input", 0, 0): "Widht", ("in_change_case", 0, 1): 3}
    wrong = refilled(edited(data, typo))
    assert value(wrong.data, "case_says").startswith("1: not worked out: line 1: ")
    assert value(wrong.data, ("case_says", 0, 1)).startswith("3: not worked out: line 2: its sheet")
    assert value(wrong.data, (TOTALS[0], 0, 0)) is None
