"""Several workbooks in one command: a sentence each, in their order, and the worst exit code."""

from __future__ import annotations

from pathlib import Path

import pytest
from books import edited, value

from estimator.cli import main

pytestmark = pytest.mark.slow


def test_a_folder_of_jobs_is_refilled_and_checked_a_sentence_each(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shed, coop, broken = (tmp_path / name for name in ("shed.xlsx", "coop.xlsx", "broken.xlsx"))
    shed.write_bytes(demo_book)
    coop.write_bytes(edited(demo_book, {"in_building_length_ft": "13 ft"}))
    broken.write_bytes(b"no workbook")
    assert main(["check", str(shed), str(coop), str(broken), str(shed)]) == 2
    said = capsys.readouterr()
    first, second = said.out.splitlines()
    assert first.startswith(f"{shed}: ")
    assert f"${value(demo_book, 'chosen_total'):,.2f}" in first
    assert "Out of date" not in first
    assert second.startswith(f"{coop}: ")
    assert second.endswith("Out of date: refill it.")
    assert said.err.splitlines() == [
        line for line in said.err.splitlines() if "broken.xlsx" in line
    ]
    assert broken.read_bytes() == b"no workbook"
    assert main(["refill", str(shed), str(coop)]) == 0
    first, second = capsys.readouterr().out.splitlines()
    assert first.startswith(f"{shed}: up to date. ")
    assert second.startswith(f"{coop}: refilled. ")
    assert f"${value(coop.read_bytes(), 'chosen_total'):,.2f}" in second
    assert value(coop.read_bytes(), "start_state") == "no"
