"""Items are chosen by the names that people know them by; keys stay inside."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from string import ascii_uppercase
from typing import Any

import numpy as np
import pytest
from books import Spot, edited, opened, spot, value
from jobs import at, block, changed, demo, needed, on_flat, one_option, solved
from known_job import KNOWN_BOOK, KNOWN_JOB, known_job

from estimator.engine import Model
from estimator.errors import InputError
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.model.kinds import OPEN
from estimator.typed_job import default_job, demo_job, load_job, read_inputs
from estimator.workbook.carry.replace import Replaced
from estimator.workbook.carry.upgrade import chosen_by_name
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculate
from estimator.workbook.refill.book import read_book
from estimator.workbook.refill.file_port import FilePort

BOOK = (KNOWN_BOOK / "items.csv").read_text(encoding="utf-8")
GRAVEL = "Gravel from the pit on the hill, washed"


def choices(model: Model, job: TypedJob) -> dict[tuple[str, int], Any]:
    """Every cell of a job that chooses an item."""
    by_key = {k for k, i in model.quantities.items() if i.field and i.field.by_key}
    return {cell: v for cell, v in job.cells.items() if cell[0] in by_key and v}


def with_line(job: TypedJob, row: int = 119, /, **cells: Any) -> TypedJob:
    """The job with a line more on Prices, typed as a person does, without a key."""
    line = {"category": "stone", "unit": "yd3", "pack": 1, "supplier": "Stone yard"} | cells
    return changed(job, **{f"item_{key}": {row: entry} for key, entry in line.items()})


@pytest.mark.parametrize("model", [build_model(), metric(build_model())], ids=["feet", "metric"])
def test_every_cell_that_chooses_an_item_shows_its_name(model: Model) -> None:
    for job in (default_job(model=model), load_job(demo_job(model), model=model)):
        names = {v for (key, _), v in job.cells.items() if key == "item_name"}
        keys = {v for (key, _), v in job.cells.items() if key == "item_key"}
        chosen = choices(model, job)
        assert {key for key, _ in chosen} >= {"stone_item", "sheet_item", "roll_item", "skirt_item"}
        assert set(chosen.values()) <= names
        assert not set(chosen.values()) & keys


def test_what_is_needed_is_told_by_name_for_items_that_have_one() -> None:
    values = solved(demo())
    names = {str(name) for name in block(values, "item_name")}
    keys = {str(key) for key in block(values, "item_key") if str(key)}
    for option in range(5):
        wanted = {
            str(item)
            for item, n in zip(
                block(values, "need_item", option),
                block(values, "need_quantity", option),
                strict=True,
            )
            if n > 0
        }
        assert wanted <= names
        assert not wanted & keys


def test_a_line_with_a_name_and_a_price_is_an_item_without_any_key() -> None:
    job = with_line(on_flat(one_option(OPEN)), name=GRAVEL, price=31.0)
    values = solved(changed(job, stone_item=GRAVEL))
    row = list(block(values, "item_name")).index(GRAVEL)
    assert block(values, "item_packs")[row] == np.ceil(at(values, "stone_order_yd3")) > 0
    assert block(values, "item_cost")[row] == 31.0 * block(values, "item_packs")[row]
    assert needed(values, "stone_57") == 0


TWIN, FIRST = "crushed stone, clean, 3/4 IN (No. 67)", 1
LINES: dict[int, tuple[dict[str, str], str]] = {
    119: ({"name": TWIN}, "Item stands twice"),
    118: ({"name": "A", "key": "stone_57"}, "Key stands twice"),
    117: ({"name": "B", "key": "Fill soil, screened"}, "Key stands twice"),
    116: ({"name": "Post  with two spaces"}, "leave out"),
    115: ({"name": "Stone " + "x" * 260}, "leave out"),
    114: ({"name": GRAVEL}, ""),
}
"""By row of Prices what a person types there, and what the workbook says of it."""


@pytest.fixture(scope="module")
def typed_in(demo_book: bytes) -> tuple[Package, Mapping[tuple[str, str], Any]]:
    """The workbook with these lines, and its values without Python."""
    cells: dict[Spot, Any] = {}
    for row, (line, _) in LINES.items():
        whole = {"category": "stone", "unit": "yd3", "pack": 1.0, "supplier": "Stone yard"} | line
        cells |= {(f"in_item_{key}", 0, row): entry for key, entry in whole.items()}
    package = opened(edited(demo_book, cells))
    return package, recalculate(package).values


@pytest.mark.parametrize("row", LINES)
def test_the_workbook_and_the_engine_refuse_the_same_lines(
    row: int, typed_in: tuple[Package, Mapping[tuple[str, str], Any]]
) -> None:
    package, values = typed_in
    line, said = LINES[row]
    sheet, cell = spot(package, ("in_item_name", 0, row))
    number = cell.lstrip(ascii_uppercase)
    told = [
        str(v)
        for (s, at), v in values.items()
        if (s, at.lstrip(ascii_uppercase)) == (sheet, number)
    ]
    assert any(said in text for text in told)
    job = with_line(demo(), row, **line)
    if said:
        with pytest.raises(InputError):
            read_inputs(build_model(), job)
    else:
        assert not [text for text in told if "stands" in text or "leave out" in text]
        read_inputs(build_model(), job)


def test_two_items_of_one_name_are_refused_with_both_their_cells(
    typed_in: tuple[Package, Mapping[tuple[str, str], Any]],
) -> None:
    package, _ = typed_in
    book = read_book(FilePort(package), build_model())
    cells = {c: v for c, v in book.typed.cells.items() if c[1] < 115 or not c[0].startswith("item")}
    cells |= {("item_name", 119): TWIN}
    with pytest.raises(InputError) as caught:
        read_inputs(build_model(), TypedJob(cells, book.typed.where))
    for row in (FIRST, 119):
        assert "!".join(spot(package, ("in_item_name", 0, row))) in str(caught.value)
    assert "Rename or clear one of them." in str(caught.value)


def test_a_job_file_calls_an_item_by_its_name_or_its_key(tmp_path: Path) -> None:
    text = KNOWN_JOB.read_text(encoding="utf-8")
    path, name = tmp_path / "job.toml", "Crushed stone, clean, 3/4 in (No. 67)"
    for called in ("stone_67", name):
        path.write_text(text + f'stone_item = "{called}"\n')  # of the last option, on blocks
        assert load_job(path).cells["stone_item", 3] == name


def test_a_price_book_of_other_names_is_met_by_key(tmp_path: Path) -> None:
    prices = tmp_path / "yard.csv"
    prices.write_text(BOOK.replace("Crushed stone, clean, 1 in (No. 57)", GRAVEL))
    for over in (None, known_job().cells):
        job = load_job(KNOWN_JOB, prices, over=over)
        stones = [v for (key, _), v in job.cells.items() if key == "stone_item"]
        assert stones
        assert set(stones) == {GRAVEL}
        assert read_inputs(build_model(), job)["stone_item"].shape == (6, 1)


def test_an_item_that_no_line_is_called_by_is_refused_with_those_that_fit() -> None:
    with pytest.raises(InputError) as caught:
        read_inputs(build_model(), changed(demo(), stone_item="sand"))
    assert 'Stone: "sand" is not known.' in str(caught.value)
    assert "Crusher run, 3/4 in and finer" in str(caught.value)
    assert "2x4" not in str(caught.value)


def test_a_list_to_choose_from_shows_what_fits_the_place(
    typed_in: tuple[Package, Mapping[tuple[str, str], Any]],
) -> None:
    package, values = typed_in
    known = demo().cells
    for sort in ("stone", "block", "sheet", "delivery", "fabric"):
        name = next(n for n in package.names if n.startswith("offers_") and listed(n) == sort)
        shown = [values[spot(package, (name, 0, row))] for row in range(24)]
        fitting = [
            known["item_name", place]
            for (key, place), entry in sorted(known.items(), key=lambda cell: cell[0][1])
            if key == "item_category" and entry == sort
        ]
        found = [text for text in shown if text]
        assert found[: len(fitting)] == fitting, sort
        assert found[len(fitting) :][:1] == ([GRAVEL] if sort == "stone" else [])


def listed(name: str) -> str:
    """The sort of items that a list of the workbook shows."""
    field = build_model().quantities[name.removeprefix("offers_")].field
    assert field is not None
    return field.among[-1]


def test_a_workbook_whose_cells_hold_keys_has_names_after_an_upgrade(demo_book: bytes) -> None:
    model, cells = build_model(), choices(build_model(), demo())
    keys = {
        demo().cells["item_name", place]: v
        for (key, place), v in demo().cells.items()
        if key == "item_key"
    }

    def place(key: str, at: int) -> tuple[str, int, int]:
        return (f"in_{key}", 0, at) if model.quantities[key].axis else (f"in_{key}", at, 0)

    older = edited(demo_book, {place(*cell): keys[name] for cell, name in cells.items()})
    assert value(older, place("sheet_item", 0)) == "sheet_23_32_tg"
    done = chosen_by_name(Replaced(opened(older), ()), model)
    assert {cell: value(done.package.to_bytes(), place(*cell)) for cell in cells} == cells
    assert done.notes == (f"Items are chosen by their names now: {len(cells)} cells.",)
    assert chosen_by_name(done, model) is done
