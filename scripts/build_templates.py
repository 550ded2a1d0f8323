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
from estimator.metric import metric  # noqa: E402
from estimator.model import build_model  # noqa: E402
from estimator.workbook.template.build import template_bytes  # noqa: E402
from estimator.workbook.template.charts import decorate  # noqa: E402
from estimator.workbook.template.shipped import METRIC_TEMPLATE, TEMPLATE  # noqa: E402


def build(*, metres: bool = False) -> bytes:
    """The template's bytes, in feet or in metres: the same for the same model."""
    model = metric(build_model()) if metres else build_model()
    return template_bytes(model, default_cells(model), decorate)


if __name__ == "__main__":
    for path in (TEMPLATE, METRIC_TEMPLATE):
        path.write_bytes(build(metres=path == METRIC_TEMPLATE))
        print(f"wrote {path.relative_to(ROOT)}, {path.stat().st_size:,} bytes")
