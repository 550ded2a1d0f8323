"""Setting up the live link: the settings in a workbook, and what is said to be missing."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import openpyxl
import pytest

from estimator import cli
from estimator.errors import FileError
from estimator.live import calc, link
from estimator.live.calc_grammar import file_formula
from estimator.live.conf_sheet import SHEET, settings_of, with_settings
from estimator.workbook.package.parts import Package
from estimator.workbook.package.recalculate import recalculated


def kept_parts(before: bytes, after: bytes) -> set[str]:
    """Parts of a workbook that are not byte for byte the same afterwards."""
    old, new = Package.open(before), Package.open(after)
    return {p for p in new.parts if not old.has(p) or old.read(p) != new.read(p)}


def test_the_settings_are_a_sheet_and_nothing_else_changes(demo_book: bytes) -> None:
    linked = with_settings(Package.open(demo_book), {"PYTHONPATH": "/here", "UDF MODULES": "m"})
    book = openpyxl.load_workbook(io.BytesIO(linked))
    assert book.sheetnames[-1] == SHEET
    assert [[c.value for c in row] for row in book[SHEET].iter_rows()] == [
        ["PYTHONPATH", "/here"],
        ["UDF MODULES", "m"],
    ]
    assert b' r:id="' in Package.open(linked).read("xl/workbook.xml").rpartition(b"<sheet ")[2]
    assert recalculated(Package.open(linked)) is not None, "the engine takes the workbook as it is"
    changed = kept_parts(demo_book, linked)
    assert {p for p in changed if "sheet" in p.lower()} == {
        p for p in Package.open(linked).parts if not Package.open(demo_book).has(p)
    }
    assert changed - {"[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"} == {
        Package.open(linked).sheet(SHEET).part
    }


def test_linking_again_renews_the_settings_and_keeps_a_persons_own(demo_book: bytes) -> None:
    once = with_settings(Package.open(demo_book), {"SHOW CONSOLE": "TRUE", "PYTHONPATH": "/old"})
    twice = with_settings(Package.open(once), {"PYTHONPATH": "/new", "UDF MODULES": "m"})
    assert settings_of(Package.open(twice)) == {
        "SHOW CONSOLE": "TRUE",
        "PYTHONPATH": "/new",
        "UDF MODULES": "m",
    }
    assert len(Package.open(twice).sheets) == len(Package.open(demo_book).sheets) + 1


def test_link_writes_this_python_and_where_the_package_is(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(demo_book)
    assert cli.main(["link", str(path)]) == 0
    said = capsys.readouterr().out
    held = settings_of(Package.open(path))
    assert sys.executable in held.values()
    assert held["UDF MODULES"] == "estimator.live.udfs"
    assert (Path(held["PYTHONPATH"]) / "estimator" / "live" / "udfs.py").is_file()
    assert all(f"  {n}. " in said for n in (1, 2, 3))


def test_a_workbook_of_another_kind_is_not_linked(tmp_path: Path) -> None:
    path = tmp_path / "other.xlsx"
    openpyxl.Workbook().save(path)
    before = path.read_bytes()
    with pytest.raises(FileError, match="not a workbook made by this estimator"):
        link.link_workbook(path)
    assert path.read_bytes() == before


def test_check_says_in_plain_words_what_is_missing(
    demo_book: bytes,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(demo_book)
    monkeypatch.setattr(link, "python_with_uno", lambda: None)
    monkeypatch.setattr(link, "_listens", lambda _: False)
    assert cli.main(["link", "--check", str(path)]) == 1
    said = capsys.readouterr().out
    assert (
        f"MISSING  the sheet {SHEET} in shed.xlsx. In a terminal: estimator link shed.xlsx" in said
    )
    assert "install python3-uno" in said
    assert calc.accept_command(2002) in said
    assert "Nothing is ready yet." in said


def test_check_is_content_once_libreoffice_listens(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(link, "python_with_uno", lambda: sys.executable)
    monkeypatch.setattr(link, "_listens", lambda _: True)
    monkeypatch.setattr(link, "find_office", lambda: Path("/usr/bin/soffice"))
    assert cli.main(["link", "--check"]) == 0
    assert "Ready: LibreOffice Calc" in capsys.readouterr().out


@pytest.mark.parametrize("system", ["win32", "darwin", "linux"])
def test_every_system_has_three_steps(system: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", system)
    text = link.steps()
    assert [f"  {n}. " in text for n in (1, 2, 3, 4)] == [True, True, True, False]
    key = {"darwin": "INTERPRETER_MAC"}.get(system, "INTERPRETER_WIN")
    assert link.settings()[key] == sys.executable


def test_the_settings_are_those_that_the_add_in_reads() -> None:
    import xlwings

    macros = (Path(xlwings.__file__).parent / "addin" / "Main.bas").read_text(errors="replace")
    for key in (*link.settings(), "INTERPRETER_MAC"):
        assert f'GetConfig("{key}"' in macros, key


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("$Job.$B$7", ("Job", (7, 2, 7, 2))),
        ("$'Solved From'.$A$3:$B$9", ("Solved From", (3, 1, 9, 2))),
        ("$'It''s. odd'.$A$3:$'It''s. odd'.$B$9", ("It's. odd", (3, 1, 9, 2))),
        ("1.5", None),
        ("#REF!", None),
        ("SUM($Job.$B$7)", None),
    ],
)
def test_a_name_of_a_calc_document_stands_for_its_cells(
    text: str, wanted: tuple[str, tuple[int, ...]] | None
) -> None:
    found = calc._target(text)
    assert (found and (found[0], tuple(found[1]))) == wanted


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        ("IF($'Solved From'.$A$6=1;SUM($Job.B7:B9;2);key)",
         "IF('Solved From'!$A$6=1,SUM(Job!B7:B9,2),key)"),
        ('IF(A1="a;b.$C$1";1.5;"|")', 'IF(A1="a;b.$C$1",1.5,"|")'),
        ("CEILING.XCL(1.2;1)+MATCH(1;{1;2|3;4};0)", "CEILING(1.2,1)+MATCH(1,{1,2;3,4},0)"),
        ("SUM($'It''s. odd'.A1:A3)", "SUM('It''s. odd'!A1:A3)"),
    ],
)  # fmt: skip
def test_a_formula_of_a_calc_document_is_spelled_as_in_a_file(shown: str, wanted: str) -> None:
    assert file_formula(shown) == wanted
