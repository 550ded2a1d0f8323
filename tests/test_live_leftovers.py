"""What the live link leaves behind and says where something is not as it should be."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from estimator import cli
from estimator.errors import FileError
from estimator.live import link, udfs
from estimator.live.conf_sheet import HARMLESS, settings_of, with_settings
from estimator.live.open_book import ExcelBook
from estimator.workbook.package.parts import Package

FOREIGN = {
    "CONDA PATH": "C:\\conda",
    "CONDA ENV": "work",
    "INTERPRETER": "C:\\other\\python.exe",
    "ADD_WORKBOOK_TO_PYTHONPATH": "TRUE",
    "RUN_ME_FIRST": "yes",
}


def linked_book(path: Path, data: bytes, settings: dict[str, str]) -> Path:
    """A workbook that somebody else linked with these settings."""
    before = with_settings(Package.open(data), {**dict.fromkeys(settings, ""), **settings})
    path.write_bytes(before)
    return path


def test_settings_that_would_run_another_program_are_taken_out_and_named(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = {"darwin": "INTERPRETER_WIN"}.get(sys.platform, "INTERPRETER_MAC")
    own = dict.fromkeys(sorted(HARMLESS)[:1], "TRUE")
    theirs = {**FOREIGN, other: "/usr/bin/python3"}
    path = linked_book(tmp_path / "shed.xlsx", demo_book, {**theirs, **own, "PYTHONPATH": "/x"})
    assert cli.main(["link", "--check", str(path)]) in (0, 1)
    assert f"(there is {', '.join(theirs)})" in capsys.readouterr().out

    assert cli.main(["link", str(path)]) == 0
    assert f"they would run another program: {', '.join(theirs)}." in capsys.readouterr().out
    assert settings_of(Package.open(path)) == {**own, **link.settings()}
    cli.main(["link", "--check", str(path)])
    said = capsys.readouterr().out
    assert "ok       nothing on it of another program" in said
    cli.main(["link", str(path)])
    assert "Taken out" not in capsys.readouterr().out


@pytest.mark.parametrize("key", link.settings())
def test_a_check_compares_every_setting(
    key: str, demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = {**link.settings(), key: "/somewhere/else"}
    path = linked_book(tmp_path / "shed.xlsx", demo_book, settings)
    cli.main(["link", "--check", str(path)])
    said = [line for line in capsys.readouterr().out.splitlines() if " on it: " in line]
    assert [line.split()[0] for line in said] == [
        "MISSING" if each == key else "ok" for each in link.settings()
    ]
    assert "(there is /somewhere/else). In a terminal: estimator link shed.xlsx" in "".join(said)


HUGE = 1e308
GROUND = [(0.0, 0.0, 10.0), (20.0, 0.0, 10.2), (0.0, 20.0, 9.8), (20.0, 20.0, 10.0)]
CORNERS = [(4.0, 4.0), (14.0, 4.0), (14.0, 14.0), (4.0, 14.0)]
STOCK = [("8 ft", 8.0, 6.2)]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    "call",
    [
        lambda x: udfs.base_courses(GROUND, CORNERS, x, 5.5, 5.5, 4.0),
        lambda x: udfs.base_courses([*GROUND, (5.0, 5.0, x)], CORNERS, 10.0, 5.5, 5.5, 4.0),
        lambda x: udfs.base_sheets(x, 12.0, 16.0),
        lambda x: udfs.base_sheets(16.0, 12.0, x),
        lambda x: udfs.base_cut_plan([("joist", x, 2.0)], STOCK, 0.125),
        lambda x: udfs.base_cut_fill(GROUND, CORNERS, [[x]]),
        lambda x: udfs.base_ground(GROUND, [(x, x)]),
        lambda x: udfs.base_footing([(x, "clay")]),
        lambda x: udfs.base_feet([[x]]),
        lambda x: udfs.base_feet_inches([[x]]),
        lambda x: udfs.base_span([("Southern pine", "No.2", "2x8", x, 40.0, 10.0)]),
    ],
)
def test_a_number_that_nothing_has_gets_a_sentence(call: Any, sign: int) -> None:
    said = str(call(sign * HUGE)[-1][0])
    assert said.startswith("ERROR: ")
    assert "more than anything that is built" in said


class OfTheConnectionError(Exception):
    """As the classes of Excel's connection are: named and numbered for programmers."""

    def __init__(self, *told: Any, sentence: str | None = None) -> None:
        super().__init__(*told)
        self.excepinfo = (0, "Microsoft Excel", sentence, None, 0, -2146827284)


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        (None, "the open workbook can't be reached. Finish typing"),
        ("Workbook is gone.", "the open workbook can't be reached (Workbook is gone). Finish"),
    ],
)
def test_errors_of_excel_are_told_without_names_of_classes(sentence: str | None, said: str) -> None:
    class Gone:
        name = "shed.xlsm"

        @property
        def names(self) -> Any:
            raise OfTheConnectionError(-2147352567, "C:\\lib\\main.py", sentence=sentence)

    with pytest.raises(FileError) as told:
        ExcelBook(Gone()).ranges()
    assert said in str(told.value)
    for word in ("Error", "Exception", "-2147352567", ".py"):
        assert word not in str(told.value)


def test_excel_without_com_gives_no_reason() -> None:
    book = SimpleNamespace(name="shed.xlsx", names=None)
    with pytest.raises(FileError, match=r"can't be reached\. Finish typing"):
        ExcelBook(book).ranges()
