"""Makes requirements.lock and requirements-dev.lock anew from pyproject.toml.

    python scripts/lock.py               keeps the locked versions where the ranges still allow them
    python scripts/lock.py --upgrade     takes the newest versions that the ranges allow

How: `uv pip compile --universal`, from a throw-away environment, resolves once for all systems
and for Python 3.11 upwards. Where a package is wanted on one system only (pywin32 on Windows,
appscript and psutil on macOS) it keeps its marker; each version carries the sha256 of every file
that the index holds for it, so one lock serves Linux, macOS and Windows. One version of each
package for all of them, so that a job gives the same numbers everywhere. The test lock is
resolved under the run lock's versions and holds all of it. No address, option or comment is
written. Then every system and Python in the matrix below is asked whether it finds a ready-made
package for each pin: run.py builds nothing from source.
"""

import sys

import python_version

python_version.require()

import argparse  # noqa: E402
import os  # noqa: E402
import subprocess  # noqa: E402
import tempfile  # noqa: E402
import venv  # noqa: E402
from collections.abc import Sequence  # noqa: E402
from pathlib import Path  # noqa: E402

from bootstrap import ROOT, say, venv_folder, venv_python  # noqa: E402
from locks import RUN_LOCK, TEST_LOCK, parse_lock  # noqa: E402

PYTHONS = ("3.11", "3.12", "3.13", "3.14")
SYSTEMS = (
    "x86_64-unknown-linux-gnu",
    "aarch64-unknown-linux-gnu",
    "x86_64-pc-windows-msvc",
    "aarch64-apple-darwin",
    "x86_64-apple-darwin",
)


def compile_command(uv: Path, lock: str, upgrade: bool) -> list[str]:
    """Give the command that resolves `lock`, to be run in the repository."""
    command = [str(uv), "pip", "compile", "pyproject.toml", "--quiet", "--no-config"]
    command += ["--universal", "--fork-strategy", "fewest", "--python-version", PYTHONS[0]]
    command += ["--generate-hashes", "--no-header", "--no-annotate", "-o", lock]
    command += ["--extra", "dev", "-c", RUN_LOCK] if lock == TEST_LOCK else []
    return [*command, "--upgrade"] if upgrade else command


def check_command(uv: Path, lock: str, system: str, python: str, scratch: str) -> list[str]:
    """Give the command that fails unless every pin has a ready-made package there."""
    command = [str(uv), "pip", "install", "--quiet", "--no-config", "--dry-run"]
    command += ["--target", scratch, "--python", sys.executable, "--python-platform", system]
    command += ["--python-version", python, "--only-binary", ":all:", "--require-hashes"]
    return [*command, "-r", lock]


def main(arguments: Sequence[str]) -> int:
    """Write both locks and check them; give the exit code."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--upgrade", action="store_true", help="take the newest allowed versions")
    upgrade = parser.parse_args(arguments).upgrade
    with tempfile.TemporaryDirectory() as scratch:
        say("Fetching the resolver (a few seconds) ...")
        tools = Path(scratch, "tools")
        venv.create(tools, with_pip=True)
        subprocess.run([venv_python(tools), "-m", "pip", "install", "-q", "uv"], check=True)
        uv = venv_folder(tools) / ("uv.exe" if os.name == "nt" else "uv")
        for lock in (RUN_LOCK, TEST_LOCK):
            say(f"Resolving {lock} ...")
            subprocess.run(compile_command(uv, lock, upgrade), cwd=ROOT, check=True)
            pins = parse_lock((ROOT / lock).read_text(encoding="utf-8"))
            say(f"  {len(pins)} pins; checking {len(SYSTEMS)} systems, Python {PYTHONS} ...")
            for system in SYSTEMS:
                for python in PYTHONS:
                    subprocess.run(
                        check_command(uv, lock, system, python, str(Path(scratch, "target"))),
                        cwd=ROOT,
                        check=True,
                    )
    say("Both locks are written and every system finds its packages.")
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except (subprocess.CalledProcessError, ValueError) as fault:
        print(f"The locks are not to be trusted: {fault}", file=sys.stderr)
        sys.exit(2)
