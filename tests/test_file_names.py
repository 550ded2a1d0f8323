"""Names of new workbooks that can't be handed on to a machine with Windows are refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator import cli
from estimator.errors import FileError
from estimator.file_names import portable


@pytest.mark.parametrize("name", ["shed.xlsx", "Côté jardin 2.xlsx", "console.xlsx", "com10.xlsx"])
def test_usual_names_are_taken(name: str) -> None:
    assert portable(Path("jobs", name)) == Path("jobs", name)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("CON", "device"),
        ("nul.xlsx", "device"),
        ("Lpt1 .old.xlsx", "device"),
        ("shed.", "at the end"),
        ("shed ", "at the end"),
        ("a:b.xlsx", "':'"),
        ("why?", "'?'"),
        ("a\tb", "Windows takes no"),
    ],
)
def test_names_that_windows_can_not_have_make_no_workbook(
    name: str, why: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(FileError, match=why.replace("?", "[?]")):
        portable(Path(name))
    assert cli.main(["new", str(tmp_path / name)]) == 2
    assert cli.main(["next", str(tmp_path / "old.xlsx"), str(tmp_path / name)]) == 2
    assert why in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
