"""The command ``estimator``: make a workbook, refill one, check one."""

from __future__ import annotations

import argparse
import datetime as dt
import gc
import io
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from estimator.errors import EstimatorError, FileError, on_command_line
from estimator.file_names import portable
from estimator.folder import checked, each, refilled
from estimator.working import working

if TYPE_CHECKING:
    from estimator.workbook.carry.upgrade import Upgrade
    from estimator.workbook.refill.file import Report
    from estimator.workbook.refill.refill import Refill

EXAMPLES = """examples:
  estimator new                               asks a dozen questions and the readings, and answers
  estimator new shed.xlsx                     a workbook with a builder's defaults
  estimator new demo.xlsx --demo              the invented demo job
  estimator new shed.xlsx --metric            in metres, with a metric yard's stock
  estimator new shed.xlsx --job shed.toml --prices yard.csv
  estimator refill shed.xlsx                  after its inputs were edited in a spreadsheet
  estimator check shed.xlsx                   is anything failing or out of date?
  estimator refill shed.xlsx coop.xlsx        several at once, a sentence each
  estimator next shed.xlsx coop.xlsx          the next job, with prices and rates kept
  estimator next shed.xlsx coop.xlsx --take-actuals   and with the hours and prices that it took
  estimator upgrade shed.xlsx                 bring a workbook of an older version up to date
  estimator restore shed.xlsx                 bring back sheets and names that were deleted
  estimator template shed.xlsx -o mine.xlsx   your own styles, sheets, logo and prices as a template
  estimator new coop.xlsx --template mine.xlsx
  estimator print shed.xlsx --for lot         the pages to carry, as a PDF (needs LibreOffice)
  estimator prices out shed.xlsx yard.csv     the price book as CSV; "in" reads it back
  estimator prices in shed.xlsx list.csv --from "Lumber yard"    a supplier's own list

exit codes: 0 done; 1 the job has failing checks (check only); 2 an input or file can't be used
"""


OTHER_ENDINGS = frozenset(
    (".xls", ".xlsm", ".xlsb", ".xlt", ".xltx", ".xltm", ".ods", ".csv", ".pdf", ".docx", ".toml")
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command.

    Returns:
        0 done, 1 the job has failing checks (with ``check``), 2 bad input or file.
    """
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    options = _parser().parse_args(arguments)
    collecting = gc.isenabled()
    gc.disable()  # a run is short and makes many small objects: collecting costs a fifth of it
    try:
        code: int = options.run(options)
        sys.stdout.flush()
    except BrokenPipeError:  # who reads the answer has seen enough, as ``head`` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except EstimatorError as error:
        print(f"estimator: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("estimator: stopped; the file is as it was.", file=sys.stderr)
        return 2
    finally:
        if collecting:
            gc.enable()
    return code


def program() -> int:
    """The command as a program that ends with it; returns as :func:`main` does."""
    # Matrices are small here: a second thread takes a tenth of a run and shares no work.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    code = main()
    gc.freeze()  # all of it goes with the process: looking through it first takes a fifth of a run
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
    new = commands.add_parser("new", help="make a new workbook; without a name, asks for the job")
    new.add_argument("file", type=Path, nargs="?", metavar="FILE.xlsx")
    source = new.add_mutually_exclusive_group()
    source.add_argument("--demo", action="store_true", help="fill in the invented demo job")
    source.add_argument("--job", type=Path, metavar="JOB.toml", help="fill in this job")
    new.add_argument(
        "--metric", action="store_true", help="in metres, kilograms and a metric yard's stock"
    )
    new.add_argument("--prices", type=Path, metavar="PRICES.csv", help="price book to use")
    new.add_argument("--template", type=Path, metavar="MINE.xlsx", help="a template of your own")
    new.add_argument("--force", action="store_true", help="replace a file of that name")
    new.set_defaults(run=_new)
    refill = commands.add_parser("refill", help="solve again after inputs were edited")
    refill.add_argument("files", type=Path, nargs="+", metavar="FILE.xlsx")
    refill.set_defaults(run=_refill)
    check = commands.add_parser("check", help="say what fails or is out of date; changes nothing")
    check.add_argument("files", type=Path, nargs="+", metavar="FILE.xlsx")
    check.set_defaults(run=_check)
    link = commands.add_parser("link", help="connect a workbook that is open in a spreadsheet")
    link.add_argument("file", type=Path, nargs="?", metavar="FILE.xlsx")
    action = link.add_mutually_exclusive_group()
    action.add_argument("--check", action="store_true", help="say what is missing")
    action.add_argument("--refill", action="store_true", help="refill the book that is open")
    action.add_argument(
        "--functions", action="store_true", help="write an .xlsm copy that solves in its cells"
    )
    link.add_argument("-o", "--output", type=Path, metavar="COPY.xlsm", help="with --functions")
    link.add_argument("--port", type=int, default=2002, help="where LibreOffice listens (2002)")
    link.set_defaults(run=_link)
    following = commands.add_parser("next", help="start the next job from an old workbook")
    following.add_argument("old", type=Path, metavar="OLD.xlsx")
    following.add_argument("file", type=Path, metavar="NEW.xlsx")
    following.add_argument("--job", type=Path, metavar="JOB.toml", help="inputs of the new job")
    following.add_argument(
        "--take-actuals",
        action="store_true",
        help="take the hours and prices typed into the finished job as rates and prices",
    )
    following.set_defaults(run=_next)
    template = commands.add_parser("template", help="make a template of your own from a workbook")
    template.add_argument("book", type=Path, metavar="BOOK.xlsx")
    template.add_argument("-o", "--output", type=Path, required=True, metavar="MINE.xlsx")
    template.set_defaults(run=_template)
    upgrade = commands.add_parser("upgrade", help="bring an older workbook to this version")
    upgrade.add_argument("file", type=Path, metavar="FILE.xlsx")
    upgrade.set_defaults(run=_upgrade)
    restore = commands.add_parser("restore", help="bring back sheets and names that were deleted")
    restore.add_argument("file", type=Path, metavar="FILE.xlsx")
    restore.set_defaults(run=_restore)
    pages = commands.add_parser(
        "print", help="write the pages that are carried to one place as a PDF, by LibreOffice"
    )
    pages.add_argument("file", type=Path, metavar="FILE.xlsx")
    pages.add_argument(
        "--for",
        dest="reader",
        choices=("lot", "yard", "saw", "customer", "file"),
        required=True,
        help="where they are carried to; file: every page",
    )
    pages.add_argument("-o", "--output", type=Path, metavar="PAGES.pdf")
    pages.set_defaults(run=_print)
    prices = commands.add_parser(
        "prices", help="price book of a workbook, out to CSV or in from it"
    )
    prices.add_argument("way", choices=("out", "in"), help="out: write the CSV; in: read it")
    prices.add_argument("file", type=Path, metavar="FILE.xlsx")
    prices.add_argument("list", type=Path, metavar="PRICES.csv")
    prices.add_argument(
        "--from",
        dest="supplier",
        metavar="SUPPLIER",
        help="read this supplier's own list, by the headings that Prices names",
    )
    prices.add_argument(
        "--date", type=_day, metavar="DAY", help="the day of its prices, such as 2026-05-01"
    )
    prices.set_defaults(run=_prices)
    return parser


def _day(text: str) -> dt.date:
    """A day of the command line."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError("a day is written like 2026-05-01") from None


def _next(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.model.carry_over import job_specific
    from estimator.report import answer
    from estimator.workbook.carry.next_job import start_next

    model = build_model()
    taken: list[str] = []
    with working():
        report = start_next(
            options.old,
            portable(options.file),
            model,
            job_specific(model),
            options.job,
            actuals=dt.date.today() if options.take_actuals else None,
            told=taken.append,
        )
    if taken:
        print("\n".join(("Taken from the finished job:", *(f"  {line}" for line in taken))))
    if report is not None:
        print(answer(report.refill.values))
        _print_notes(report.notes)
    else:
        print("Prices, rates, options and your own sheets are carried over; the building, its")
        print("place and the readings are blank. Type them, then run: estimator refill")
    print(f"\nThe workbook: {options.file.resolve()}")
    return 0


def _template(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.model.carry_over import job_specific
    from estimator.workbook.carry.next_job import start_next

    model = build_model()
    path = _new_path(options.output)
    with working():
        start_next(options.book, path, model, job_specific(model))
    print("Looks, your own sheets, prices, rates and options are kept; the building, its place")
    print("and the readings are blank.")
    print(f"\nThe template: {path.resolve()}")
    print(f"A workbook from it: estimator new FILE.xlsx --template {on_command_line(path.name)}")
    return 0


def _upgrade(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.model.carry_over import RENAMED, unasked
    from estimator.workbook.carry.upgrade import upgrade_workbook

    with working():
        done = upgrade_workbook(options.file, build_model(), RENAMED, unasked)
    return _replaced(done, "Upgraded")


def _restore(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.workbook.carry.restore import restore_workbook

    with working():
        done = restore_workbook(options.file, build_model())
    return _replaced(done, "Restored")


def _replaced(done: Upgrade, word: str) -> int:
    from estimator.report import answer

    if done.report is not None:
        print(answer(done.report.refill.values))
        _print_since(done.report.refill)
    _print_notes(done.notes)
    if not done.saved.changed:
        print(f"\nLeft as it was: {done.saved.path.resolve()}.")
        return 0
    kept = f" The version before: {done.saved.previous.name}" if done.saved.previous else ""
    print(f"\n{word}: {done.saved.path.resolve()}.{kept}")
    return 0


def _print(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.report import open_points, page_foot
    from estimator.workbook.refill.printed import Footer, print_pages

    reader = None if options.reader == "file" else options.reader
    target = options.output or options.file.with_name(f"{options.file.stem}-{options.reader}.pdf")
    if target.suffix.lower() != ".pdf":
        raise FileError("pages are written as a PDF.", where=target.name, cure="End it in .pdf.")
    with working():
        done = print_pages(
            options.file, target, build_model(), reader, lambda values: Footer(*page_foot(values))
        )
    values = done.book.values
    for text in open_points(values):
        print(f"To do: {text}")
    if 2 in done.book.stale.values():
        print("OUT OF DATE: run estimator refill, and print again.")
    if done.book.damage:
        print(f"DAMAGED: {done.book.damage}")
    print(f"{', '.join(done.tabs)}: {done.path.resolve()}")
    return 0


def _prices(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.workbook.refill.price_list import export_prices, import_prices
    from estimator.workbook.refill.yard_prices import import_yard_list

    if (options.supplier or options.date) and options.way == "out":
        raise FileError("--from and --date belong to prices in.", where=options.list.name)
    if options.date and not options.supplier:
        raise FileError(
            "--date belongs to a supplier's own list.",
            where=options.list.name,
            cure="Say whose it is with --from SUPPLIER.",
        )
    model = build_model()
    if options.way == "out":
        out = export_prices(options.file, options.list, model)
        kept = f" The version before: {out.previous.name}" if out.previous else ""
        print(f"{out.count} items written to {options.list.resolve()}.{kept}")
        return 0
    with working():
        if options.supplier is not None:
            account, report = import_yard_list(
                options.file, options.list, model, options.supplier, options.date
            )
        else:
            account, report = import_prices(options.file, options.list, model)
    print(account.text())
    _print_since(report.refill)
    _print_notes(report.notes)
    print(f"\nRefilled: {report.path.resolve()}.")
    return 0


def _new(options: argparse.Namespace) -> int:
    from estimator.metric import metric
    from estimator.model import build_model
    from estimator.typed_job import default_job, demo_job, load_job
    from estimator.workbook.refill.file import create_workbook

    if options.file is None:
        return _new_asked(options)
    path = _new_path(options.file)
    if options.template:
        return _new_from(options, path)
    model = metric(build_model()) if options.metric else build_model()
    if options.demo or options.job:
        typed = load_job(options.job or demo_job(model), options.prices, model=model)
    else:
        typed = default_job(options.prices, model=model)
    with working():
        report = create_workbook(path, model, typed, replace=options.force)
    _print_new(report)
    return 0


def _new_asked(options: argparse.Namespace) -> int:
    """A new workbook of a job that is asked for on the terminal."""
    from estimator.terminal import make_asked

    terminal = sys.stdin.isatty() and sys.stdout.isatty()
    if options.demo or options.job or options.template or not terminal:
        raise FileError(
            "a file name is needed.",
            cure="Say: estimator new FILE.xlsx (on a terminal, estimator new asks for the job).",
        )
    _print_new(
        make_asked(_new_path, metric=options.metric, prices=options.prices, replace=options.force)
    )
    return 0


def _print_new(report: Report) -> None:
    from estimator.report import answer

    print(answer(report.refill.values))
    _print_notes(report.notes)
    print(f"\nThe workbook: {report.path.resolve()}")


def _new_from(options: argparse.Namespace, path: Path) -> int:
    """A new workbook from a template of a person's own."""
    from estimator.model import build_model
    from estimator.model.carry_over import job_specific
    from estimator.report import answer
    from estimator.workbook.carry.next_job import start_next

    if options.prices and options.job is None and not options.demo:
        raise FileError(
            "a price book and a template of your own need a job too.",
            where=options.prices.name,
            cure="Give --job JOB.toml, or read the prices in afterwards: estimator prices in",
        )
    model = build_model()
    with working():
        report = start_next(
            options.template,
            path,
            model,
            job_specific(model),
            options.job,
            demo=options.demo,
            prices=options.prices,
            replace=options.force,
        )
    if report is not None:
        print(answer(report.refill.values))
        _print_notes(report.notes)
    else:
        print("The building, its place and the readings are blank. Type them, then run:")
        print(f"estimator refill {on_command_line(path.name)}")
    print(f"\nThe workbook: {path.resolve()}")
    return 0


def _new_path(path: Path) -> Path:
    """The path with the ending of a workbook, which is added where there is none.

    Raises:
        FileError: If it has another ending, or not every system takes a file of that name.
    """
    suffix = path.suffix.lower()
    if suffix in OTHER_ENDINGS:
        raise FileError(
            f"a new workbook can't be a {suffix} file.",
            where=path.name,
            cure="Give a name that ends in .xlsx.",
        )
    return portable(path if suffix == ".xlsx" else path.with_name(portable(path).name + ".xlsx"))


def _refill(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.report import answer
    from estimator.workbook.refill.file import refill_workbook

    if len(options.files) > 1:
        return _each(refilled, options.files)
    with working():
        report = refill_workbook(options.files[0], build_model())
    print(answer(report.refill.values))
    _print_since(report.refill)
    _print_notes(report.notes)
    kept = f" The version before: {report.previous.name}" if report.previous else ""
    done = "Refilled" if report.changed else "Up to date"
    print(f"\n{done}: {report.path.resolve()}.{kept}")
    return 0


def _check(options: argparse.Namespace) -> int:
    from estimator.model import build_model
    from estimator.report import checks
    from estimator.workbook.refill.file import check_workbook

    if len(options.files) > 1:
        return _each(checked, options.files)
    with working():
        found = check_workbook(options.files[0], build_model())
    text, failing = checks(found)
    print(text)
    return 1 if failing else 0


def _each(work: Callable[[Path], tuple[int, str]], paths: Sequence[Path]) -> int:
    """A sentence for each of several workbooks, and the worst exit code."""
    worst = 0
    with working() as clear:
        for code, told in each(work, paths):
            clear()
            worst = max(worst, code)
            if code == 2:
                print(f"estimator: {told}", file=sys.stderr)
            else:
                print(told, flush=True)
    return worst


def _link(options: argparse.Namespace) -> int:
    from estimator.live import link

    if options.refill:
        with working():
            done = link.refill(options.file, options.port)
        print(done.sentence)
        _print_since(done.refill)
        _print_notes(done.notes)
        return 0
    if options.functions or options.output:
        return _link_functions(options.file, options.output, functions=options.functions)
    if options.check or options.file is None:
        text, ready = link.check(options.file, options.port)
        print(text)
        return 0 if ready else 1
    taken_out = link.link_workbook(options.file)
    print(f"Wrote the sheet xlwings.conf into {options.file}.")
    if taken_out:
        print(f"Taken out of it, as they would run another program: {', '.join(taken_out)}.")
    print(f"\n{link.steps()}", end="")
    return 0


def _link_functions(path: Path | None, output: Path | None, *, functions: bool) -> int:
    from estimator.live import link

    if path is None or not functions:
        raise FileError(
            "-o belongs to --functions, which takes a workbook.",
            cure="Say: estimator link --functions FILE.xlsx -o COPY.xlsm",
        )
    with working():
        written, copy = link.link_functions(path, output)
    print(
        f"Wrote {written}: {copy.blocks} blocks of {len(copy.live)} solvers are functions."
        f"\n\n{link.STEPS_FUNCTIONS}",
        end="",
    )
    return 0


def _print_since(refill: Refill) -> None:
    """What it changed in money."""
    from estimator.since import told

    lines = told(refill.costs_then, refill.values)
    if len(lines) == 1:
        print(f"\nSince the last refill: {lines[0]}")
    elif lines:
        print("\n".join(["\nSince the last refill:", *(f"  {line}" for line in lines)]))


def _print_notes(notes: Sequence[str]) -> None:
    for note in notes:
        print(f"note: {note}")
