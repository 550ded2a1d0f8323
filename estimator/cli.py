"""The command ``estimator``: make a workbook, refill one, check one."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from estimator.errors import EstimatorError

EXAMPLES = """examples:
  estimator new shed.xlsx                     a workbook with a builder's defaults
  estimator new demo.xlsx --demo              the invented demo job
  estimator new shed.xlsx --job shed.toml --prices yard.csv
  estimator refill shed.xlsx                  after its inputs were edited in a spreadsheet
  estimator check shed.xlsx                   is anything failing or out of date?

exit codes: 0 done; 1 the job has failing checks (check only); 2 an input or file can't be used
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command.

    Returns:
        0 done, 1 the job has failing checks (with ``check``), 2 bad input or file.
    """
    options = _parser().parse_args(arguments)
    try:
        code: int = options.run(options)
    except EstimatorError as error:
        print(f"estimator: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("estimator: stopped; the file is as it was.", file=sys.stderr)
        return 2
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="estimator",
        description="Decides and prices the base of a small outbuilding on a sloping lot,"
        " in a workbook of your own.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(metavar="command", required=True)
    new = commands.add_parser("new", help="make a new workbook")
    new.add_argument("file", type=Path, metavar="FILE.xlsx")
    source = new.add_mutually_exclusive_group()
    source.add_argument("--demo", action="store_true", help="fill in the invented demo job")
    source.add_argument("--job", type=Path, metavar="JOB.toml", help="fill in this job")
    new.add_argument("--prices", type=Path, metavar="PRICES.csv", help="price book to use")
    new.add_argument("--force", action="store_true", help="replace a file of that name")
    new.set_defaults(run=_new)
    refill = commands.add_parser("refill", help="solve again after inputs were edited")
    refill.add_argument("file", type=Path, metavar="FILE.xlsx")
    refill.set_defaults(run=_refill)
    check = commands.add_parser("check", help="say what fails or is out of date; changes nothing")
    check.add_argument("file", type=Path, metavar="FILE.xlsx")
    check.set_defaults(run=_check)
    return parser


def _new(options: argparse.Namespace) -> int:
    from estimator.job import DEMO_JOB, default_job, load_job
    from estimator.model import build_model
    from estimator.report import answer
    from estimator.workbook.file import create_workbook

    if options.file.suffix.lower() != ".xlsx":
        options.file = options.file.with_name(options.file.name + ".xlsx")
    model = build_model()
    if options.demo or options.job:
        typed = load_job(options.job or DEMO_JOB, options.prices)
    else:
        typed = default_job(options.prices)
    report = create_workbook(options.file, model, typed, replace=options.force)
    print(answer(report.refill.values))
    _print_notes(report.notes)
    print(f"\nThe workbook: {report.path.resolve()}")
    return 0


def _refill(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.report import answer
    from estimator.workbook.file import refill_workbook

    report = refill_workbook(options.file, build_model())
    print(answer(report.refill.values))
    _print_notes(report.notes)
    kept = f" The version before: {report.previous.name}" if report.previous else ""
    print(f"\nRefilled: {report.path.resolve()}.{kept}")
    return 0


def _check(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.report import checks
    from estimator.workbook.file import check_workbook

    found = check_workbook(options.file, build_model())
    text, failing = checks(found)
    print(text)
    return 1 if failing else 0


def _print_notes(notes: Sequence[str]) -> None:
    for note in notes:
        print(f"note: {note}")
