"""Builds the workbook templates that the project ships, from the model alone.

Run it after any change to a row, a table or the look of a sheet, and commit the result; a test
compares the file with what this builds.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from estimator.job import default_cells  # noqa: E402
from estimator.model import build_model  # noqa: E402
from estimator.workbook.charts import decorate  # noqa: E402
from estimator.workbook.file import TEMPLATE  # noqa: E402
from estimator.workbook.template import template_bytes  # noqa: E402


def build() -> bytes:
    """The template's bytes: the same for the same model."""
    model = build_model()
    return template_bytes(model, default_cells(model), decorate)


if __name__ == "__main__":
    TEMPLATE.write_bytes(build())
    print(f"wrote {TEMPLATE.relative_to(ROOT)}, {TEMPLATE.stat().st_size:,} bytes")
