"""A workbook as a package: its sheets, its names, and writing it back unharmed."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import planters
import pytest
from rich_workbooks import (
    MAIN,
    RELATION,
    STRICT,
    STRICT_RELATION,
    change_part,
    parts_of,
    plain_workbook,
    rich_workbook,
)

from estimator.errors import FileError
from estimator.workbook.package.a1 import split_target
from estimator.workbook.package.cells import read_cell, read_name
from estimator.workbook.package.new_parts import NewParts
from estimator.workbook.package.parts import NameTarget, Package


def strict(data: bytes) -> bytes:
    """The workbook in the strict form of the format."""
    return change_part(
        data,
        r".*\.(xml|rels)",
        lambda part: part.replace(MAIN.encode(), STRICT.encode()).replace(
            RELATION.encode(), STRICT_RELATION.encode()
        ),
    )


def with_names(names: str) -> Package:
    data = change_part(
        rich_workbook(),
        "xl/workbook.xml",
        lambda part: part.replace(b"</definedNames>", names.encode() + b"</definedNames>"),
    )
    return Package.open(data)


def test_a_workbook_is_read_from_a_path_and_from_bytes_alike(tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(rich_workbook())
    from_path, from_bytes = Package.open(path), Package.open(path.read_bytes())
    assert from_path.sheets == from_bytes.sheets
    assert from_path.names == from_bytes.names
    assert from_path.label == "job.xlsx"


def test_sheets_come_in_tab_order_with_their_kind() -> None:
    sheets = Package.open(rich_workbook()).sheets
    assert [(s.name, s.kind) for s in sheets] == [
        ("Input", "worksheet"),
        ("It's calc", "worksheet"),
        ("Mine", "worksheet"),
        ("Chart", "chartsheet"),
    ]


def test_a_sheet_is_found_whatever_its_letter_case_and_a_missing_one_is_named() -> None:
    package = Package.open(rich_workbook())
    assert package.sheet("INPUT").name == "Input"
    with pytest.raises(FileError, match="no sheet 'Prices'"):
        package.sheet("Prices")


def test_names_stand_for_a_sheet_and_a_range() -> None:
    package = Package.open(rich_workbook())
    assert package.names["lengths"] == NameTarget("lengths", "Input", "A1:A10", "Input!$A$1:$A$10")
    assert package.range_of("DOUBLED") == ("It's calc", "A1:A10")
    assert package.names["rate"].ref == ""
    assert package.names["rate"].text == "2.5"
    assert package.local_names["Input", "own"].ref == "B2"
    assert package.find_name("own") is None
    assert package.find_name("OWN", "Input") is package.local_names["Input", "own"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Sheet!$A$1:$B$3", ("Sheet", "A1:B3")),
        ("=Sheet!$A$1", ("Sheet", "A1")),
        ("'It''s mine'!$C$4", ("It's mine", "C4")),
        ("Sheet!$B$3:$A$1", ("Sheet", "A1:B3")),
        ("Été!A1", ("Été", "A1")),
        ("Sheet!$A:$B", None),
        ("Sheet!$1:$3", None),
        ("Sheet!$A$1,Sheet!$B$2", None),
        ("[1]Sheet!$A$1", None),
        ("'[1]Sheet x'!$A$1", None),
        ("Sheet!$XFE$1", None),
        ("Sheet!#REF!", None),
        ("OFFSET(Sheet!$A$1,0,0,3,1)", None),
        ("3.5", None),
    ],
)
def test_only_one_rectangle_of_cells_is_a_target(
    text: str, expected: tuple[str, str] | None
) -> None:
    assert split_target(text) == expected


@pytest.mark.parametrize(
    ("definition", "message"),
    [
        ("Input!#REF!", "were deleted"),
        ("#REF!", "were deleted"),
        ("Gone!$A$1", "were deleted"),
        ("12", "stands for no cells"),
    ],
)
def test_a_name_whose_cells_are_gone_is_said_with_a_cure(definition: str, message: str) -> None:
    package = with_names(f'<definedName name="broken">{definition}</definedName>')
    with pytest.raises(FileError, match=message) as caught:
        package.range_of("broken")
    assert caught.value.cure


def test_a_missing_name_is_said() -> None:
    with pytest.raises(FileError, match="lacks the name 'stone_order_yd3'"):
        Package.open(rich_workbook()).range_of("stone_order_yd3")


def test_sheets_are_found_by_absolute_and_by_relative_targets() -> None:
    data = change_part(
        rich_workbook(),
        "xl/_rels/workbook.xml.rels",
        lambda part: part.replace(b'Target="worksheets/', b'Target="/xl/worksheets/').replace(
            b'Target="sharedStrings', b'Target="./../xl/sharedStrings'
        ),
    )
    assert read_cell(Package.open(data), "Input", "B1").value == "stake 0"


def test_the_strict_form_is_read_like_the_usual_one() -> None:
    usual, other = Package.open(rich_workbook()), Package.open(strict(rich_workbook()))
    assert other.names == usual.names
    assert read_name(other, "doubled") == read_name(usual, "doubled")
    assert read_name(other, "lengths") == read_name(usual, "lengths")


def test_signed_books_are_recognised() -> None:
    signed = io.BytesIO(rich_workbook())
    with zipfile.ZipFile(signed, "a") as archive:
        archive.writestr("_xmlsignatures/sig1.xml", "<s/>")
    assert Package.open(signed.getvalue()).signed
    assert not Package.open(rich_workbook()).signed


def test_writing_replaces_drops_and_adds_parts_and_keeps_all_others() -> None:
    before = rich_workbook()
    package = Package.open(before)
    after = package.with_parts(
        {"xl/theme/theme1.xml": None, "docProps/app.xml": b"<x/>", "new.xml": b"<y/>"}
    )
    expected = parts_of(before)
    del expected["xl/theme/theme1.xml"]
    expected["docProps/app.xml"] = b"<x/>"
    expected["new.xml"] = b"<y/>"
    assert parts_of(after) == expected
    assert list(parts_of(after)) == list(expected)


def test_unchanged_parts_keep_their_compressed_bytes() -> None:
    before = rich_workbook()
    after = Package.open(before).with_parts({"docProps/app.xml": b"<x/>"})

    def packed(data: bytes) -> dict[str, tuple[int, int]]:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return {i.filename: (i.compress_size, i.CRC) for i in archive.infolist()}

    old, new = packed(before), packed(after)
    assert {k: v for k, v in new.items() if k != "docProps/app.xml"} == {
        k: v for k, v in old.items() if k != "docProps/app.xml"
    }


def test_a_written_file_written_again_is_the_same_to_the_byte() -> None:
    once = Package.open(rich_workbook()).with_parts({})
    assert Package.open(once).with_parts({}) == once


def test_part_names_beyond_ascii_survive() -> None:
    stream = io.BytesIO(plain_workbook(""))
    with zipfile.ZipFile(stream, "a") as archive:
        archive.writestr("xl/media/größe.png", b"123")
    after = Package.open(stream.getvalue()).with_parts({})
    assert parts_of(after) == parts_of(stream.getvalue())


def test_two_links_of_one_part_are_both_kept() -> None:
    package = planters.template()
    part, added = package.sheets[0].part, NewParts(package)
    links = {added.link(part, "drawing", f"xl/drawings/new{n}.xml") for n in range(2)}
    before = {link.id for link in package.relationships(part)}
    after = {link.id for link in package.changed(added.changes).relationships(part)}
    assert len(links) == 2
    assert after == before | links
