"""A new workbook from questions on the terminal."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from estimator.engine import Model
from estimator.errors import EstimatorError, FileError, SurveyError, on_command_line
from estimator.inputs import TypedJob
from estimator.metric import metric as in_metres
from estimator.model import build_model
from estimator.questions import NAME, QUESTIONS, ask_job, ask_readings, ask_word
from estimator.typed_job import default_job
from estimator.workbook.carry.unsolved import keep_entries
from estimator.workbook.refill.file import Report, create_workbook
from estimator.working import working

MEASURES = ("feet", "metric")


def make_asked(
    named: Callable[[Path], Path],
    *,
    metric: bool = False,
    prices: Path | None = None,
    replace: bool = False,
) -> Report:
    """Ask for a job and a file name, and make its workbook, solved.

    Where that comes to no end, a workbook with what has been answered is left to go on with.

    Args:
        named: The path of a new workbook of a name that was typed, or FileError.
        metric: Whether it is metric; otherwise that is asked too.
        prices: A CSV price book of items; None takes the shipped one.
        replace: Whether a file of that name may be replaced.

    Raises:
        FileError: If the input ends before the last answer, the job can't be solved, or a file
            can't be read or written.
    """
    try:
        measure = "metric" if metric else ask_word("Measure", MEASURES, input, print)
        model = in_metres(build_model()) if measure == "metric" else build_model()
        typed = ask_job(model, default_job(prices, model=model), input, print, keys=NAME)
        path = _asked_path(named, str(typed.cells["job_name", 0]), replace=replace)
    except (EOFError, KeyboardInterrupt):
        raise FileError("stopped before the file had a name: no workbook was made.") from None
    answered = [typed]
    try:
        return _asked_and_made(path, model, typed, answered.append, replace=replace)
    except FileError:
        raise
    except (EOFError, KeyboardInterrupt):
        why, cure = "stopped before the workbook was worked out", "Type the rest there"
    except EstimatorError as error:
        print(error)
        why, cure = "no estimate was made", "Correct them there"
    keep_entries(path, model, answered[-1], replace=replace)
    raise FileError(
        f"{why}: your answers stand in {path.name}.",
        cure=f"{cure}, then run: estimator refill {on_command_line(path.name)}",
    )


def _asked_and_made(
    path: Path,
    model: Model,
    typed: TypedJob,
    told: Callable[[TypedJob], None],
    *,
    replace: bool,
) -> Report:
    """The rest of the questions, and the workbook; readings that are no ground are asked again."""
    typed = ask_job(model, typed, input, print, keys=QUESTIONS[len(NAME) :], told=told)
    while True:
        typed = ask_readings(model, typed, input, print, told=told)
        try:
            with working():
                return create_workbook(path, model, typed, replace=replace)
        except SurveyError as error:
            print(error)


def _asked_path(named: Callable[[Path], Path], job_name: str, *, replace: bool) -> Path:
    """A file name that can be used, asked for until it is one; the job's name unless typed."""
    usual = re.sub(r"\W+", "_", job_name.casefold()).strip("_") or "job"
    while True:
        typed = input(f"File [{usual}.xlsx]: ").strip()
        try:
            path = named(Path(typed or usual))
            if path.exists() and not replace:
                raise FileError("there is a file of that name already.", cure="Give another name.")
            if not path.parent.is_dir():
                raise FileError("there is no such folder.", where=str(path.parent))
        except FileError as error:
            print(f"  {error}")
            continue
        return path
