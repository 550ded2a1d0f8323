"""One option that can't be supplied: the others are priced, and it counts nowhere."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import retyped
from jobs import FLAT, at, block, changed, demo, on_ground, solved_whole, used, with_options
from test_what_if import asked, said, tried

from estimator import Job, cli, estimate
from estimator.errors import InputError, OptionError
from estimator.evaluation import evaluate
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.falls import TOTALS
from estimator.model.kinds import BLOCKS, FRAMED, OPEN, PIERS, SLAB
from estimator.model.what_if import TOTALS as TRIED_TOTALS
from estimator.report import CheckedBook, answer, checks, refuse_unsupplied, sentence
from estimator.typed_job import demo_job, load_job, read_inputs
from estimator.workbook.package.parts import Package
from estimator.workbook.refill.file import create_workbook, refill_bytes
from estimator.workbook.refill.file_port import FilePort
from estimator.workbook.refill.refill import check_book

BEAMS, TIMBERS = "2x8 treated", "6x6 treated"
MARKS = ("is_cheapest", "is_quickest", "is_soonest", "chance_cheapest", "total_cost", "ready_day")


def lines_of(**column: Any) -> list[int]:
    """Lines of tables that hold this in a column."""
    ((key, value),) = column.items()
    return [line for (other, line), entry in demo().cells.items() if (other, entry) == (key, value)]


def stocked(stock: str, key: str, value: Any) -> TypedJob:
    """The known job with something else on all lines of a stock."""
    return changed(demo(), **{key: dict.fromkeys(lines_of(item_stock=stock), value)})


def beside(kind: str, job: TypedJob, /, **cells: Any) -> TypedJob:
    """An option of a kind in column A, and another base that needs nothing of what it lacks."""
    job = changed(job, chosen_option=None)
    return with_options(job, {0: {"option_kind": kind, **cells}, 1: {"option_kind": SLAB}})


def without(job: TypedJob, option: int = 0) -> TypedJob:
    return changed(job, option_kind={option: None})


def short_panels() -> TypedJob:
    panels = [line for (key, line), _ in demo().cells.items() if key == "panel_item"]
    return changed(demo(), panel_length_in=dict.fromkeys(panels, 40))


def no_joists() -> TypedJob:
    lumber = lines_of(item_category="lumber")
    kept = ("4x6 treated", TIMBERS, "2x4", "2x6")
    rows = [r for r in lumber if demo().cells.get(("item_stock", r)) not in kept]
    return changed(demo(), item_category=dict.fromkeys(rows, "hardware"), door_way="none")


def long_floor() -> TypedJob:
    """The longest floor, and timbers shorter than a step."""
    job = stocked("4x6 treated", "item_length_ft", 2.5)
    return changed(job, building_length_ft=40, building_width_ft=24)


def few_beams() -> TypedJob:
    """Piers whose beams the yard has too few boards for, and a slab."""
    return beside(PIERS, stocked(BEAMS, "item_limit", 1), beam_stock=BEAMS)


CAUSES = {
    "too few boards in stock": (few_beams, "boards in stock are not enough"),
    "no board long enough": (
        lambda: beside(BLOCKS, stocked("4x4 treated", "item_length_ft", 0.1)),
        "the longest board at hand",
    ),
    "no boards of the stock": (
        lambda: beside(PIERS, stocked(BEAMS, "item_stock", "2x4"), beam_stock=BEAMS),
        "wants 2x8 treated and the price book has none",
    ),
    "a board without a price": (
        lambda: beside(PIERS, stocked(BEAMS, "item_price", 0), beam_stock=BEAMS),
        "there is no price for 2x8",
    ),
    "no timbers of the stock": (
        lambda: beside(FRAMED, stocked(TIMBERS, "item_stock", "2x4"), timber_stock=TIMBERS),
        "timbers and the price book has none",
    ),
    "no legal joints": (
        lambda: beside(FRAMED, stocked(TIMBERS, "item_length_ft", 2.5), timber_stock=TIMBERS),
        "no legal joints",
    ),
    "more timbers than the table holds": (
        lambda: beside(FRAMED, on_ground(long_floor(), FLAT)),
        "timbers a course; the table holds",
    ),
    "rows of supports too near": (
        lambda: beside(
            PIERS, changed(demo(), building_width_ft=6), support_rows=6, support_inset_in=12
        ),
        "less than 1 ft apart",
    ),
    "no room for a doubled joist": (
        lambda: beside(
            OPEN,
            changed(
                demo(), double_what={0: "wall", 1: "stair"}, double_at_ft={0: 5, 1: "5 ft 0.5 in"}
            ),
        ),
        "No room for a doubled joist",
    ),
    "no row of sheets": (
        lambda: beside(OPEN, short_panels(), joist_spacing_in=24),
        "no row of pieces",
    ),
    "no joist to suggest": (lambda: beside(OPEN, no_joists(), joist_stock=None), "none to suggest"),
}
"""Causes in each solver that plans an option, and what is said of it."""


@cache
def beams() -> Mapping[str, Any]:
    return solved_whole(few_beams())


@pytest.mark.parametrize("cause", CAUSES)
def test_the_others_are_priced_as_without_it_and_it_counts_nowhere(cause: str) -> None:
    make, words = CAUSES[cause]
    job = make()
    values, alone = solved_whole(job), solved_whole(without(job))
    why = at(values, "not_priced")
    assert why.startswith("FAIL: ")
    assert words in why
    assert why.endswith(". Then refill.")
    assert used(values) == used(alone) == [1]
    for key in build_model().quantities:
        if not key.startswith(("compare_", "todo_", "not_priced", "option_kind", "overall")):
            have, want = (np.asarray(each[key]) for each in (values, alone))
            if have.shape[-2] > 1:
                assert np.array_equal(have[1], want[1], equal_nan=have.dtype.kind == "f"), key
    assert all(np.isnan(at(values, key)) for key in MARKS)
    assert at(values, "cheapest_no") in (0, 2)
    assert at(values, "taken_no") == 2
    assert at(values, "next_no") == 0


def test_its_column_says_why_in_place_of_numbers() -> None:
    values = beams()
    assert at(values, "compare_kind") == PIERS
    assert at(values, "compare_lacks") == "FAIL"
    assert at(values, "compare_lacks", 1) == ""
    assert at(values, "compare_mark") == ""
    assert at(values, "todo_supply") == f"{at(values, 'not_priced')} "
    assert at(values, "overall_flag").startswith("CHECK: an option can't be supplied")
    assert np.isnan(at(values, "compare_total"))
    assert not np.any(np.nan_to_num(block(values, "item_cost")))


def test_without_an_option_that_can_be_supplied_the_job_is_refused() -> None:
    job = stocked(BEAMS, "item_limit", 1)
    both = {n: {"option_kind": PIERS, "beam_stock": BEAMS} for n in range(2)}
    with pytest.raises(
        OptionError, match=r"^Prices: option A, 2x8 treated: .* Raise what is"
    ) as one:
        solved_whole(with_options(job, both))
    assert one.value.option == 0


def test_two_of_three_are_told_one_behind_the_other() -> None:
    job = changed(stocked(BEAMS, "item_limit", 1), chosen_option=None)
    piers = {"option_kind": PIERS, "beam_stock": BEAMS}
    values = solved_whole(with_options(job, {0: piers, 1: {"option_kind": SLAB}, 3: piers}))
    assert used(values) == [1]
    told = at(values, "todo_supply")
    assert told.index("option A") < told.index("option D")
    assert "not priced: A, D" in sentence(values)


def test_the_answer_and_the_checks_tell_it() -> None:
    values = beams()
    text = answer(values)
    assert f"A, piers: not priced. {at(values, 'not_priced')}" in text
    assert "A  piers" not in text
    told, failing = checks(CheckedBook(values, {}))
    assert failing
    assert at(values, "not_priced") in told


def test_a_choice_that_cannot_be_supplied_is_no_decision() -> None:
    values = solved_whole(changed(few_beams(), chosen_option="A"))
    assert at(values, "todo_choice").startswith("Start: option A can't be supplied; choose another")
    assert at(values, "overall_flag").startswith("NOT VALID: the chosen option is blank or can't")
    assert at(values, "chosen_used") == 0
    assert at(values, "quote_state").startswith("draft")
    assert "B  slab" in answer(values), "the other still has its price"
    with pytest.raises(
        InputError, match=r"^Start: option A is chosen and not priced: Prices: .* Or"
    ):
        refuse_unsupplied(values)
    refuse_unsupplied(beams())


def test_a_quote_that_lacks_its_second_option_is_a_draft() -> None:
    values = solved_whole(changed(few_beams(), chosen_option="B", second_option="A"))
    assert at(values, "quote_state") == "draft: the second option has no price, see Start"
    assert list(block(values, "offer_option")) == [2, 0]


def test_an_item_that_one_option_alone_needs_may_lack_a_price() -> None:
    job = with_options(demo(), {0: {"option_kind": PIERS}, 1: {"option_kind": OPEN}})
    job = changed(job, chosen_option=None)
    needs = [_needs(solved_whole(job), option) for option in (0, 1)]
    item = sorted(needs[0] - needs[1])[0]
    (line,) = lines_of(item_name=item) or lines_of(item_key=item)
    bare = changed(job, item_price={line: None})
    found, alone = estimate(Job(bare)), estimate(Job(without(bare)))
    (why,) = found.not_priced.values()
    assert f"there is no price for {item}, which option A needs" in why
    assert found.options == alone.options
    assert [option.letter for option in found.options] == ["B"]
    with pytest.raises(OptionError, match="there is no price for"):
        estimate(Job(changed(bare, option_kind={1: None})))


def _needs(values: Mapping[str, Any], option: int) -> set[str]:
    items, much = block(values, "need_item", option), block(values, "need_quantity", option)
    return {str(name) for name, n in zip(items, much, strict=True) if n > 0}


def test_in_metres_the_reason_is_in_metres() -> None:
    model = metric(build_model())
    job = load_job(demo_job(model), model=model)
    cells = {"support_rows": {2: 6}, "support_inset_mm": {2: 300}, "siting_wanted": "no"}
    near = changed(job, building_width_m=1.8, option_kind={0: None, 1: None, 3: None}, **cells)
    values = evaluate(model, read_inputs(model, changed(near, chosen_option=None)))
    assert "option C stand less than 300 mm apart" in at(values, "not_priced", 2)
    assert used(values) == [4]
    assert at(values, "total_cost", 4) > 0


def test_the_fall_table_leaves_it_blank() -> None:
    values = solved_whole(changed(few_beams(), falls_wanted="yes"))
    assert np.isnan(block(values, TOTALS[0])).all()
    assert not np.isnan(block(values, TOTALS[1])).all()
    assert set(block(values, "fall_cheapest")) <= {"B", "none passes", ""}


def test_what_ifs_leave_it_out() -> None:
    values = solved_whole(asked(few_beams(), (1, "Job", "Labour, per person and hour", 40)))
    assert list(block(values, "case_option"))[:2] == ["", "B (slab)"]
    assert np.isnan(block(values, TRIED_TOTALS[0])[0])
    assert block(values, TRIED_TOTALS[0])[1] > at(values, "total_cost", 1)


def test_a_what_if_that_one_option_cannot_be_supplied_in_prices_the_others() -> None:
    job = beside(PIERS, changed(demo(), building_width_ft=6), support_inset_in=12)
    values = tried(job, (1, "Option A", "Rows of supports (beams)", 6))
    first, second = said(values)[:2]
    assert "B alone passes; the cheapest is B" in first
    assert second.startswith("1: not priced: Options: the rows of supports of option A stand less")
    assert np.isnan(block(values, TRIED_TOTALS[0])[0])
    assert block(values, TRIED_TOTALS[0])[1] == at(values, "total_cost", 1)
    assert block(values, "case_total_now")[0] == at(values, "total_cost", 0)


@pytest.fixture(scope="module")
def book(fresh_template: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    assert fresh_template.exists()
    path = tmp_path_factory.mktemp("supply") / "t.xlsx"
    create_workbook(path, build_model(), changed(few_beams(), chosen_option="A"))
    return path.read_bytes()


def test_a_workbook_keeps_the_reason_until_a_refill_finds_it_gone(book: bytes) -> None:
    model = build_model()
    found = check_book(FilePort(Package.open(book)), model)
    assert at(found.values, "not_priced").startswith("FAIL: Prices: option A, 2x8 treated")
    assert found.stale == {}
    again, report, _ = refill_bytes(book, model, "t.xlsx")
    assert at(report.values, "not_priced") == at(found.values, "not_priced")
    assert again == book
    limit = dict.fromkeys(lines_of(item_stock=BEAMS), 99)
    _, report = retyped(book, item_limit=limit)
    assert at(report.values, "not_priced") == ""
    assert used(report.values) == [0, 1]
    assert at(report.values, "total_cost") > 0


def test_pages_of_a_choice_that_cannot_be_supplied_are_refused_in_a_sentence(
    book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "t.xlsx"
    path.write_bytes(book)
    assert cli.main(["print", str(path), "--for", "yard"]) == 2
    told = capsys.readouterr().err
    assert "Start: option A is chosen and not priced: Prices: option A, 2x8 treated" in told
    assert [p.name for p in tmp_path.iterdir()] == ["t.xlsx"]
    assert cli.main(["check", str(path)]) == 1
