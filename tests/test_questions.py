"""A job asked for on a terminal: the same validation as the cells, wrong answers asked again."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from books import value

import estimator.terminal as terminal_module
from estimator.cli import main
from estimator.engine import Model
from estimator.errors import SolveError
from estimator.inputs import TypedJob
from estimator.metric import metric
from estimator.model import build_model
from estimator.questions import QUESTIONS, ask_job, ask_readings
from estimator.typed_job import default_job

DEFAULTS = [""] * (len(QUESTIONS) - 4)
"""Blank answers to all questions after the building's width."""
NO_READINGS = [""] * 9


def asked(model: Model, answers: Iterable[str]) -> tuple[TypedJob, list[str], list[str]]:
    """The job that answers give, the prompts, and what was said."""
    left, prompts, said = iter(answers), list[str](), list[str]()

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        return next(left)

    job = ask_job(model, default_job(model=model), ask, said.append)
    job = ask_readings(model, job, ask, said.append)
    assert list(left) == []
    return job, prompts, said


def test_blank_answers_take_what_stands_in_brackets_and_only_the_size_must_be_typed() -> None:
    plain = default_job()
    job, prompts, _ = asked(build_model(), ["", "", "14'", "10", *DEFAULTS, *NO_READINGS])
    changed = {c: v for c, v in job.cells.items() if v != plain.cells.get(c)}
    assert changed == {("building_length_ft", 0): "14'", ("building_width_ft", 0): "10"}
    assert prompts[0] == "Job [New outbuilding]: "
    assert prompts[2] == "Length of the building, ft: "
    assert prompts[4] == "Side with the door (front, right, back, left) [front]: "
    assert prompts[8].startswith("Soil (gravel, sand, loam, ")


def test_a_wrong_answer_is_asked_again_with_the_reason_that_its_cell_gives() -> None:
    wrong = ["", "", "", "fourteen", "50", "14", "10", "up", "back", "2.5", "", "", "fast"]
    answers = [*wrong, "300", "90 mph", "peat", "Sand", "", "", "4..5", "4.5", *NO_READINGS[1:]]
    job, _, said = asked(build_model(), answers)
    reasons = [line for line in said if line.startswith("  ")]
    assert [reason.split(".")[0].strip() for reason in reasons] == [
        "Length of the building is blank",
        "Length of the building: 'fourteen' can't be read as a length",
        "Length of the building is 50 ft; it must lie between 4 ft and 40 ft",
        'Side with the door: "up" is not known',
        "Frost depth is 2",
        'Basic wind speed holds the text "fast" where a number belongs',
        "Basic wind speed is 300 mph; it must lie between 0 mph and 220 mph",
        'Soil: "peat" is not known',
        "1 front left (x -3, y -3): '4",
    ]
    assert job.cells["wind_mph", 0] == 90
    assert job.cells["quick_reading_ft", 0] == "4.5"


def test_each_stake_is_named_with_its_place_by_the_size_just_typed() -> None:
    _, prompts, _ = asked(build_model(), ["", "", "16", "8", *DEFAULTS, *NO_READINGS])
    stakes = prompts[len(QUESTIONS) :]
    assert stakes[0] == "  1 front left (x -3, y -3), ft: "
    assert stakes[4] == "  5 back right (x 19, y 11), ft: "
    assert stakes[8] == "  9 centre (x 8, y 4), ft: "


def test_metric_questions_take_metric_units_and_a_decimal_comma() -> None:
    model = metric(build_model())
    typed = ["", "", "4,2", "3 m", "", "0,8", "0,8 m", "1,92 kPa", "40,5", "", "", "", "1,40"]
    job, prompts, said = asked(model, [*typed, *NO_READINGS[1:]])
    assert job.cells["frost_depth_mm", 0] == "0,8 m"
    assert "A bare 0,8 is 0,8 mm: type its unit if it has another." in said[0]
    assert job.cells["roof_snow_kpa", 0] == 1.92
    assert job.cells["wind_m_s", 0] == 40.5
    assert job.cells["quick_reading_m", 0] == "1,40"
    assert prompts[2] == "Length of the building, m: "
    assert prompts[len(QUESTIONS) + 1] == "  1 front left (x -0.9, y -0.9), m: "


def test_a_pressure_in_the_place_of_a_wind_speed_is_asked_again() -> None:
    model = metric(build_model())
    typed = ["", "", "4,2", "3 m", "", "600", "1,92", "0,75", "", "", "", "", "1,40"]
    job, prompts, said = asked(model, [*typed, *NO_READINGS[1:]])
    assert job.cells["wind_m_s", 0] == default_job(model=model).cells["wind_m_s", 0]
    assert [p for p in prompts if p.startswith("Basic wind speed")] == [prompts[7]] * 2
    assert any("no design wind" in line for line in said)


def test_a_pressure_with_its_unit_is_a_wind_and_is_echoed_as_the_speed_that_makes_it() -> None:
    """From memory: rho v^2 / 2 with air of 1.226 kg/m3 is 0.75 kPa at 35 m/s."""
    model = metric(build_model())
    typed = ["", "", "4,2", "3 m", "", "600", "1,92", "0 kpa", "900 kPa", "0,75 kPa", "", "", ""]
    job, prompts, said = asked(model, [*typed, "1,40", *NO_READINGS[1:]])
    assert job.cells["wind_given_kpa", 0] == 0.75
    assert prompts[7] == "Basic wind speed, m/s, or a pressure in kPa with its unit [51]: "
    (echo,) = (line for line in said if "is" in line and "m/s" in line and "kPa" in line)
    assert 34 < float(echo.split()[-2]) < 36
    assert sum("lie between" in line or "at least" in line for line in said) == 2


QUICK = ["", "", "16", "12", *DEFAULTS]
INCHES = ["10", "11.5", "12.25", "13", "16", "17", "15", "14", "13.5"]


def test_the_fall_by_the_readings_is_said() -> None:
    readings = [str(float(inches) / 12) for inches in INCHES]
    _, prompts, said = asked(build_model(), [*QUICK, *readings])
    assert said[-1] == "The ground falls 0.58 ft from front left to back middle, 21.1 ft apart."
    assert len(prompts) == len(QUESTIONS) + 9


def test_readings_typed_in_inches_without_a_unit_are_asked_again_as_the_ground_would_be_steep() -> (
    None
):
    again = [f'{inches}"' for inches in INCHES[1:]]
    job, prompts, said = asked(build_model(), [*QUICK, '10"', *INCHES[1:], "", "", *again])
    assert "That is steep. A bare reading is in ft;" in said[-2]
    assert prompts[len(QUESTIONS) + 9] == "Is that so (no, yes) [no]: "
    assert prompts[len(QUESTIONS) + 10] == '  1 front left (x -3, y -3), ft [10"]: '
    assert [job.cells["quick_reading_ft", row] for row in range(2)] == ['10"', '11.5"']


def test_steep_ground_that_is_so_is_taken() -> None:
    job, _, said = asked(build_model(), [*QUICK, *INCHES, "yes"])
    assert "The ground falls" in said[-2]
    assert job.cells["quick_reading_ft", 8] == "13.5"


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """A terminal at which these lines are typed."""

    def typing(lines: str) -> None:
        typed = io.StringIO(lines)
        monkeypatch.setattr(typed, "isatty", lambda: True)
        monkeypatch.setattr(sys, "stdin", typed)
        monkeypatch.setattr(sys.stdout, "isatty", lambda: True)

    return typing


def test_without_a_terminal_new_asks_for_a_file_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new"]) == 2
    assert "a file name is needed" in capsys.readouterr().err


@pytest.mark.parametrize("what", [["--demo"], ["--job", "shed.toml"], ["--template", "mine.xlsx"]])
def test_what_needs_no_questions_needs_a_file_name(
    what: list[str], terminal: Callable[[str], None], capsys: pytest.CaptureFixture[str]
) -> None:
    terminal("")
    assert main(["new", *what]) == 2
    assert "a file name is needed" in capsys.readouterr().err


def test_questions_that_are_broken_off_before_a_file_name_leave_no_file(
    terminal: Callable[[str], None],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    terminal("feet\nShed\n")
    assert main(["new"]) == 2
    assert "no workbook was made" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_answers_stand_in_the_workbook_where_the_rest_is_broken_off(
    terminal: Callable[[str], None],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    answers = ["feet", "Shed", "", "", "14", "10", *DEFAULTS, "0.5", "0.75"]
    terminal("\n".join(answers) + "\n")
    assert main(["new"]) == 2
    assert "your answers stand in shed.xlsx. Type the rest there" in capsys.readouterr().err
    data = (tmp_path / "shed.xlsx").read_bytes()
    assert [value(data, ("in_quick_reading_ft", 0, row)) for row in range(3)] == [
        "0.5",
        "0.75",
        None,
    ]
    assert value(data, "in_building_length_ft") == "14"
    assert str(value(data, "overall_flag")).startswith("TO DO")
    main(["check", "shed.xlsx"])
    assert "type a reading at each of the nine stakes" in capsys.readouterr().out


@pytest.mark.slow
def test_answers_stand_in_the_workbook_where_no_estimate_can_be_made(
    terminal: Callable[[str], None],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise SolveError("no board of the yard is long enough.")

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(terminal_module, "create_workbook", refused)
    terminal("\n".join(["feet", "Shed", "", "", "14", "10", *DEFAULTS, *"123456789", "yes"]) + "\n")
    assert main(["new"]) == 2
    told = capsys.readouterr()
    assert "no board of the yard is long enough" in told.out
    assert "your answers stand in shed.xlsx. Correct them there" in told.err
    data = (tmp_path / "shed.xlsx").read_bytes()
    assert [value(data, ("in_quick_reading_ft", 0, row)) for row in range(9)] == list("123456789")


def test_a_name_that_is_taken_or_no_workbook_s_is_asked_again(
    terminal: Callable[[str], None],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tool_shed.xlsx").write_text("mine", encoding="utf-8")
    answers = ["feet", "Tool shed", "", "a.pdf", "no/a"]
    terminal("\n".join(answers) + "\n")
    assert main(["new"]) == 2
    said = capsys.readouterr().out
    assert "there is a file of that name already" in said
    assert "a new workbook can't be a .pdf file" in said
    assert "there is no such folder" in said
    assert (tmp_path / "tool_shed.xlsx").read_text(encoding="utf-8") == "mine"
