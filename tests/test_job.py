"""Jobs from files: one loads, and each mistake is told with its file and line and a cure."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from known_job import KNOWN_BOOK, KNOWN_JOB, known_job

from estimator.csv_tables import LARGEST_FILE
from estimator.errors import EstimatorError, FileError, InputError
from estimator.inputs import TypedJob
from estimator.model import build_model
from estimator.model.kinds import KIND_NAMES
from estimator.rows import OPTION_KEYS
from estimator.typed_job import (
    default_cells,
    default_job,
    load_job,
    read_inputs,
)

KNOWN = KNOWN_JOB.read_text(encoding="utf-8")
BOOK = (KNOWN_BOOK / "items.csv").read_text(encoding="utf-8")


def job(folder: Path, text: str = KNOWN, prices: str | None = None) -> TypedJob:
    """The job of a file with this text, and perhaps a price book."""
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    if prices is None:
        return load_job(path)
    book = folder / "yard.csv"
    book.write_text(prices, encoding="utf-8")
    return load_job(path, book)


def values(folder: Path, text: str = KNOWN, prices: str | None = None) -> dict[str, Any]:
    return read_inputs(build_model(), job(folder, text, prices))


def line_of(text: str, start: str, nth: int = 0) -> int:
    """Number of the n-th line that starts so."""
    return [n for n, line in enumerate(text.splitlines(), 1) if line.startswith(start)][nth]


def changed(old: str, new: str) -> str:
    """The known job with one thing changed."""
    assert KNOWN.count(old) >= 1
    return KNOWN.replace(old, new, 1)


def refused(error: type[EstimatorError], folder: Path, text: str, prices: str | None = None) -> Any:
    """The error of a job: told in one line, with its place and a cure."""
    with pytest.raises(error) as caught:
        values(folder, text, prices)
    assert "\n" not in str(caught.value)
    assert caught.value.where
    return caught.value


# What loads


def test_a_job_loads_with_every_input_of_the_model() -> None:
    model = build_model()
    found = read_inputs(model, known_job())
    inputs = {key for key, item in model.quantities.items() if item.role == "input"}
    assert set(found) == inputs
    assert found["building_length_ft"] == 12.0
    assert found["job_name"] == "Garden workshop (invented)"
    assert found["option_kind"].ravel().tolist() == [
        "framed pad",
        "open pad",
        "piers",
        "blocks",
        "",
        "",
    ]
    assert np.count_nonzero(found["point_name"]) >= 16
    assert found["item_price"].shape == (1, model.capacity("item"))


def test_every_input_has_the_shape_of_its_place_in_the_workbook() -> None:
    model = build_model()
    found = read_inputs(model, known_job())
    for key, value in found.items():
        item = model.quantities[key]
        if item.axis:
            assert value.shape == (1, model.capacity(item.axis)), key
        elif item.by_option:
            assert value.shape == (len(OPTION_KEYS), 1), key
        else:
            assert isinstance(value, (str, float)), key


def test_an_option_takes_the_defaults_of_what_its_kind_uses_and_nothing_else() -> None:
    model = build_model()
    found = read_inputs(model, known_job())
    for key, value in found.items():
        field = model.quantities[key].field
        if field is None or not model.quantities[key].by_option or not field.kinds:
            continue
        for place, kind in enumerate(found["option_kind"].ravel()):
            if kind not in field.kinds:
                assert value[place, 0] == field.blank, (key, kind)


def test_a_new_workbook_has_the_builder_s_defaults_and_no_option() -> None:
    model = build_model()
    cells = default_cells(model)
    assert cells["wall_height_ft", 0] == 8
    assert ("building_length_ft", 0) not in cells
    assert cells["item_key", 0] == "stone_57"
    assert not any(key == "option_kind" for key, _ in cells)
    assert not any(model.quantities[key].by_option for key, _ in cells)
    offered = default_cells(model, options=True)
    assert {place for key, place in offered if key == "sheet_item"} == set(range(6))
    assert not any(key == "option_kind" for key, _ in offered)


def test_the_defaults_alone_are_readable_but_for_the_ground() -> None:
    found = read_inputs(build_model(), default_job())
    assert found["option_kind"].ravel().tolist() == [*KIND_NAMES, *[""] * (6 - len(KIND_NAMES))]
    assert not np.any(found["point_name"] != "")


def test_a_job_lies_over_the_defaults(tmp_path: Path) -> None:
    found = values(tmp_path, '[job]\nbuilding_length_ft = "16 ft"\n')
    assert found["building_length_ft"] == 16.0
    assert found["wall_height_ft"] == 8.0
    assert found["item_key"][0, 0] == "stone_57"


def test_an_input_may_stand_under_any_heading_or_none(tmp_path: Path) -> None:
    assert values(tmp_path, "wall_height_ft = 9\n")["wall_height_ft"] == 9.0
    assert values(tmp_path, "[walls]\nwall_height_ft = 9\n")["wall_height_ft"] == 9.0


def test_a_table_in_the_job_takes_the_place_of_the_default_table(tmp_path: Path) -> None:
    text = '[[supplier]]\nsupplier_name = "The yard"\nsupplier_delivery = "delivery_yard"\n'
    book = BOOK.splitlines()
    for name in {v for (key, _), v in known_job().cells.items() if key == "supplier_name"}:
        book = [line.replace(f",{name},", ",The yard,") for line in book]
    found = job(tmp_path, text, "\n".join(book))
    assert [v for (k, _), v in found.cells.items() if k == "supplier_name"] == ["The yard"]


def test_a_price_book_takes_the_place_of_the_shipped_one(tmp_path: Path) -> None:
    price = BOOK.replace("yd3,0.5,21.50,", "yd3,0.5,99.25,", 1)
    found = values(tmp_path, KNOWN, price)
    assert found["item_price"][0, 0] == 99.25
    assert found["item_name"][0, 0] == "Crushed stone, clean, 1 in (No. 57)"


def test_blank_lines_and_a_byte_order_mark_do_no_harm(tmp_path: Path) -> None:
    spaced = "\ufeff\n" + BOOK.replace("\n", "\n\n,,,,,,,,,,,,,\n", 1) + "\n\n"
    assert values(tmp_path, KNOWN, spaced)["item_key"][0, 0] == "stone_57"


def test_a_name_of_two_lines_in_quotes_stays_one_value(tmp_path: Path) -> None:
    text = BOOK.replace('"Crushed stone, clean, 1 in (No. 57)"', '"Crushed stone,\nclean"', 1)
    found = values(tmp_path, KNOWN, text)
    assert found["item_name"][0, 0] == "Crushed stone,\nclean"
    assert found["item_key"][0, 1] == "stone_67"


# Files that can't be read


def test_toml_that_is_wrong_gives_file_and_line(tmp_path: Path) -> None:
    text = changed("wall_height_ft = 8", "wall_height_ft = = 8")
    error = refused(FileError, tmp_path, text)
    assert error.where == "job.toml"
    assert f"line {line_of(text, 'wall_height_ft')}" in error.what
    assert "is not valid TOML" in error.what


def test_a_key_twice_in_one_table_gives_its_line(tmp_path: Path) -> None:
    text = changed("wall_height_ft = 8", "wall_height_ft = 8\nwall_height_ft = 9")
    error = refused(FileError, tmp_path, text)
    assert f"line {line_of(text, 'wall_height_ft', 1)}" in error.what


def test_lists_within_lists_without_end_are_refused(tmp_path: Path) -> None:
    assert refused(FileError, tmp_path, "a = " + "[" * 5000 + "]" * 5000).where == "job.toml"


def test_a_file_that_is_not_there_says_so(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"none\.toml: there is no such file"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(FileError, match=r"none\.csv: there is no such file"):
        load_job(KNOWN_JOB, tmp_path / "none.csv")


def test_a_file_that_is_no_text_says_so(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"PK\x03\x04\xff\xfe\x00")
    with pytest.raises(FileError, match=r"job\.toml: is not a text file in UTF-8"):
        load_job(path)


def test_a_folder_is_no_job(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="can't be read"):
        load_job(tmp_path)


def test_a_file_that_is_far_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"#" * (LARGEST_FILE + 1))
    with pytest.raises(FileError, match="too large"):
        load_job(path)


# Jobs that can't be used


@pytest.mark.parametrize(
    ("old", "new", "start", "what", "cure"),
    [
        (
            "wall_height_ft = 8",
            "wall_hight_ft = 8",
            "wall_hight_ft",
            '"wall_hight_ft" is not an input of the job',
            "names that shared/demo_job.toml shows",
        ),
        (
            "floor_live_psf = 50",
            'floor_live_psf = "fifty"',
            "floor_live_psf",
            'Floor live load holds the text "fifty" where a number belongs',
            "a number between",
        ),
        (
            'building_length_ft = "12 ft"',
            "building_length_ft = -12",
            "building_length_ft",
            "Length of the building is -12 ft; it must lie between",
            "Check the number",
        ),
        (
            'building_length_ft = "12 ft"',
            'building_length_ft = "120 ft"',
            "building_length_ft",
            "Length of the building is 120 ft; it must lie between",
            "and its unit",
        ),
        (
            "wall_height_ft = 8",
            'wall_height_ft = ""',
            "wall_height_ft",
            "Height of the walls is blank",
            "Type a length such as 12",
        ),
        (
            'building_length_ft = "12 ft"',
            "building_length_ft = [12]",
            "building_length_ft",
            "A list is not a length",
            "Type it like",
        ),
        (
            "frost_depth_in = 30",
            f"frost_depth_in = 1{'0' * 400}",
            "frost_depth_in",
            "no number that can be used",
            "Type",
        ),
        (
            'door_side = "front"',
            'door_side = "top"',
            "door_side",
            '"top" is not known',
            "Use one of: front",
        ),
        (
            "estimate_date = 2026-04-01",
            'estimate_date = "soon"',
            "estimate_date",
            '"soon", which is not a date',
            "such as 2026-05-01",
        ),
        (
            'soil = "loam"',
            'soil = "cheese"',
            "soil =",
            '"cheese" is not known',
            "Use one of:",
        ),
        (
            "wall_height_ft = 8",
            'wall_height_ft = 8\noption_kind = "piers"',
            "option_kind",
            '"option_kind" is not an input of the job',
            "names that",
        ),
        (
            "wall_height_ft = 8",
            "wall_height_ft = 8\ntotal_cost = 5",
            "total_cost",
            '"total_cost" is not an input of the job',
            "names that",
        ),
        (
            "point_reading_ft = 4.38",
            'point_reading_ft = "high"',
            "point_reading_ft",
            "can't be read as a length",
            "Type it like",
        ),
        (
            'point_setup = "S1"',
            'point_setup = "S9"',
            "point_setup",
            '"S9" is not known',
            "Use one of: S1, S2",
        ),
        (
            'point_name = "P1"',
            'point_nmae = "P1"',
            "point_nmae",
            '"point_nmae" is not a column of point',
            "names that",
        ),
        (
            'option_kind = "framed pad"',
            'option_kind = "stilts"',
            "option_kind",
            'Kind: "stilts" is not known',
            "framed pad, open pad, piers, blocks",
        ),
        (
            'option_kind = "framed pad"',
            'option_kind = "framed pad"\nwall_height_ft = 9',
            "wall_height_ft = 9",
            '"wall_height_ft" is not an input of an option',
            "names that",
        ),
        (
            'joist_stock = "2x6 treated"',
            'joist_stock = "2x7"',
            "joist_stock",
            '"2x7" is not known',
            "Use one of:",
        ),
    ],
)
def test_a_mistake_in_a_job_gives_its_line_and_a_cure(
    tmp_path: Path, old: str, new: str, start: str, what: str, cure: str
) -> None:
    text = changed(old, new)
    error = refused(InputError, tmp_path, text)
    assert what in error.what
    assert error.where == f"job.toml, line {line_of(text, start)}"
    assert cure in error.cure


def test_a_mistake_in_a_later_option_gives_the_line_of_that_option(tmp_path: Path) -> None:
    text = KNOWN.replace("support_inset_in = 12", "support_inset_in = 1200")
    error = refused(InputError, tmp_path, text)
    assert error.where == f"job.toml, line {line_of(text, 'support_inset_in')}"
    only_last = "support_inset_in = 12".join(KNOWN.rsplit("support_inset_in = 12", 1))
    assert only_last == KNOWN
    text = "support_inset_in = 1200".join(KNOWN.rsplit("support_inset_in = 12", 1))
    error = refused(InputError, tmp_path, text)
    assert error.where == f"job.toml, line {line_of(text, 'support_inset_in', 1)}"


def test_more_options_than_columns_are_refused(tmp_path: Path) -> None:
    text = KNOWN + '\n[[option]]\noption_kind = "blocks"\n' * 3
    error = refused(InputError, tmp_path, text)
    assert "up to 6 options, each under [[option]]" in error.what


@pytest.mark.parametrize("entry", ['option = "piers"', "option = [1, 2]", "[option]\nx = 1"])
def test_options_that_are_no_tables_are_refused(tmp_path: Path, entry: str) -> None:
    assert "each under [[option]]" in refused(InputError, tmp_path, entry + "\n").what


@pytest.mark.parametrize("entry", ["point = [1, 2]", 'point = ["P1"]', "point = [[1], [2]]"])
def test_lines_that_are_no_tables_are_refused(tmp_path: Path, entry: str) -> None:
    error = refused(InputError, tmp_path, entry + "\n")
    assert "each under [[point]]" in error.what
    assert error.where == "job.toml, line 1"


def test_more_readings_than_the_table_holds_are_refused(tmp_path: Path) -> None:
    most = build_model().capacity("point")
    lines = (f'[[point]]\npoint_name = "P{n}"\n' for n in range(most + 1))
    error = refused(InputError, tmp_path, "".join(lines))
    assert f"{most + 1} entries [[point]]; the table holds {most}" in error.what
    assert error.where == f"job.toml, line {2 * most + 2}"


def test_a_reading_without_its_name_is_refused_not_left_out(tmp_path: Path) -> None:
    text = changed('point_name = "P1"\n', "")
    error = refused(InputError, tmp_path, text)
    assert "but its point is blank" in error.what
    assert error.where == f"job.toml, line {line_of(text, '[[point]]')}"
    assert error.cure == "Type the point, or clear the line."


def test_a_reading_without_its_place_is_refused(tmp_path: Path) -> None:
    text = changed("point_x_ft = 2.0\n", "")
    error = refused(InputError, tmp_path, text)
    assert error.what == "x is blank."
    assert error.where == f"job.toml, line {line_of(text, 'point_name')}"


@pytest.mark.parametrize("twin", ["P1", "p1", " P1 "])
def test_two_readings_of_one_name_are_refused(tmp_path: Path, twin: str) -> None:
    text = changed('point_name = "P2"', f'point_name = "{twin}"')
    error = refused(InputError, tmp_path, text)
    assert f'two lines have the point "{twin.strip()}"' in error.what
    assert error.where == f"job.toml, line {line_of(text, 'point_name', 1)}"
    assert "Rename or clear" in error.cure


@pytest.mark.parametrize("name", ["P*", "P?", "~P", "<3", "=P1", ">0"])
def test_a_name_that_a_spreadsheet_takes_for_a_pattern_is_refused(
    tmp_path: Path, name: str
) -> None:
    """Spreadsheets match keys with * and ?, and sum by <, > and =; the engine doesn't."""
    text = changed('point_name = "P1"', f'point_name = "{name}"')
    error = refused(InputError, tmp_path, text)
    assert "a spreadsheet can't look for" in error.what
    assert error.where == f"job.toml, line {line_of(text, 'point_name')}"
    assert "Leave out * ? ~" in error.cure


def test_a_long_entry_is_quoted_by_its_beginning(tmp_path: Path) -> None:
    error = refused(
        InputError, tmp_path, changed('point_name = "P1"', f'point_name = "P{"1" * 900}"')
    )
    assert f'look for "P{"1" * 59}...".' in error.what
    assert len(str(error)) < 300


def test_set_ups_may_be_numbered(tmp_path: Path) -> None:
    """A workbook holds such a name as 1.0, a file as 1."""
    text = KNOWN.replace('"S1"', "1").replace('"S2"', "2")
    typed = job(tmp_path, text)
    mixed = {
        cell: float(value) if cell[0] == "setup_name" and isinstance(value, int) else value
        for cell, value in typed.cells.items()
    }
    found = read_inputs(build_model(), TypedJob(mixed, typed.where))
    assert found["setup_name"][0, :2].tolist() == ["1", "2"]
    assert set(found["point_setup"].ravel()) <= {"1", "2", ""}


# Price books that can't be used


def test_a_column_that_is_not_known_is_refused(tmp_path: Path) -> None:
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace("item_price", "price", 1))
    assert error.what == 'the column "price" is not known.'
    assert error.where == "yard.csv, line 1"
    assert "items.csv" in error.cure


@pytest.mark.parametrize("column", ["point_name", "building_length_ft", "total_cost", ""])
def test_a_column_of_another_table_is_refused(tmp_path: Path, column: str) -> None:
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace("item_price", column, 1))
    assert error.what == f'the column "{column}" is not known.'


def test_a_column_that_stands_twice_is_refused(tmp_path: Path) -> None:
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace("item_low", "item_price", 1))
    assert error.what == 'the column "item_price" stands twice.'
    assert error.cure


def test_a_short_line_is_refused_with_its_number(tmp_path: Path) -> None:
    lines = BOOK.splitlines()
    lines[4] = lines[4].rsplit(",", 3)[0]
    error = refused(FileError, tmp_path, KNOWN, "\n".join(lines))
    assert error.what == "the line has 12 values, the header 15."
    assert error.where == "yard.csv, line 5"
    assert "quotes" in error.cure


def test_a_comma_outside_quotes_is_refused_with_its_number(tmp_path: Path) -> None:
    text = BOOK.replace('"Crushed stone, clean, 1 in (No. 57)"', "Crushed stone, clean", 1)
    error = refused(FileError, tmp_path, KNOWN, text)
    assert error.what == "the line has 16 values, the header 15."
    assert error.where == "yard.csv, line 2"


def test_an_item_without_its_name_is_refused(tmp_path: Path) -> None:
    name = '"Crushed stone, clean, 1 in (No. 57)"'
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace(name, "", 1))
    assert "but its" in error.what
    assert "is blank" in error.what
    assert error.where == "yard.csv, line 2"
    assert "or clear the line" in error.cure


def test_two_items_of_one_key_are_refused(tmp_path: Path) -> None:
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace("stone_67,", "STONE_57,", 1))
    assert error.what == 'the key "stone_57" is the key of a line already.'
    assert error.where == "yard.csv, line 3"


def test_two_items_of_one_name_are_refused_with_both_their_lines(tmp_path: Path) -> None:
    text = BOOK.replace("3/4 in (No. 67)", "1 in (no. 57)", 1)
    error = refused(InputError, tmp_path, KNOWN, text)
    assert 'the item "Crushed stone, clean, 1 in (no. 57)"' in error.what
    assert "yard.csv, line 2" in error.what
    assert error.where == "yard.csv, line 3"


def test_a_text_in_place_of_a_price_is_refused(tmp_path: Path) -> None:
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace("yd3,0.5,21.50,", "yd3,0.5,ask,", 1))
    assert 'holds the text "ask" where a number belongs' in error.what
    assert error.where == "yard.csv, line 2"


def test_a_price_that_is_no_number_is_refused(tmp_path: Path) -> None:
    """Python reads "nan" as a float; a price list never means it."""
    error = refused(InputError, tmp_path, KNOWN, BOOK.replace("yd3,0.5,21.50,", "yd3,0.5,nan,", 1))
    assert "no number that can be used" in error.what
    assert error.where == "yard.csv, line 2"


def test_more_items_than_the_table_holds_are_refused_not_cut(tmp_path: Path) -> None:
    most = build_model().capacity("item")
    lines = BOOK.splitlines()
    extra = [lines[1].replace("stone_57", f"stone_x{n}") for n in range(most + 2 - len(lines))]
    error = refused(InputError, tmp_path, KNOWN, "\n".join(lines + extra))
    assert error.what == f"there are {most + 1} lines; the table holds {most}."
    assert error.where == "yard.csv"
    assert error.cure


def test_an_empty_price_book_is_refused(tmp_path: Path) -> None:
    assert refused(FileError, tmp_path, KNOWN, "").what == "the file is empty."
    assert refused(FileError, tmp_path, KNOWN, "\n , \n").what == "the file is empty."


def test_a_value_too_long_for_any_table_is_refused(tmp_path: Path) -> None:
    error = refused(FileError, tmp_path, KNOWN, BOOK + '"' + "x" * 200_000 + '"\n')
    assert "is not a table of values" in error.what
    assert error.where.startswith("yard.csv, line ")
