"""Makes the project's own environment, `.venv`, and installs the locked packages into it.

Shared by run.py and test.py. Standard library only: it runs before anything is installed. The
project itself is not built: a .pth file puts the repository on the environment's path, so no
build tool is needed, and an edit to the source takes effect at once.
"""

import json
import os
import platform
import re
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from locks import RUN_LOCK, TEST_LOCK, lock_digest, packages_on, parse_lock

ROOT = Path(__file__).resolve().parents[1]
VENV = ROOT / ".venv"
STATE_FILE = VENV / "installed.json"
SECONDS_BETWEEN_SIGNS_OF_LIFE = 20

Step = Literal["nothing", "install", "rebuild"]


class SetupError(Exception):
    """Setting up failed; the text is one sentence for the user, with the cure."""


@dataclass(frozen=True, slots=True)
class Installed:
    """What an environment was made from: Python's version, and each lock's digest by name."""

    python: str
    locks: Mapping[str, str]


def next_step(installed: Installed | None, python: str, lock: str, now: Mapping[str, str]) -> Step:
    """Decide what `.venv` needs before it holds `lock`.

    `now` gives today's digest of every lock by name. Packages are only ever added to an
    environment whose Python and locks are today's; any other is made anew, so that nothing of
    an older lock stays behind.
    """
    if installed is None or installed.python != python:
        return "rebuild"
    if any(now.get(name) != digest for name, digest in installed.locks.items()):
        return "rebuild"
    return "nothing" if lock in installed.locks else "install"


def after_install(
    before: Mapping[str, str], lock: str, now: Mapping[str, str]
) -> Mapping[str, str]:
    """Give the digests of the locks that an environment holds once `lock` is installed in it.

    The test lock holds all of the run lock.
    """
    added = (RUN_LOCK, TEST_LOCK) if lock == TEST_LOCK else (lock,)
    return {**before, **{name: now[name] for name in added}}


_PIP_FAILURES = (
    (
        r"DO NOT MATCH THE HASHES",
        "A downloaded package is not the one that the lock names, so nothing was installed: "
        "try again on another network, and report it if it stays so.",
    ),
    (r"No space left", "The disk is full: free about 500 MB and run this again."),
    (
        r"CERTIFICATE_VERIFY_FAILED|SSLError|SSL:",
        "The package index's certificate was not accepted: check this machine's clock, and on "
        "a company network ask for its certificate (pip reads it from PIP_CERT).",
    ),
    (
        r"ProxyError|NewConnectionError|NameResolutionError|ConnectTimeout|ConnectionError"
        r"|Connection refused|Connection broken|Connection reset|Read timed out"
        r"|name resolution|getaddrinfo",
        "The package index could not be reached: connect to the internet and run this again.",
    ),
    (
        r"Permission denied|Errno 13|WinError 5\b",
        f"A file in {VENV} could not be written: close programs that use it, or delete that "
        "folder, and run this again.",
    ),
)


def pip_failure(output: str) -> str:
    """Give one sentence, with a cure, for what pip printed when it failed."""
    for pattern, sentence in _PIP_FAILURES:
        if re.search(pattern, output):
            return sentence
    missing = re.search(r"No matching distribution found for (\S+)", output)
    if missing:
        return (
            f"There is no ready-made package of {missing[1]} for Python "
            f"{platform.python_version()} on {platform.system()} {platform.machine()}: use a "
            "64-bit Python 3.11 to 3.14 on Linux or macOS, or on Windows its x64 build."
        )
    errors = [line.strip() for line in output.splitlines() if line.startswith("ERROR")]
    last = errors[-1].removeprefix("ERROR:").strip() if errors else "pip gave no reason"
    return f"The packages could not be installed ({last}): delete {VENV} and run this again."


def say(line: str) -> None:
    """Print one line at once, so that it keeps its place among what other programs print."""
    print(line, flush=True)


def venv_folder(root: Path = VENV) -> Path:
    """Give the folder of an environment that holds its programs."""
    return root / ("Scripts" if os.name == "nt" else "bin")


def venv_python(root: Path = VENV) -> Path:
    """Give the Python of an environment."""
    return venv_folder(root) / ("python.exe" if os.name == "nt" else "python")


def read_state() -> Installed | None:
    """Give what `.venv` was made from, or None where it is missing, broken or unfinished."""
    try:
        state = json.loads(STATE_FILE.read_text(encoding="utf-8"))
        installed = Installed(str(state["python"]), dict(state["locks"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return installed if venv_python().exists() else None


def ensure_environment(lock: str) -> Path:
    """Make `.venv` hold every package of `lock`, and give its Python.

    Does nothing where it already does. Raises SetupError with a sentence for the user.
    """
    try:
        now = {name: lock_digest(ROOT / name) for name in (RUN_LOCK, TEST_LOCK)}
        pins = parse_lock((ROOT / lock).read_text(encoding="utf-8"))
    except FileNotFoundError as missing:
        raise SetupError(
            f"{missing.filename} is missing: get a complete copy of the project."
        ) from None
    except ValueError as fault:
        raise SetupError(f"{ROOT / lock} is damaged ({fault}): get a fresh copy of it.") from None
    installed = read_state()
    version = platform.python_version()
    step = next_step(installed, version, lock, now)
    if step == "nothing":
        return venv_python()
    kept: Mapping[str, str] = installed.locks if installed and step == "install" else {}
    try:
        STATE_FILE.unlink(missing_ok=True)
        # A Python that runs from .venv itself can't be cleared away under its own feet.
        if step == "rebuild" and Path(sys.prefix).resolve() != VENV.resolve():
            _make_venv()
        _install(lock, packages_on(pins, sys.platform))
        _put_project_on_path()
        state = {"python": version, "locks": after_install(kept, lock, now)}
        STATE_FILE.write_text(json.dumps(state, indent=1), encoding="utf-8")
    except OSError as fault:
        raise SetupError(
            f"{fault.filename or VENV} could not be written ({fault.strerror}): put the project in "
            "a folder of your own, close programs that use its .venv, and run this again."
        ) from None
    return venv_python()


def _make_venv() -> None:
    if VENV.exists() and not (VENV / "pyvenv.cfg").exists() and any(VENV.iterdir()):
        raise SetupError(f"{VENV} is not a Python environment: move it away and run this again.")
    try:
        import ensurepip  # noqa: F401
        import venv
    except ImportError:
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        raise SetupError(
            "This Python lacks its venv part: on Debian or Ubuntu install it with "
            f"'sudo apt install python{version}-venv', elsewhere install Python from its "
            "official installer, and run this again."
        ) from None
    say("Making the environment .venv (a few seconds) ...")
    VENV.mkdir(exist_ok=True)
    builder = venv.EnvBuilder(clear=True, with_pip=True, symlinks=os.name != "nt")
    try:
        builder.create(VENV)
    except subprocess.CalledProcessError as fault:
        raise SetupError(
            f"Python could not put pip into {VENV} (exit code {fault.returncode}): delete that "
            "folder, and if it stays so install Python anew."
        ) from None


def _install(lock: str, packages: int) -> None:
    say(f"Installing {packages} packages (about a minute) ...")
    started = time.monotonic()
    command = [str(venv_python()), "-m", "pip", "install", "--quiet", "--no-input"]
    command += ["--disable-pip-version-check", "--progress-bar=off", "--require-hashes"]
    command += ["--only-binary=:all:", "-r", str(ROOT / lock)]
    # A person's own pip settings may send packages elsewhere; mirrors and proxies are left alone.
    env = {**os.environ, "PIP_USER": "0", "PYTHONNOUSERSITE": "1"}
    env = {key: value for key, value in env.items() if key not in {"PIP_TARGET", "PYTHONHOME"}}
    with subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        env=env,
    ) as pip:
        while True:
            try:
                output, _ = pip.communicate(timeout=SECONDS_BETWEEN_SIGNS_OF_LIFE)
                break
            except subprocess.TimeoutExpired:
                say(f"  still installing, {time.monotonic() - started:.0f} s so far ...")
            except KeyboardInterrupt:
                pip.terminate()
                raise
    if pip.returncode != 0:
        raise SetupError(pip_failure(output))
    say(f"Installed in {time.monotonic() - started:.0f} s.")


def _put_project_on_path() -> None:
    query = "import sysconfig; print(sysconfig.get_path('purelib'))"
    answer = subprocess.run(
        [str(venv_python()), "-c", query], capture_output=True, text=True, check=True
    )
    packages = Path(answer.stdout.strip())
    # Relative, so that it is plain ASCII whatever the folder is called, and survives a move.
    (packages / "estimator.pth").write_text(f"{os.path.relpath(ROOT, packages)}\n", "ascii")
    launcher = venv_folder() / "estimator"
    if os.name == "nt":
        launcher.with_suffix(".cmd").write_text(
            '@"%~dp0python.exe" -m estimator %*\n', encoding="ascii"
        )
    else:
        launcher.write_text(
            '#!/bin/sh\nexec "$(dirname "$0")/python" -m estimator "$@"\n', encoding="ascii"
        )
        launcher.chmod(0o755)
