"""The workbook that the project ships is what its own script builds."""

from __future__ import annotations

import importlib.util
import io
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
COMMITTED = ROOT / "workbook_templates" / "outbuilding_base.xlsx"
METRIC = ROOT / "workbook_templates" / "outbuilding_base_metric.xlsx"


def built(*, metres: bool = False) -> bytes:
    """What the script that builds the templates would write."""
    spec = importlib.util.spec_from_file_location(
        "build_templates", ROOT / "scripts" / "build_templates.py"
    )
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    data: bytes = script.build(metres=metres)
    return data


def parts(data: bytes) -> dict[str, bytes]:
    """Every part of a file, unpacked: how small it is packed is up to the machine's zlib."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.mark.parametrize("path", [COMMITTED, METRIC], ids=["feet", "metres"])
def test_the_template_in_the_repository_is_what_the_script_builds(path: Path) -> None:
    committed, fresh = parts(path.read_bytes()), parts(built(metres=path == METRIC))
    cure = "Run python scripts/build_templates.py and commit the workbook."
    assert list(committed) == list(fresh), cure
    assert [name for name in fresh if committed[name] != fresh[name]] == [], cure
