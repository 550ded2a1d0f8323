"""Rows, sheets and models: what is refused, what comes after what, and the values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from toy_model import VALUES, toy_model

from estimator.engine import Model, Solver
from estimator.errors import RowError, SolveError
from estimator.evaluation import evaluate
from estimator.inputs import Field
from estimator.rows import USED, Chapter, Sheet, Table, mark_of
from estimator.values import Values, as_values
from estimator.vocabulary import Q, across, join, lookup, nth, pick, rounded, sum_if

KINDS = np.array([["pad"], ["piers"], [""]])


def yard() -> tuple[Sheet, Any, Any]:
    """A sheet with a section and two tables, to put right and wrong rows on."""
    sheet = Sheet("Yard", "Yard", "For trying rows.")
    sheet.section("Typed")
    sheet.typed(Field("width_ft", "Width", "ft"), scope="job")
    sheet.typed(Field("wood", "Wood", kind="text"), scope="job")
    sheet.typed(Field("option_kind", "Kind", kind="text", needed=False), scope="option")
    sheet.typed(Field("depth_in", "Depth", "in"), scope="option")
    parts = sheet.table("part", "Parts", 4, index=True)
    parts.typed(Field("part_name", "Part", kind="text"))
    parts.typed(Field("part_ft", "Length", "ft"))
    bins = sheet.table("bin", "Bins", 3)
    bins.typed(Field("bin_name", "Bin", kind="text"))
    bins.typed(Field("bin_usd", "Price", "$"))
    sheet.section("Worked out")
    return sheet, parts, bins


INPUTS: dict[str, Any] = {
    "width_ft": 10.0,
    "wood": "pine",
    "option_kind": KINDS,
    "depth_in": np.array([[4.0], [6.0], [0.0]]),
    "part_name": np.array([["joist", "rim", "skid", ""]]),
    "part_ft": np.array([[10.0, 12.0, 14.0, 0.0]]),
    "bin_name": np.array([["skid", "rim", ""]]),
    "bin_usd": np.array([[3.0, 2.0, 0.0]]),
}


def trying(function: Callable[..., Any], **how: Any) -> Model:
    """The yard with one more row."""
    sheet, _, _ = yard()
    function.__name__ = "tried"
    sheet.row("Tried", **how)(function)
    return Model([sheet], [])


# What is refused, naming sheet and key


def if_on_a_reference(width_ft: Q) -> Q:
    return 1 if width_ft > 3 else 2


def with_float(width_ft: Q) -> Q:
    return float(width_ft) * 2


def looping(part_ft: Q) -> Q:
    return sum(part_ft)


def formatting(width_ft: Q) -> Q:
    return join(f"{width_ft:.1f}", " ft")


def unsupported(width_ft: Q) -> Q:
    return np.log(width_ft)


def two_tables(part_ft: Q, bin_usd: Q) -> Q:
    return np.sum(part_ft * bin_usd)


def a_whole_block(part_ft: Q) -> Q:
    return part_ft * 2


def a_stranger(girth_ft: Q) -> Q:
    return girth_ft * 2


def unused(width_ft: Q, wood: Q) -> Q:  # noqa: ARG001
    return width_ft * 2


def a_text(wood: Q) -> Q:
    return join(wood, "!")


def mixed(width_ft: Q) -> Q:
    return np.where(width_ft > 3, "wide", 0)


def no_value(width_ft: Q) -> Q:
    width_ft + 1


def a_method(part_ft: Q) -> Q:
    return part_ft.sum()


def unequal_columns(part_name: Q, bin_usd: Q) -> Q:
    return lookup("rim", part_name, bin_usd)


@pytest.mark.parametrize(
    ("function", "match"),
    [
        (if_on_a_reference, "neither true nor false.*np.where"),
        (with_float, "float"),
        (looping, "looped over"),
        (formatting, "formatted"),
        (unsupported, "np.log has no formula"),
        (two_tables, "different tables"),
        (a_whole_block, "can't be a whole part block"),
        (a_stranger, "unknown quantity 'girth_ft'"),
        (unused, "never reads 'wood'"),
        (a_text, "yields text, declared number"),
        (mixed, "a text and a number"),
        (no_value, "NoneType can't stand in a formula"),
        (a_method, "can't become a formula"),
        (unequal_columns, "same table"),
    ],
)
def test_a_wrong_row_fails_with_its_sheet_and_key(function: Callable[..., Any], match: str) -> None:
    with pytest.raises(RowError, match=rf"^Yard\.tried: .*{match}"):
        trying(function)


def test_a_row_that_is_declared_a_text_and_yields_a_number_is_refused() -> None:
    with pytest.raises(RowError, match=r"^Yard\.tried: yields number, declared text"):
        trying(lambda width_ft: width_ft * 2, kind="text")


def test_a_row_of_the_whole_job_can_t_read_one_option() -> None:
    with pytest.raises(RowError, match=r"^Yard\.tried: a job row can't read one option"):
        trying(lambda depth_in: depth_in * 2, scope="job")


@pytest.mark.parametrize(
    ("field", "match"),
    [
        (
            Field("tried", "Tried", kind="key", refers="bin_names"),
            "names 'bin_names', which is not",
        ),
        (Field("tried", "Tried", kinds=("pad", "raft")), "names 'raft', which is not"),
        (Field("tried", "Width"), "another input of the sheet is called 'Width' too"),
    ],
)
def test_a_wrong_input_is_refused_with_its_sheet_and_key(field: Field, match: str) -> None:
    sheet = Sheet("Yard", "Yard", "For trying inputs.")
    sheet.section("Typed")
    kind = Field("option_kind", "Kind", kind="choice", choices=("pad", "piers"), needed=False)
    sheet.typed(kind, scope="option")
    sheet.typed(Field("width_ft", "Width", "ft"), scope="job")
    sheet.typed(field, scope="job")
    with pytest.raises(RowError, match=rf"^Yard\.tried: {match}"):
        Model([sheet], [])


def test_a_row_of_the_whole_job_may_look_across_the_options() -> None:
    model = trying(lambda depth_in: across("MAX", depth_in), scope="job")
    assert evaluate(model, INPUTS)["tried"].tolist() == [[6.0]]


def test_a_job_column_can_t_read_one_option() -> None:
    sheet, parts, _ = yard()

    @parts.column("Tried")
    def tried(part_ft: Q, depth_in: Q) -> Q:
        return part_ft * depth_in

    with pytest.raises(RowError, match=r"^Yard\.tried: a job row can't read one option"):
        Model([sheet], [])


def test_a_column_of_another_table_is_no_column_of_this_one() -> None:
    sheet, parts, _ = yard()

    @parts.column("Tried")
    def tried(bin_usd: Q) -> Q:
        return bin_usd * 2

    with pytest.raises(RowError, match=r"^Yard\.tried: a row can't be a whole bin block"):
        Model([sheet], [])


def test_rows_in_a_circle_are_named() -> None:
    sheet, _, _ = yard()

    @sheet.row("First")
    def first(second: Q) -> Q:
        return second + 1

    @sheet.row("Second")
    def second(first: Q, width_ft: Q) -> Q:
        return first + width_ft

    with pytest.raises(RowError, match=r"circle: .*(first <- second|second <- first)"):
        Model([sheet], [])


def test_a_circle_through_a_solver_is_named() -> None:
    sheet, _, _ = yard()
    sheet.solved("courses", "Courses", solver="frame")

    @sheet.row("Trench")
    def trench_in(courses: Q) -> Q:
        return courses * 5.5

    solver = Solver("frame", "frame", ("trench_in",), lambda _read: {"courses": 1.0})
    with pytest.raises(RowError, match=r"circle: .*solve frame"):
        Model([sheet], [solver])


def test_a_row_that_reads_itself_is_a_circle() -> None:
    with pytest.raises(RowError, match=r"circle: .*tried"):
        trying(lambda tried: tried + 1)


def test_a_key_is_used_once_on_a_sheet() -> None:
    sheet, _, _ = yard()
    with pytest.raises(RowError, match=r"^Yard\.width_ft: two rows have this key"):
        sheet.row("Width again")(_named("width_ft"))


def test_a_key_is_used_once_in_the_model() -> None:
    sheet, _, _ = yard()
    other = Sheet("Other", "Other", "Another.")
    other.section("Typed")
    other.typed(Field("wood", "Wood", kind="text"), scope="job")
    with pytest.raises(RowError, match=r"^Other\.wood: two sheets have this key"):
        Model([sheet, other], [])


def _named(name: str) -> Callable[..., Any]:
    def function(wood: Q) -> Q:
        return wood

    function.__name__ = name
    return function


def test_a_row_stands_in_a_section() -> None:
    sheet = Sheet("Bare", "Bare", "No section.")
    with pytest.raises(RowError, match=r"^Bare\.wood: a row stands outside any section"):
        sheet.row("Wood")(_named("wood"))
    sheet.table("part", "Parts", 3)
    with pytest.raises(RowError, match=r"^Bare\.wood: a row stands outside any section"):
        sheet.row("Wood")(_named("wood"))


def test_a_solved_quantity_needs_its_solver() -> None:
    sheet, _, _ = yard()
    sheet.solved("courses", "Courses", solver="frame")
    with pytest.raises(RowError, match=r"^Yard\.courses: unknown solver 'frame'"):
        Model([sheet], [])


def test_a_solver_reads_what_there_is() -> None:
    sheet, _, _ = yard()
    solver = Solver("frame", "frame", ("girth_ft",), lambda _read: {})
    with pytest.raises(RowError, match=r"^solver frame: unknown quantity 'girth_ft'"):
        Model([sheet], [solver])


class At:
    """Writes every quantity by its key."""

    def cell(self, key: str) -> str:
        return key

    block = options = cell


def test_a_formula_that_is_too_long_names_its_row() -> None:
    def long(width_ft: Q) -> Q:
        total = width_ft
        for n in range(250):
            total = total + width_ft * (n + 1 / 3) / (n + 1 / 7)
        return total

    with pytest.raises(RowError, match=r"^Yard\.tried: the formula has \d+ characters"):
        trying(long).formula("tried", At())


def test_a_formula_that_is_too_deep_names_its_row() -> None:
    def deep(width_ft: Q) -> Q:
        for _ in range(70):
            width_ft = np.abs(width_ft)
        return width_ft

    with pytest.raises(RowError, match=r"^Yard\.tried: .* 70 levels; .*Split the row"):
        trying(deep).formula("tried", At())


def test_a_function_over_a_block_inside_a_sum_names_its_row() -> None:
    model = trying(lambda part_ft: np.sum(np.ceil(part_ft)))
    with pytest.raises(RowError, match=r"^Yard\.tried: ceil can't stand over a block.*column"):
        model.formula("tried", At())


def test_a_right_row_has_its_formula() -> None:
    model = trying(lambda width_ft, depth_in: width_ft * depth_in / 12)
    assert model.formula("tried", At()) == "width_ft*depth_in/12"


# What a model knows


def test_everything_comes_after_what_it_reads() -> None:
    model = toy_model()
    place = {key: n for n, key in enumerate(model.order)}
    for item in model.rows():
        assert all(place[read] < place[item.key] for read in item.reads), item.key
    for solver in model.solvers.values():
        node = place[f"solve {solver.name}"]
        assert all(place[key] < node for key in (*solver.reads, *solver.prices))
        assert all(node < place[key] for key in model.writes[solver.name])


def test_what_depends_on_a_solver_is_known_through_any_number_of_rows() -> None:
    model = toy_model()
    assert model.upstream("volume_ft3") == frozenset()
    assert model.upstream("step_rise_in") == {"steps"}
    assert model.upstream("step_rise_ft") == {"steps"}
    assert model.upstream("trips") == {"buying", "steps"}, "buying reads what steps wrote"
    assert model.upstream("verdict") == {"buying", "steps"}
    assert model.upstream("chosen_cost_usd") == frozenset()


def test_a_stack_depends_on_what_its_rows_depend_on() -> None:
    sheet, _, _ = yard()
    sheet.solved("courses", "Courses", solver="frame")
    sheet.section("Lines", stack="line_usd")

    @sheet.row("Timber")
    def timber_usd(courses: Q) -> Q:
        return courses * 20

    @sheet.row("Stone")
    def stone_usd(width_ft: Q) -> Q:
        return width_ft * 3

    sheet.section("All")

    @sheet.row("Total")
    def total_usd(line_usd: Q) -> Q:
        return np.sum(line_usd)

    solver = Solver("frame", "frame", ("depth_in",), lambda read: {"courses": read["depth_in"]})
    model = Model([sheet], [solver])
    assert model.upstream("total_usd") == {"frame"}
    assert model.upstream("stone_usd") == frozenset()
    assert model.capacity("line") == 2
    values = evaluate(model, INPUTS)
    assert values["line_usd"].tolist() == [[80.0, 30.0], [120.0, 30.0], [0.0, 30.0]]
    assert values["total_usd"].ravel().tolist() == [110.0, 150.0, 30.0]


# Values


def plain(value: Values) -> list[Any]:
    return np.asarray(value).ravel().tolist()


def test_the_toy_model_is_worked_out_by_hand() -> None:
    values = evaluate(toy_model(), VALUES)
    # 12.5 ft by 30 in by 12 in: 31.25 ft3 at 2.50 and a tenth for waste.
    assert plain(values["volume_ft3"])[0] == pytest.approx(31.25, rel=1e-15)
    assert plain(values["soil_usd"])[0] == 85.94
    assert plain(values["boards_usd"])[0] == 13 * 4 * 1.25
    assert plain(values["cost_usd"])[0] == pytest.approx(150.94, rel=1e-15)
    assert plain(values["trips"])[0] == 6
    assert plain(values["chosen_cost_usd"]) == [pytest.approx(150.94, rel=1e-15)]


def test_a_column_of_an_option_that_is_not_in_use_is_quiet() -> None:
    model = toy_model()
    values = evaluate(model, VALUES)
    used = np.asarray(values[USED]).ravel() > 0
    assert used.tolist() == [True, True, False, True, False, False]
    checked = 0
    for key, item in model.quantities.items():
        if not item.by_option or item.role in ("input", "mark") or key == USED:
            continue
        array = np.asarray(values[key])
        assert array.shape[-2] == 6, key
        quiet = array == "" if array.dtype.kind == "U" else np.isnan(array)
        assert quiet[~used].all(), key
        assert not quiet[used].all(), key
        checked += 1
    assert checked > 8


def test_a_row_that_reads_no_option_is_quiet_too_where_the_option_is_not_in_use() -> None:
    """It stands in the order before the test of use unless it is told to wait for it."""
    sheet, parts, _ = yard()

    @sheet.row("Fence")
    def fence_ft(width_ft: Q) -> Q:
        return 4 * width_ft

    @parts.column("Share", by_option=True)
    def part_share(part_ft: Q, width_ft: Q) -> Q:
        return part_ft / width_ft

    @sheet.row("Words", kind="text")
    def words(wood: Q) -> Q:
        return join(wood, "!")

    @sheet.row("In use")
    def option_used(option_kind: Q) -> Q:
        return option_kind != ""

    model = Model([sheet], [])
    values = evaluate(model, INPUTS)
    assert plain(values["fence_ft"])[:2] == [40.0, 40.0]
    assert np.isnan(plain(values["fence_ft"])[2])
    assert np.isnan(np.asarray(values["part_share"])[2]).all()
    assert plain(values["words"]) == ["pine!", "pine!", ""]


def test_the_index_of_a_table_counts_from_one() -> None:
    model = trying(lambda part_no, part_ft: np.sum(part_no * part_ft))
    values = evaluate(model, INPUTS)
    assert plain(values["part_no"]) == [1.0, 2.0, 3.0, 4.0]
    assert plain(values["tried"]) == [10 + 24 + 42]


def test_a_truth_is_kept_as_1_or_0() -> None:
    values = evaluate(trying(lambda depth_in: depth_in > 5), INPUTS)
    assert values["tried"].dtype == float
    assert plain(values["tried"]) == [0.0, 1.0, 0.0]


def test_a_number_typed_over_a_row_wins_and_flows_downstream() -> None:
    model = toy_model()
    before = evaluate(model, VALUES)
    after = evaluate(model, VALUES, typed_over={"volume_ft3": {(0, 0): 100.0}})
    assert plain(after["volume_ft3"])[0] == 100.0
    assert plain(after["soil_usd"])[0] == 275.0
    assert plain(after["cost_usd"])[0] == 275 + 65
    assert plain(after["trips"])[0] == 17, "solvers read it as well"
    assert plain(after["verdict"])[0] == "First: many"
    assert plain(after["chosen_cost_usd"]) == [340.0]
    for option in (1, 3):
        assert plain(after["cost_usd"])[option] == plain(before["cost_usd"])[option]


def test_a_number_typed_over_one_line_of_a_table_leaves_the_others() -> None:
    model = toy_model()
    after = evaluate(model, VALUES, typed_over={"soil_full_price": {(0, 1): 9.0}})
    assert plain(after["soil_full_price"]) == pytest.approx([2.75, 9.0, 4.4, 0, 0, 0], rel=1e-15)
    assert plain(after["soil_usd"])[1] == pytest.approx(9 * 27.34375, abs=0.005)


def test_a_number_typed_over_a_solved_cell_of_one_option_and_line_wins() -> None:
    model = toy_model()
    after = evaluate(model, VALUES, typed_over={"step_rise_in": {(3, 2): 50.0}})
    assert np.asarray(after["step_rise_in"])[3].tolist() == [12.0, 12.125, 50.0, 12.375]
    assert np.asarray(after["step_rise_in"])[0].tolist() == [12.0, 12.125, 12.25, 12.375]
    assert plain(after["step_most_in"])[2] == 50.0


def test_a_text_typed_over_a_row_wins() -> None:
    after = evaluate(toy_model(), VALUES, typed_over={"verdict": {(1, 0): "mine"}})
    assert plain(after["verdict"])[1] == "mine"
    assert plain(after["verdict"])[0] != "mine"


def test_a_number_typed_over_a_row_that_is_alike_for_all_options_changes_one() -> None:
    model = trying(lambda width_ft: width_ft * 2)
    after = evaluate(model, INPUTS, typed_over={"tried": {(1, 0): 5.0}})
    assert plain(after["tried"]) == [20.0, 5.0]


def test_solved_values_may_be_given_instead_of_solved_for() -> None:
    model = toy_model()
    solved = {key: as_values(3.0) for key in ("trips", "bags", "step_at_ft", "step_rise_in")}
    solved["step_word"] = as_values("x")
    values = evaluate(model, VALUES, solved=solved)
    assert plain(values["trips"])[0] == 3.0
    assert plain(values["trips_and_steps"])[0] == 6.0


def test_a_solver_that_has_no_answer_says_so() -> None:
    sheet, _, _ = yard()
    sheet.solved("courses", "Courses", solver="frame")

    def refuse(_read: Mapping[str, Values]) -> Mapping[str, Any]:
        raise SolveError("a piece is longer than every stock length.", where="frame")

    model = Model([sheet], [Solver("frame", "frame", ("depth_in",), refuse)])
    with pytest.raises(SolveError, match=r"^frame: a piece is longer"):
        evaluate(model, INPUTS)


def test_a_mark_is_fresh_unless_the_workbook_says_otherwise() -> None:
    model = toy_model()
    assert plain(evaluate(model, VALUES)[mark_of("steps")])[0] == 0.0
    stale = evaluate(model, {**VALUES, mark_of("steps"): np.full((6, 1), 2.0)})
    assert plain(stale["overall_flag"]) == ["Steps are out of date"]


def test_scenarios_in_front_give_what_each_gives_alone() -> None:
    model = toy_model()
    widths = np.linspace(20, 60, 5)
    solved = {k: evaluate(model, VALUES)[k] for k in ("trips", "bags")}
    solved |= {k: evaluate(model, VALUES)[k] for k in ("step_at_ft", "step_rise_in", "step_word")}
    many = evaluate(model, {**VALUES, "planter_width_in": widths[:, None, None]}, solved=solved)
    assert many["cost_usd"].shape == (5, 6, 1)
    assert many["chosen_cost_usd"].shape == (5, 1, 1)
    for n, width in enumerate(widths):
        one = evaluate(model, {**VALUES, "planter_width_in": width}, solved=solved)
        np.testing.assert_array_equal(np.asarray(many["cost_usd"])[n], np.asarray(one["cost_usd"]))
        assert np.asarray(many["chosen_cost_usd"])[n] == np.asarray(one["chosen_cost_usd"])


def test_a_price_that_is_looked_up_and_summed_by_key_agrees_with_a_loop() -> None:
    sheet, parts, _ = yard()

    @parts.column("Cost", "$")
    def part_usd(part_name: Q, part_ft: Q, bin_name: Q, bin_usd: Q) -> Q:
        return rounded(part_ft * lookup(part_name, bin_name, bin_usd, 0), 2)

    @sheet.row("Rims", "$", scope="job")
    def rims_usd(part_usd: Q, part_name: Q) -> Q:
        return sum_if(part_usd, part_name, "RIM")

    @sheet.row("Second", "$", scope="job")
    def second_usd(part_usd: Q) -> Q:
        return nth(part_usd, 2)

    @sheet.row("Chosen depth", "in", scope="job")
    def chosen_in(depth_in: Q) -> Q:
        return pick(depth_in, 2)

    sheet.section("More")
    values = evaluate(Model([sheet], []), INPUTS)
    assert plain(values["part_usd"]) == [0.0, 24.0, 42.0, 0.0]
    assert plain(values["rims_usd"]) == [24.0]
    assert plain(values["second_usd"]) == [24.0]
    assert plain(values["chosen_in"]) == [6.0]


# A sheet made of chapters


def planting() -> tuple[Chapter, Chapter]:
    """Two chapters, the second with a table and a row that reads the first."""
    first, second = Chapter(), Chapter()
    first.section("Beds")
    first.typed(Field("beds", "Beds", "count"), scope="job")
    second.table("row", "Rows", 2).typed(Field("row_ft", "Row", "ft"))
    second.section("In all")

    @second.row("Feet", "ft", scope="job")
    def feet(beds: Q, row_ft: Q) -> Q:
        return beds * np.sum(row_ft)

    return first, second


def test_a_sheet_has_the_parts_of_its_chapters_in_order() -> None:
    sheet = Sheet("Garden", "Garden", "", *planting())
    assert [part.title for part in sheet.parts] == ["Beds", "Rows", "In all"]
    assert {item.sheet for item in sheet.quantities.values()} == {"Garden"}
    table = sheet.parts[1]
    assert isinstance(table, Table)
    assert table.sheet is sheet
    values = evaluate(Model([sheet], []), {"beds": 3.0, "row_ft": np.array([[2.0, 5.0]])})
    assert values["feet"].item() == 21.0


def test_a_chapter_is_on_one_sheet_and_complete_when_that_is_made() -> None:
    first, second = planting()
    Sheet("Garden", "Garden", "", first, second)
    with pytest.raises(RowError, match="a chapter is on two sheets"):
        Sheet("Yard", "Yard", "", first)
    with pytest.raises(RowError, match="already made"):
        first.typed(Field("late", "Late"), scope="job")


def test_a_key_in_two_chapters_of_a_sheet_is_refused() -> None:
    (first, _), (again, _) = planting(), planting()
    with pytest.raises(RowError, match="two rows have this key"):
        Sheet("Garden", "Garden", "", first, again)


def test_a_table_of_a_loose_chapter_has_no_sheet() -> None:
    with pytest.raises(RowError, match="on no sheet"):
        _ = Chapter().table("row", "Rows", 2).sheet


# What every option has alike


def test_a_row_of_the_job_alone_and_a_constant_have_a_value_in_every_option() -> None:
    sheet, _, _ = yard()

    @sheet.row("In use", fmt="0")
    def option_used(option_kind: Q) -> Q:
        return np.where(option_kind != "", 1, 0)

    @sheet.row("Long", "ft")
    def long_ft(width_ft: Q) -> Q:
        return width_ft * 2

    @sheet.row("Two", "count")
    def two() -> Q:
        return 2

    @sheet.row("In all", "ft", scope="job")
    def all_ft(long_ft: Q, two: Q) -> Q:
        return across("SUM", long_ft) + across("COUNT", two)

    values = evaluate(Model([sheet], []), INPUTS)
    assert np.array_equal(np.asarray(values["long_ft"])[:, 0], [20, 20, np.nan], equal_nan=True)
    assert np.array_equal(np.asarray(values["two"])[:, 0], [2, 2, np.nan], equal_nan=True)
    assert values["all_ft"].item() == 42


def test_a_mirror_shows_another_row_and_words_for_an_empty_text() -> None:
    sheet, _, _ = yard()

    @sheet.row("In use", fmt="0")
    def option_used(option_kind: Q) -> Q:
        return np.where(option_kind != "", 1, 0)

    sheet.mirror("shown_in", "depth_in", "Depth", "in")
    sheet.mirror("shown_kind", "option_kind", "Kind", kind="text", empty="none")
    sheet.mirror("second_in", "depth_in", "Depth of the second", "in", chosen="second")
    sheet.row("Second", scope="job")(_second)
    model = Model([sheet], [])
    values = evaluate(model, INPUTS)
    assert np.array_equal(np.asarray(values["shown_in"])[:2, 0], [4, 6])
    assert list(np.asarray(values["shown_kind"])[:, 0]) == ["pad", "piers", ""]
    assert values["second_in"].shape == (1, 1)
    assert values["second_in"].item() == 6


def _second(width_ft: Q) -> Q:
    return width_ft / 5


_second.__name__ = "second"
