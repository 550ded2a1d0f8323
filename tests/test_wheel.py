"""The wheel carries all that the product needs, and works where nothing else of the project is."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import venv
import zipfile
from importlib.metadata import version
from pathlib import Path

import pytest

from estimator.workbook.template.shipped import METRIC_TEMPLATE, TEMPLATE, current
from estimator.workbook.template.shipped_formulas import LISTED

pytestmark = pytest.mark.slow
ROOT = Path(__file__).resolve().parent.parent
SOURCE = ("estimator", "shared", "scripts", "workbook_templates")
FILES = ("pyproject.toml", "setup.py", "MANIFEST.in", "README.md")
needs_setuptools = pytest.mark.skipif(
    int(version("setuptools").partition(".")[0]) < 77,
    reason="a wheel is built by setuptools 77 or newer, which scripts/test.py installs",
)


def run(*words: str | Path, folder: Path, expect: int = 0) -> str:
    """What a command prints, run in a folder with nothing of the checkout on the path."""
    plain = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "PIP_"))}
    done = subprocess.run(
        [str(word) for word in words],
        cwd=folder,
        env=plain | {"PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_INDEX": "1"},
        capture_output=True,
        text=True,
        timeout=540,
        check=False,
    )
    assert done.returncode == expect, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from a copy of what the repository holds."""
    folder = tmp_path_factory.mktemp("source")
    current(TEMPLATE, metric=False)
    current(METRIC_TEMPLATE, metric=True)
    for name in SOURCE:
        ignored = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / name, folder / name, ignore=ignored)
    for name in FILES:
        shutil.copy(ROOT / name, folder / name)
    pip = (sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation")
    run(*pip, "-w", "built", ".", folder=folder)
    (found,) = (folder / "built").glob("*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Programs of an empty environment with the wheel; libraries come from the one in use."""
    root = tmp_path_factory.mktemp("environment")
    venv.EnvBuilder(with_pip=False, symlinks=os.name != "nt").create(root)
    programs = root / ("Scripts" if os.name == "nt" else "bin")
    python = programs / ("python.exe" if os.name == "nt" else "python")
    query = "import sysconfig; print(sysconfig.get_path('purelib'))"
    packages = Path(run(python, "-c", query, folder=root).strip())
    libraries = [path for path in sys.path if path.endswith("site-packages")]
    (packages / "libraries.pth").write_text("\n".join(libraries), encoding="utf-8")
    pip = (sys.executable, "-m", "pip", "--python", python, "install", "--no-deps")
    run(*pip, wheel, folder=root)
    return programs


@needs_setuptools
def test_the_wheel_holds_the_data_and_the_templates(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if not name.endswith(".py")}
    for folder in ("shared", "workbook_templates"):
        there = [
            p for p in (ROOT / folder).rglob("*") if p.suffix in (".csv", ".toml", ".xlsx", LISTED)
        ]
        assert len(there) > 1
        assert {f"estimator/{path.relative_to(ROOT).as_posix()}" for path in there} <= held
    assert not [name for name in held if name.endswith(".txt") and "templates" in name]


@needs_setuptools
def test_the_installed_command_makes_refills_and_checks_a_workbook(
    installed: Path, tmp_path: Path
) -> None:
    command = installed / "estimator"
    made = run(command, "new", "demo.xlsx", "--demo", folder=tmp_path)
    again = run(command, "refill", "demo.xlsx", folder=tmp_path)
    (total,) = (line for line in made.splitlines() if line.startswith("Total"))
    assert re.fullmatch(r"Total(\s+\$\d,\d{3}\.\d\d){5}", total)
    assert total in again.splitlines()
    run(command, "check", "demo.xlsx", folder=tmp_path)
    run(command, "new", "plain.xlsx", "--metric", folder=tmp_path)
    assert "Survey" in run(command, "check", "plain.xlsx", folder=tmp_path)
    assert sorted(p.suffix for p in tmp_path.iterdir() if "." not in p.stem) == [".xlsx", ".xlsx"]


@needs_setuptools
def test_the_installed_package_is_the_one_imported_and_finds_its_data_inside(
    installed: Path, tmp_path: Path
) -> None:
    code = "import estimator, estimator.typed_job as j; print(estimator.__file__); print(j.SHARED)"
    shown = run(installed / "python", "-c", code, folder=tmp_path).splitlines()
    assert all("site-packages" in path and str(installed.parent) in path for path in shown)
