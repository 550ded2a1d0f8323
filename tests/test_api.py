"""The estimator from Python, as README and the docstrings show it."""

from __future__ import annotations

import doctest
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from books import edited, value

import estimator
from estimator import (
    EstimatorError,
    Job,
    api,
    check_workbook,
    create_workbook,
    estimate,
    refill_workbook,
)

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parent.parent
HEAVY = ("numpy", "scipy", "highspy", "openpyxl", "formualizer", "lxml", "xlwings")


def test_importing_the_package_loads_no_library() -> None:
    code = f"import sys, estimator; print([m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("module", [estimator, api])
def test_the_examples_of_the_docstrings_give_what_they_show(module: object) -> None:
    found = doctest.testmod(module)  # type: ignore[arg-type]
    assert found.attempted > 0
    assert found.failed == 0


def test_every_public_name_says_what_it_is_and_its_functions_what_they_raise() -> None:
    for name in estimator.__all__:
        assert getattr(estimator, name).__doc__, name
    for function in (estimate, create_workbook, refill_workbook, check_workbook, Job.load):
        assert "Raises:" in str(function.__doc__), function.__name__


def test_the_example_of_the_readme_runs_and_prints_what_it_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"```python\n(.*?)```\n+prints\n+```\n(.*?)```", text, re.DOTALL)
    code, printed = shown
    monkeypatch.chdir(tmp_path)
    exec(compile(code, "README.md", "exec"), {})
    assert capsys.readouterr().out.split() == printed.split()
    assert (tmp_path / "shed.xlsx").exists()


def test_an_estimate_without_a_workbook_is_what_the_workbook_says(tmp_path: Path) -> None:
    job = Job.demo(metric=True)
    alone = estimate(job)
    made = create_workbook(tmp_path / "demo.xlsx", job)
    assert made.estimate.options == alone.options
    assert [o.letter for o in alone.options] == ["A", "B", "C", "D", "E"]
    data = made.path.read_bytes()
    for place, option in enumerate(alone.options):
        assert option.total == pytest.approx(value(data, ("total_cost", place)), abs=0.005)
        assert option.low < option.before_contingency < option.high
        assert not option.fails
    assert np.shape(alone.values["total_cost"]) == (6, 1)
    assert alone.option("b").kind == "open pad"
    with pytest.raises(KeyError):
        alone.option("F")


def test_an_edited_workbook_is_out_of_date_until_it_is_refilled(
    demo_book: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "demo.xlsx"
    path.write_bytes(edited(demo_book, {"in_building_length_ft": 14}))
    assert check_workbook(path).out_of_date
    before = check_workbook(path).estimate.option("A").total
    refilled = refill_workbook(path)
    assert refilled.previous is not None
    assert refilled.estimate.option("A").total != before
    assert check_workbook(path).out_of_date == ()
    assert check_workbook(path).estimate.options == refilled.estimate.options


def test_a_plain_job_says_what_is_still_to_be_typed(tmp_path: Path) -> None:
    found = estimate(Job.plain())
    assert found.options == ()
    assert len(found.to_do) == 2
    assert create_workbook(tmp_path / "plain.xlsx", Job.plain()).estimate.to_do == found.to_do


def test_what_cannot_be_used_is_one_error_with_a_sentence(tmp_path: Path) -> None:
    bad = tmp_path / "job.toml"
    bad.write_text("[job]\nbuilding_length_ft = 400\n", encoding="utf-8")
    with pytest.raises(EstimatorError, match="between"):
        estimate(Job.load(bad))
    with pytest.raises(EstimatorError, match="no such file"):
        Job.load(tmp_path / "none.toml")
    taken = tmp_path / "taken.xlsx"
    taken.write_text("mine", encoding="utf-8")
    with pytest.raises(EstimatorError, match="already"):
        create_workbook(taken, Job.plain())
    assert taken.read_text(encoding="utf-8") == "mine"
