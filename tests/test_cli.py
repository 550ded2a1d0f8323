"""The command: what it prints, where it writes, and what its exit code says."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import edited, value
from jobs import used
from known_job import known_job

from estimator.cli import main
from estimator.evaluation import evaluate
from estimator.model import build_model
from estimator.rows import OPTION_KEYS
from estimator.typed_job import DEMO_JOB, load_job, read_inputs
from estimator.workbook.refill.file import create_workbook

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def known_values() -> Any:
    """Every quantity of the job that tests know."""
    model = build_model()
    return evaluate(model, read_inputs(model, known_job()))


def money(values: Any, key: str) -> list[str]:
    """A row of the options in use as the answer prints money."""
    row = np.asarray(values[key])[:, 0]
    return [f"${row[option]:,.2f}" for option in used(values)]


def line(text: str, start: str) -> list[str]:
    """Words of the line that begins so, after its label."""
    found = next(one for one in text.splitlines() if one.startswith(start))
    return found.removeprefix(start).split()


def test_help_names_the_commands_and_exit_codes(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["--help"])
    text = capsys.readouterr().out
    assert stopped.value.code == 0
    for word in ("new", "refill", "check", "examples:", "--demo", "exit codes:"):
        assert word in text


@pytest.mark.parametrize("arguments", [[], ["paint"], ["refill"], ["refill", "a.xlsx", "--demo"]])
def test_a_wrong_call_ends_with_2_and_says_how(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert stopped.value.code == 2
    assert "usage: estimator" in capsys.readouterr().err


def test_new_makes_the_demo_and_prints_the_options_side_by_side(
    fresh_template: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    assert fresh_template.exists()
    path, demo = tmp_path / "shed.xlsx", tmp_path / "demo.xlsx"
    model = build_model()
    create_workbook(demo, model, load_job(DEMO_JOB))
    demo_book = demo.read_bytes()
    demo.unlink()
    values = evaluate(model, read_inputs(model, load_job(DEMO_JOB)))
    assert main(["new", str(tmp_path / "shed"), "--demo"]) == 0
    out, said = capfd.readouterr()
    assert said == ""
    assert out.splitlines()[0].split()[0] == OPTION_KEYS[0]
    for label, key in (("Total", "total_cost"), ("Material", "material_cost")):
        assert line(out, label) == money(values, key)
    assert f"The workbook: {path.resolve()}" in out
    assert path.read_bytes() == demo_book
    assert os.listdir(tmp_path) == ["shed.xlsx"]


def test_nothing_but_the_answer_is_printed_by_a_process_of_its_own(
    demo_book: bytes, known_values: Any, tmp_path: Path
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(demo_book, {"in_wage_per_h": 41.0}))
    done = subprocess.run(
        [sys.executable, "-m", "estimator", "refill", str(path)],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    labour = np.asarray(known_values["work_hours"])[:, 0]
    assert line(done.stdout, "Labour") == [
        f"${np.round(labour[option] * 41.0, 2):,.2f}" for option in used(known_values)
    ]
    first, *_, last = done.stdout.splitlines()
    assert first.split()[0] == "A"
    assert last == f"Refilled: {path.resolve()}. The version before: shed.previous.xlsx"
    for option in used(known_values):
        shown = f"${value(path.read_bytes(), ('total_cost', option)):,.2f}"
        assert shown in line(done.stdout, "Total")


def test_a_refill_keeps_the_version_before(demo_book: bytes, tmp_path: Path) -> None:
    path = tmp_path / "shed.xlsx"
    before = edited(demo_book, {"in_wage_per_h": 41.0})
    path.write_bytes(before)
    assert main(["refill", str(path)]) == 0
    assert path.with_name("shed.previous.xlsx").read_bytes() == before
    assert path.read_bytes() != before


def test_a_refill_of_an_up_to_date_workbook_writes_nothing(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(demo_book)
    stamp = path.stat().st_mtime_ns
    assert main(["refill", str(path)]) == 0
    assert path.stat().st_mtime_ns == stamp
    assert os.listdir(tmp_path) == ["shed.xlsx"]
    assert capsys.readouterr().out.endswith(f"Up to date: {path.resolve()}.\n")


def test_check_ends_with_0_when_nothing_fails(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(demo_book)
    assert main(["check", str(path)]) == 0
    out = capsys.readouterr().out
    assert "Option A" in out
    assert "FAIL" not in out
    assert path.read_bytes() == demo_book


def test_check_ends_with_1_when_a_check_fails(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A live load of 125 psf on joists of 24 in spacing is more than they carry."""
    path = tmp_path / "shed.xlsx"
    data = edited(demo_book, {"in_floor_live_psf": 125.0, ("in_joist_spacing_in", 0): "24"})
    path.write_bytes(data)
    assert main(["check", str(path)]) == 1
    out = capsys.readouterr().out
    assert "FAIL" in out
    assert path.read_bytes() == data


def test_check_says_what_is_out_of_date(
    demo_book: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.xlsx"
    path.write_bytes(edited(demo_book, {"in_building_length_ft": "14"}))
    main(["check", str(path)])
    out = capsys.readouterr().out
    assert "timber frame and edges: out of date" in out
    assert "estimator refill" in out


def test_force_replaces_and_prices_are_used(
    fresh_template: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from estimator.typed_job import PRICE_BOOK

    assert fresh_template.exists()
    path, prices = tmp_path / "shed.xlsx", tmp_path / "yard.csv"
    path.write_text("old")
    with (PRICE_BOOK / "items.csv").open(encoding="utf-8", newline="") as source:
        rows = list(csv.DictReader(source))
    stone = next(n for n, row in enumerate(rows) if row["item_key"] == "stone_57")
    rows[stone]["item_price"] = rows[stone]["item_high"] = "61.25"
    with prices.open("w", encoding="utf-8", newline="") as target:
        writer = csv.DictWriter(target, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    assert main(["new", str(path), "--demo", "--prices", str(prices), "--force"]) == 0
    data = path.read_bytes()
    assert value(data, ("in_item_price", 0, stone)) == 61.25
    total = np.round(value(data, ("total_cost", 0)), 2)
    assert f"${total:,.2f}" in line(capsys.readouterr().out, "Total")


def test_a_new_workbook_of_defaults_waits_for_its_inputs(
    fresh_template: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert fresh_template.exists()
    path = tmp_path / "shed.xlsx"
    assert main(["new", str(path)]) == 0
    out = capsys.readouterr().out
    assert "type" in out
    assert str(value(path.read_bytes(), "overall_flag")).startswith("TO DO: ")
