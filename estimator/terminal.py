"""A new workbook from questions on the terminal."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from estimator.errors import FileError, SurveyError
from estimator.metric import metric as in_metres
from estimator.model import build_model
from estimator.questions import ask_job, ask_readings, ask_word
from estimator.typed_job import default_job
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

    Args:
        named: The path of a new workbook of a name that was typed, or FileError.
        metric: Whether it is metric; otherwise that is asked too.
        prices: A CSV price book of items; None takes the shipped one.
        replace: Whether a file of that name may be replaced.

    Raises:
        FileError: If the input ends before the last answer, or a file can't be read or written.
        EstimatorError: If the job can't be solved.
    """
    try:
        measure = "metric" if metric else ask_word("Measure", MEASURES, input, print)
        model = in_metres(build_model()) if measure == "metric" else build_model()
        typed = ask_job(model, default_job(prices, model=model), input, print)
        path = _asked_path(named, str(typed.cells["job_name", 0]), replace=replace)
        while True:
            try:
                with working():
                    return create_workbook(path, model, typed, replace=replace)
            except SurveyError as error:
                print(error)
                typed = ask_readings(model, typed, input, print)
    except EOFError:
        raise FileError("stopped before the last question: no workbook was made.") from None


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
