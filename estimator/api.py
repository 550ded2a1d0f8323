"""The estimator from Python: a job in, an estimate or a workbook out.

Money is in the currency of the price book; hours are hours of work, of all people together. What
is computed beyond the totals stands in :attr:`Estimate.values`, by the keys of the workbook's rows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from estimator.engine import Model
    from estimator.inputs import TypedJob


@dataclass(frozen=True, slots=True)
class Job:
    """A job as typed: what stands in the input cells of its workbook.

    Args:
        typed: Typed values by key of the input and place: number of the option, or of the row of
            a table, from 0.
        metric: Whether it is in metres, millimetres and kilograms, or in feet, inches and pounds.
    """

    typed: TypedJob
    metric: bool = False

    @classmethod
    def plain(cls, *, prices: str | Path | None = None, metric: bool = False) -> Job:
        """A builder's defaults and an option of each kind; building and readings are blank.

        Args:
            prices: A CSV price book of items; None takes the shipped, invented one.
            metric: In metres and with a metric yard's stock.

        Raises:
            EstimatorError: If the price book can't be used: what, where, what to do.
        """
        from estimator.typed_job import default_job

        return cls(default_job(_path(prices), model=_model(metric)), metric)

    @classmethod
    def demo(cls, *, metric: bool = False) -> Job:
        """The invented demo job."""
        from estimator.typed_job import demo_job

        return cls.load(demo_job(_model(metric)), metric=metric)

    @classmethod
    def load(
        cls, path: str | Path, *, prices: str | Path | None = None, metric: bool = False
    ) -> Job:
        """A job from a TOML file, laid over the defaults.

        Args:
            path: The file; ``shared/demo_job.toml`` shows its names.
            prices: A CSV price book of items; None takes the shipped, invented one.
            metric: Whether the file names its inputs by metric units.

        Raises:
            EstimatorError: If a file can't be read, or names something that is no input: what,
                where (file and line), what to do.
        """
        from estimator.typed_job import load_job

        return cls(load_job(Path(path), _path(prices), model=_model(metric)), metric)


@dataclass(frozen=True, slots=True)
class OptionEstimate:
    """One way to carry the building.

    Args:
        letter: Its column in the workbook, ``A`` to ``F``.
        kind: Such as ``framed pad``.
        name: As typed; may be empty.
        total: What it costs with tax, contingency and labour, in money.
        before_contingency: That without contingency, in money.
        low, high: Range of it, in money: one draw in ten lies below, one in ten above, of prices,
            hours and quantities as far off as Prices and Factors say; contingency stands apart.
        hours: Hours of work, of all people together.
        ready: The first day on which it can be built on, if the locating service is called on the
            day that the job says.
        checks: What stands against it, one sentence each: ``FAIL`` do not build it so, ``LOOK``
            decide with care.
    """

    letter: str
    kind: str
    name: str
    total: float
    before_contingency: float
    low: float
    high: float
    hours: float
    ready: dt.date
    checks: tuple[str, ...]

    @property
    def fails(self) -> bool:
        """Whether a check says not to build it so."""
        return any(text.startswith("FAIL") for text in self.checks)


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a job comes to.

    Args:
        options: The options in use, in their order; none while something is still to be typed. One
            that can't be supplied is not among them.
        to_do: What is still to be typed before there is an answer, one sentence each.
        values: Every quantity by its key, as an array of shape (options, rows of its table): six
            options, or one where it is the same for all; text, or numbers in the row's unit, NaN
            where an option is not in use.
        not_priced: By letter, why an option can't be supplied, and what to do.
    """

    options: tuple[OptionEstimate, ...]
    to_do: tuple[str, ...]
    values: Mapping[str, Any]
    not_priced: Mapping[str, str] = field(default_factory=dict)

    def option(self, letter: str) -> OptionEstimate:
        """The option of a column.

        Raises:
            KeyError: If that column is not in use.
        """
        for option in self.options:
            if option.letter == letter.upper():
                return option
        raise KeyError(letter)


@dataclass(frozen=True, slots=True)
class WorkbookReport:
    """What a workbook holds now.

    Args:
        path: The file.
        estimate: What its job comes to.
        notes: Sentences for its owner: what was kept, typed over, or could not be done.
        out_of_date: What was solved from other inputs than it holds; a refill solves it again.
        previous: The version before, which a refill keeps beside it; None where it made none.
    """

    path: Path
    estimate: Estimate
    notes: tuple[str, ...] = ()
    out_of_date: tuple[str, ...] = ()
    previous: Path | None = None


def estimate(job: Job) -> Estimate:
    """Everything that a job comes to, without a workbook; solving takes some seconds.

    >>> from estimator import Job, estimate
    >>> found = estimate(Job.demo())
    >>> [f"{option.letter}: {option.kind}" for option in found.options]
    ['A: framed pad', 'B: open pad', 'C: piers', 'D: blocks', 'E: slab']
    >>> found.option("C").low < found.option("C").before_contingency < found.option("C").high
    True

    Raises:
        EstimatorError: If an input can't be used: what, where, what to do.
    """
    from estimator.evaluation import evaluate
    from estimator.model.refusals import refuse
    from estimator.typed_job import read_inputs, told_where_typed

    model = _model(job.metric)
    with told_where_typed(model, job.typed):
        values = evaluate(
            model,
            read_inputs(model, job.typed),
            refuse=lambda values: refuse(values, job.typed),
        )
    return _estimate(values)


def create_workbook(path: str | Path, job: Job, *, replace: bool = False) -> WorkbookReport:
    """Make a job's workbook, solved, with live formulas.

    Args:
        path: The .xlsx file to make.
        job: What stands in its input cells.
        replace: Whether a file of that name may be replaced.

    Raises:
        EstimatorError: If the file exists or can't be written, or an input can't be used.
    """
    from estimator.workbook.refill.file import create_workbook as create

    report = create(Path(path), _model(job.metric), job.typed, replace=replace)
    return WorkbookReport(report.path, _estimate(report.refill.values), report.notes)


def refill_workbook(path: str | Path) -> WorkbookReport:
    """Solve a workbook again, in place, after its inputs were edited in a spreadsheet.

    Its measure is found out from the file. Everything that its owner added stays.

    Raises:
        EstimatorError: If the file or an input can't be used; the file is then as it was.
    """
    from estimator.workbook.refill.file import refill_workbook as refill

    report = refill(Path(path), _model(metric=False))
    estimated = _estimate(report.refill.values)
    return WorkbookReport(report.path, estimated, report.notes, (), report.previous)


def check_workbook(path: str | Path) -> WorkbookReport:
    """A workbook as it stands, with its solved parts as they are; it is not changed.

    Raises:
        EstimatorError: If the file or an input can't be used.
    """
    from estimator.workbook.refill.file import check_workbook as check

    found = check(Path(path), _model(metric=False))
    late = tuple(found.labels.get(name, name) for name in found.stale)
    return WorkbookReport(Path(path), _estimate(found.values), found.typed_over, late)


def _path(path: str | Path | None) -> Path | None:
    return None if path is None else Path(path)


def _model(metric: bool) -> Model:
    from estimator.metric import metric as in_metres
    from estimator.model import build_model

    return in_metres(build_model()) if metric else build_model()


def _estimate(values: Mapping[str, Any]) -> Estimate:
    from estimator.inputs import DATE_ORIGIN
    from estimator.report import against, not_priced, open_points, used_options
    from estimator.rows import OPTION_KEYS

    def at(key: str, option: int) -> Any:
        return values[key][min(option, len(values[key]) - 1)][0]

    missing, lacking = tuple(open_points(values)), not_priced(values)
    options = tuple(
        OptionEstimate(
            OPTION_KEYS[option],
            str(at("option_kind", option)),
            str(at("option_name", option)),
            float(at("total_cost", option)),
            float(at("before_contingency", option)),
            float(at("total_low", option)),
            float(at("total_high", option)),
            float(at("work_hours", option)),
            DATE_ORIGIN + dt.timedelta(days=float(at("ready_day", option))),
            tuple(against(values, option)),
        )
        for option in ([] if missing and not lacking else used_options(values))
    )
    reasons = {OPTION_KEYS[option]: why for option, why in lacking.items()}
    return Estimate(options, missing, values, reasons)
