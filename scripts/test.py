"""Runs everything that must be green: lint, format, types, tests.

    python scripts/test.py                      all of it
    python scripts/test.py --quick              leaves out the tests marked slow
    python scripts/test.py tests/test_rows.py -k ceil      what follows goes to pytest

Makes the environment first, like run.py. Tests that need LibreOffice Calc are skipped where it
is missing, and a line says which; where the environment variable CI is set its absence is an
error. Exit code: that of the first step that failed, 2 when the set-up could not be done.
"""

import sys

import python_version

python_version.require()

import argparse  # noqa: E402
import os  # noqa: E402
import re  # noqa: E402
import shutil  # noqa: E402
import subprocess  # noqa: E402
from collections.abc import Mapping, Sequence  # noqa: E402
from pathlib import Path  # noqa: E402

from bootstrap import ROOT, SetupError, ensure_environment, say  # noqa: E402
from locks import TEST_LOCK  # noqa: E402

# Where its own installers put LibreOffice without adding it to PATH.
_USUAL_PLACES = (
    Path("/Applications/LibreOffice.app/Contents/MacOS/soffice"),
    Path(os.environ.get("PROGRAMFILES", "C:/Program Files"), "LibreOffice/program/soffice.exe"),
)
_CALLS = re.compile("soffice|needs_office")


def find_libreoffice() -> Path | None:
    """Give the path of LibreOffice's program, or None where it is not installed."""
    for name in ("soffice", "libreoffice"):
        found = shutil.which(name)
        if found:
            return Path(found)
    return next((place for place in _USUAL_PLACES if place.exists()), None)


def files_that_need_libreoffice(tests: Path) -> list[str]:
    """Give the test files that call LibreOffice, as paths below `tests`."""
    return sorted(
        path.relative_to(tests).as_posix()
        for path in tests.rglob("test_*.py")
        if path.name != "test_scripts.py" and _CALLS.search(path.read_text(encoding="utf-8"))
    )


def ci(environment: Mapping[str, str]) -> bool:
    """Tell whether this is an unattended run, in which nothing may be skipped."""
    return environment.get("CI", "").lower() not in {"", "0", "false"}


def pytest_arguments(quick: bool, rest: Sequence[str]) -> list[str]:
    """Give pytest's arguments: one worker a core unless asked otherwise, skips shown."""
    arguments = ["-rs"]
    if not any(word.startswith(("-n", "--numprocesses")) for word in rest):
        # A file stays with one worker, which makes the workbooks that its tests share once.
        arguments += ["-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder"]
    if quick:
        arguments += ["-m", "not slow"]
    return [*arguments, *rest]


def main(arguments: Sequence[str]) -> int:
    """Set up, run each step, and give the exit code of the first that failed."""
    parser = argparse.ArgumentParser(
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        usage="test.py [-h] [--quick] [pytest's arguments ...]",
    )
    parser.add_argument("--quick", action="store_true", help="leave out the tests marked slow")
    known, rest = parser.parse_known_args(arguments)

    environment = dict(os.environ)
    office = find_libreoffice()
    if office is not None:
        environment["PATH"] = f"{environment.get('PATH', '')}{os.pathsep}{office.parent}"
    else:
        needing = ", ".join(files_that_need_libreoffice(ROOT / "tests")) or "none yet"
        line = f"LibreOffice Calc (soffice) is missing. Tests that need it: {needing}."
        if ci(environment):
            print(f"{line} An unattended run may not skip them: install it.", file=sys.stderr)
            return 2
        say(f"{line} They are skipped: install LibreOffice to run them.")
    try:
        python = ensure_environment(TEST_LOCK)
    except SetupError as fault:
        print(fault, file=sys.stderr)
        return 2

    steps = (
        ("lint", ["ruff", "check"]),
        ("format", ["ruff", "format", "--check"]),
        ("types", ["mypy"]),
        ("tests", ["pytest", *pytest_arguments(known.quick, rest)]),
    )
    failed: dict[str, int] = {}
    for name, words in steps:
        say(f"{name}: {' '.join(words)}")
        status = subprocess.run(
            [str(python), "-m", *words], cwd=ROOT, env=environment, check=False
        ).returncode
        if status != 0:
            failed[name] = status
    if failed:
        print(f"Failed: {', '.join(failed)}.", file=sys.stderr)
    return next(iter(failed.values()), 0)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)
