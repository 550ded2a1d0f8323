"""An older version of the program, made by editing a copy of it, and workbooks that it makes."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

RENAMED = {"people_working": "crew_size"}
"""By key in the older version, the key now."""
_EDITS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "estimator/workbook/template/names.py": (
        (r'TEMPLATE_VERSION = "\d+"', 'TEMPLATE_VERSION = "1"'),
    ),
    "estimator/model/aggregate.py": (
        # One row fewer, and another formula that gives the same number but for its roundings.
        (r"@AGGREGATE\.row\(\s*\"Weight\".*?\n\n\n", ""),
        (
            r"return np\.ceil\(stone_loose_yd3 / stone_pack_yd3\) \* stone_pack_yd3",
            "return np.ceil(stone_loose_yd3 * 2 / stone_pack_yd3) * stone_pack_yd3",
        ),
    ),
    "estimator/model/job.py": (
        # One input fewer in the middle of a sheet, so that what stands below it moved up.
        (r"    Field\(\s*\"job_place\".*?\),\n", ""),
    ),
    "estimator/model/buy_list.py": ((r"BUY_LIST\.mirror\(\"buy_place\".*?\)\n", ""),),
    "estimator/model/quote.py": ((r"QUOTE\.mirror\(\"quote_where\".*?\)\n", ""),),
}


_BUILD = """
from estimator.workbook.template.shipped import TEMPLATE, built
TEMPLATE.write_bytes(built(metric=False))
"""


def older_program(folder: Path) -> Path:
    """A copy of the program with a row and an input fewer, another formula and another key."""
    for part in ("estimator", "shared"):
        shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "workbook_templates").mkdir()
    for path in sorted([*folder.rglob("*.py"), *folder.rglob("*.toml"), *folder.rglob("*.csv")]):
        text = path.read_text(encoding="utf-8")
        changed = text
        for old, new in RENAMED.items():
            changed = re.sub(rf"\b(in_)?{new}\b", rf"\g<1>{old}", changed)
        for pattern, replacement in _EDITS.get(path.relative_to(folder).as_posix(), ()):
            edited = re.sub(pattern, replacement, changed, count=1, flags=re.DOTALL)
            assert edited != changed, (path, pattern)
            changed = edited
        if path.suffix == ".toml":
            changed = re.sub(r"(?m)^job_place.*\n", "", changed)
        if changed != text:
            path.write_text(changed, encoding="utf-8")
    run(folder, "-c", _BUILD)
    return folder


def run(folder: Path, *arguments: str) -> str:
    """Run the older program; what it prints."""
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout
