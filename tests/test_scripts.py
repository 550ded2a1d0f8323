"""The scripts that set the project up: what they decide, what they say, what the locks hold."""

import ast
import importlib
import importlib.util
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
SCRIPTS = ROOT / "scripts"
LOCKS = ("requirements.lock", "requirements-dev.lock")


def load(name: str) -> ModuleType:
    """Import a script under a name of its own: `test` is also a package of Python's."""
    if str(SCRIPTS) not in sys.path:
        sys.path.insert(0, str(SCRIPTS))
    if name not in {"run", "test", "lock"}:
        return importlib.import_module(name)
    spec = importlib.util.spec_from_file_location(f"scripts_{name}", SCRIPTS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


bootstrap, locks, python_version = load("bootstrap"), load("locks"), load("python_version")
run, test_script, lock_script = load("run"), load("test"), load("lock")


def pins_of(name: str) -> tuple:
    return locks.parse_lock((ROOT / name).read_text(encoding="utf-8"))


# --- Python's version ---


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 14, 2), (4, 0, 0)])
def test_python_3_11_and_newer_is_accepted(version: tuple[int, int, int]) -> None:
    assert python_version.refusal(version) == ""


@pytest.mark.parametrize(("version", "name"), [((3, 10, 13), "3.10.13"), ((2, 7, 18), "2.7.18")])
def test_an_older_python_is_told_its_version_and_the_one_needed(
    version: tuple[int, int, int], name: str
) -> None:
    sentence = python_version.refusal(version)
    assert f"Python {name}" in sentence
    assert "Python 3.11 or newer" in sentence


@pytest.mark.parametrize("script", ["python_version.py", "run.py", "test.py", "lock.py"])
def test_an_old_python_can_read_the_script_that_refuses_it(script: str) -> None:
    source = (SCRIPTS / script).read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 6))
    if script != "python_version.py":
        # Nothing that an old Python might lack comes before the refusal.
        before = ast.parse(source[: source.index("python_version.require()")])
        imported = [
            name.name for part in before.body if isinstance(part, ast.Import) for name in part.names
        ]
        assert imported == ["sys", "python_version"]


# --- What .venv needs ---

NOW = {"requirements.lock": "r2", "requirements-dev.lock": "d2"}


@pytest.mark.parametrize(
    ("python", "installed", "wanted", "step"),
    [
        ("3.11.7", {"requirements.lock": "r2"}, "requirements.lock", "nothing"),
        ("3.11.7", {"requirements.lock": "r2"}, "requirements-dev.lock", "install"),
        ("3.11.7", NOW, "requirements.lock", "nothing"),
        ("3.11.7", NOW, "requirements-dev.lock", "nothing"),
        ("3.11.7", {"requirements.lock": "r1"}, "requirements.lock", "rebuild"),
        ("3.11.7", {"requirements.lock": "r1"}, "requirements-dev.lock", "rebuild"),
        ("3.11.6", NOW, "requirements.lock", "rebuild"),
        ("3.11.7", {}, "requirements.lock", "install"),
    ],
)
def test_packages_are_installed_once_and_anew_when_the_lock_or_python_changes(
    python: str, installed: dict[str, str], wanted: str, step: str
) -> None:
    state = bootstrap.Installed(python, installed)
    assert bootstrap.next_step(state, "3.11.7", wanted, NOW) == step


def test_an_environment_that_was_never_finished_is_made_anew() -> None:
    assert bootstrap.next_step(None, "3.11.7", "requirements.lock", NOW) == "rebuild"


def test_installing_the_test_lock_serves_a_later_first_use_too() -> None:
    after = bootstrap.after_install({}, "requirements-dev.lock", NOW)
    state = bootstrap.Installed("3.11.7", after)
    assert bootstrap.next_step(state, "3.11.7", "requirements.lock", NOW) == "nothing"


def test_installing_the_run_lock_does_not_claim_the_test_packages() -> None:
    after = bootstrap.after_install({}, "requirements.lock", NOW)
    assert after == {"requirements.lock": "r2"}


def test_a_lock_counts_as_the_same_whichever_line_ends_a_checkout_gave_it(tmp_path: Path) -> None:
    (tmp_path / "unix").write_bytes(b"a==1\nb==2\n")
    (tmp_path / "windows").write_bytes(b"a==1\r\nb==2\r\n")
    (tmp_path / "other").write_bytes(b"a==1\nb==3\n")
    unix, windows, other = (
        locks.lock_digest(tmp_path / name) for name in ("unix", "windows", "other")
    )
    assert unix == windows
    assert unix != other


# --- What pip said, in one sentence ---

OFFLINE = """\
WARNING: Retrying (Retry(total=0, connect=None, read=None, redirect=None, status=None)) after \
connection broken by 'NewConnectionError('<pip._vendor.urllib3.connection.HTTPSConnection object \
at 0x7f>: Failed to establish a new connection: [Errno -3] Temporary failure in name resolution')'
ERROR: Could not find a version that satisfies the requirement numpy==2.4.6 (from versions: none)
ERROR: No matching distribution found for numpy==2.4.6
"""
TAMPERED = """\
ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE. If you have updated the \
package versions, please update the hashes. Otherwise, examine the package contents carefully; \
someone may have tampered with them.
    et-xmlfile==2.0.0:
"""
NO_WHEEL = """\
ERROR: Could not find a version that satisfies the requirement formualizer==0.13.0 (from versions: \
none)
ERROR: No matching distribution found for formualizer==0.13.0
"""


@pytest.mark.parametrize(
    ("output", "told"),
    [
        (OFFLINE, "connect to the internet"),
        (TAMPERED, "not the one that the lock names"),
        (NO_WHEEL, "no ready-made package of formualizer==0.13.0"),
        ("ERROR: Could not install: [Errno 28] No space left on device\n", "disk is full"),
        ("ERROR: [Errno 13] Permission denied: 'numpy'\n", "close programs that use it"),
        ("ERROR: something unheard of\n", "(something unheard of)"),
        ("", "pip gave no reason"),
    ],
)
def test_a_failed_installation_is_told_in_one_line_with_a_cure(output: str, told: str) -> None:
    sentence = bootstrap.pip_failure(output)
    assert told in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")


# --- Where the demo goes ---


def test_a_free_name_is_taken_as_it_is(tmp_path: Path) -> None:
    assert run.free_name(tmp_path / "shed.xlsx") == tmp_path / "shed.xlsx"


def test_an_existing_workbook_is_kept_and_the_next_number_taken(tmp_path: Path) -> None:
    for name in ("shed.xlsx", "shed_2.xlsx", "shed_4.xlsx"):
        (tmp_path / name).touch()
    assert run.free_name(tmp_path / "shed.xlsx") == tmp_path / "shed_3.xlsx"


@pytest.mark.parametrize(
    ("name", "told"),
    [("shed.ods", "ends in .xlsx"), ("no_such_folder/shed.xlsx", "does not exist")],
)
def test_a_place_that_cannot_take_the_workbook_is_refused_before_any_installing(
    tmp_path: Path, name: str, told: str
) -> None:
    result = subprocess.run(
        [sys.executable, str(SCRIPTS / "run.py"), name],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 2
    assert told in result.stderr
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_refuses_files_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Stands in for a read-only folder, since an administrator may write everywhere.
    def refuse(**_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(run.tempfile, "TemporaryFile", refuse)
    with pytest.raises(bootstrap.SetupError, match="can't be written to") as caught:
        run.check_target(tmp_path / "shed.xlsx")
    assert str(tmp_path) in str(caught.value)


def test_a_folder_called_venv_that_is_no_environment_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / ".venv"
    own.mkdir()
    (own / "letters.txt").write_text("mine")
    monkeypatch.setattr(bootstrap, "VENV", own)
    monkeypatch.setattr(bootstrap, "STATE_FILE", own / "installed.json")
    with pytest.raises(bootstrap.SetupError, match="move it away"):
        bootstrap.ensure_environment("requirements.lock")
    assert (own / "letters.txt").read_text() == "mine"


# --- The test script ---


def test_pytest_runs_on_every_core_unless_told_otherwise() -> None:
    spread = ["-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder"]
    assert test_script.pytest_arguments(False, []) == ["-rs", *spread]
    assert test_script.pytest_arguments(False, ["-n", "2"]) == ["-rs", "-n", "2"]
    assert test_script.pytest_arguments(False, ["-n0"]) == ["-rs", "-n0"]


def test_the_quick_run_leaves_out_slow_tests_and_keeps_what_was_asked() -> None:
    words = test_script.pytest_arguments(True, ["tests/test_scripts.py"])
    assert words[-3:] == ["-m", "not slow", "tests/test_scripts.py"]


@pytest.mark.parametrize(
    ("value", "unattended"), [("true", True), ("1", True), ("false", False), ("", False)]
)
def test_an_unattended_run_is_told_by_the_variable_ci(value: str, unattended: bool) -> None:
    assert test_script.ci({"CI": value}) is unattended
    assert test_script.ci({}) is False


def test_files_that_call_libreoffice_are_found(tmp_path: Path) -> None:
    (tmp_path / "published").mkdir()
    (tmp_path / "published" / "test_book.py").write_text("run('soffice')")
    (tmp_path / "test_units.py").write_text("assert True")
    (tmp_path / "test_saved.py").write_text("@needs_office")
    needing = ["published/test_book.py", "test_saved.py"]
    assert test_script.files_that_need_libreoffice(tmp_path) == needing


def test_a_missing_libreoffice_is_an_error_when_unattended(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(test_script, "find_libreoffice", lambda: None)
    monkeypatch.setenv("CI", "true")
    assert test_script.main([]) == 2
    assert "LibreOffice Calc (soffice) is missing" in capsys.readouterr().err


@pytest.mark.skipif(os.name == "nt", reason="bash is for Debian, where the unattended run is")
def test_the_unattended_script_is_sound_bash_and_may_be_executed() -> None:
    path = ROOT / ".ci" / "run"
    subprocess.run(["bash", "-n", str(path)], check=True)
    assert os.access(path, os.X_OK)
    assert "python3 scripts/test.py" in path.read_text(encoding="utf-8")


# --- The locks ---


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_holds_versions_and_hashes_and_no_address_option_or_remark(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    for pin in pins_of(name):  # parse_lock refuses every line that is anything else
        assert pin.hashes
    for word in ("http", "://", "-url", "--find-links", "#", " @ ", "file:"):
        assert word not in text


def test_the_locks_cover_every_dependency_within_its_range() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    for name, wanted in (
        ("requirements.lock", project["dependencies"]),
        ("requirements-dev.lock", project["dependencies"] + extras["dev"]),
    ):
        held = {pin.name: pin.version for pin in pins_of(name)}
        for requirement in map(Requirement, wanted):
            version = held.get(locks.canonical(requirement.name))
            assert version is not None, f"{requirement} is not in {name}: run scripts/lock.py"
            assert requirement.specifier.contains(version), f"{requirement}: {name} has {version}"


def test_the_test_lock_holds_all_of_the_run_lock() -> None:
    assert set(pins_of("requirements.lock")) <= set(pins_of("requirements-dev.lock"))


@pytest.mark.parametrize(
    ("platform", "there", "elsewhere"),
    [
        ("win32", {"pywin32"}, {"appscript", "psutil"}),
        ("darwin", {"appscript", "psutil"}, {"pywin32"}),
        ("linux", {"numpy"}, {"pywin32", "appscript", "psutil"}),
    ],
)
def test_each_system_gets_the_packages_that_link_it_to_its_spreadsheet(
    platform: str, there: set[str], elsewhere: set[str]
) -> None:
    pins = pins_of("requirements.lock")
    names = {pin.name for pin in pins if pin.applies_on(platform)}
    assert there <= names
    assert not elsewhere & names
    assert locks.packages_on(pins, platform) == len(names)


HASH = f"--hash=sha256:{'0' * 64}"


@pytest.mark.parametrize(
    "line",
    [
        f"--index-url https://example.invalid/simple\nnumpy==2.4.6 {HASH}",
        f"numpy @ https://example.invalid/numpy.whl {HASH}",
        f"numpy>=2 {HASH}",
        "numpy==2.4.6",
        "numpy==2.4.6 --hash=md5:0123",
        f"# made by a tool\nnumpy==2.4.6 {HASH}",
    ],
)
def test_a_lock_with_an_address_a_range_a_remark_or_no_hash_is_refused(line: str) -> None:
    with pytest.raises(ValueError, match=r"not a pinned package|no sha256 hash"):
        locks.parse_lock(line)


def test_a_pin_is_read_with_its_marker_and_hashes() -> None:
    (pin,) = locks.parse_lock(
        f"Et_XmlFile==2.0.0 ; sys_platform == 'win32' \\\n    {HASH} \\\n    {HASH}\n"
    )
    assert (pin.name, pin.version, len(pin.hashes)) == ("et-xmlfile", "2.0.0", 2)
    assert pin.applies_on("win32")
    assert not pin.applies_on("linux")


@pytest.mark.parametrize("name", LOCKS)
def test_the_resolver_is_asked_for_hashes_on_all_systems_and_no_remarks(name: str) -> None:
    command = lock_script.compile_command(Path("uv"), name, upgrade=False)
    for word in ("--universal", "--generate-hashes", "--no-header", "--no-annotate"):
        assert word in command
    assert "--upgrade" not in command
    assert "--upgrade" in lock_script.compile_command(Path("uv"), name, upgrade=True)
