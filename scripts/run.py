"""First use: makes the environment, then the demo workbook.

    python scripts/run.py                       the demo, in the folder you are in
    python scripts/run.py my_first_base.xlsx    the same under a name of yours

Needs Python 3.11 or newer and, the first time, the internet. A second run skips the set-up. An
existing file is never overwritten. Exit codes: 0 done, 2 could not be done (the sentence printed
says why and what to do), otherwise what the estimator itself returned.
"""

import sys

import python_version

python_version.require()

import argparse  # noqa: E402
import subprocess  # noqa: E402
import tempfile  # noqa: E402
from pathlib import Path  # noqa: E402

from bootstrap import SetupError, ensure_environment, say, venv_folder  # noqa: E402
from locks import RUN_LOCK  # noqa: E402

DEFAULT_FILE = "outbuilding_base_demo.xlsx"


def free_name(wanted: Path) -> Path:
    """Give `wanted`, or where that exists the first of name_2, name_3 ... that does not."""
    candidate, number = wanted, 1
    while candidate.exists():
        number += 1
        candidate = wanted.with_name(f"{wanted.stem}_{number}{wanted.suffix}")
    return candidate


def check_target(path: Path) -> None:
    """Raise SetupError when no workbook can be written at `path`."""
    if path.suffix.lower() != ".xlsx":
        raise SetupError(f"'{path}' is no workbook's name: give one that ends in .xlsx.")
    if not path.parent.is_dir():
        raise SetupError(f"The folder '{path.parent}' does not exist: make it, or name another.")
    try:
        with tempfile.TemporaryFile(dir=path.parent):
            pass
    except OSError as fault:
        raise SetupError(
            f"The folder '{path.parent.resolve()}' can't be written to ({fault.strerror}): go to "
            "a folder of your own, or name a file in one."
        ) from None


def main(arguments: list[str]) -> int:
    """Set up, make the demo workbook, and give the exit code."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "file", nargs="?", default=DEFAULT_FILE, metavar="FILE.xlsx", help="where to put the demo"
    )
    wanted = Path(parser.parse_args(arguments).file)
    try:
        check_target(wanted)
        python = ensure_environment(RUN_LOCK)
    except SetupError as fault:
        print(fault, file=sys.stderr)
        return 2
    target = free_name(wanted)
    if target != wanted:
        say(f"{wanted} exists and stays as it is: the new workbook is {target}.")
    say(
        "Making the demo workbook (a few seconds; the first time, with its template, some more) ..."
    )
    status = subprocess.run(
        [str(python), "-m", "estimator", "new", str(target), "--demo"], check=False
    ).returncode
    if status == 0:
        command = word(venv_folder() / "estimator")
        say("Change its inputs in any spreadsheet program, save, and bring it up to date with:")
        say(f"    {command} refill {word(target.resolve())}")
        say("Your own job, asked for here in a dozen questions and nine readings:")
        say(f"    {command} new")
    return status


def word(path: Path) -> str:
    """Give a path as one word of a command; in quotes, which some shells take amiss, if it must."""
    text = str(path)
    return f'"{text}"' if " " in text else text


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)
