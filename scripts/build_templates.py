"""Builds the workbook templates that the project ships, from the model alone, and describes them.

Run it after any change to a row, a table or the look of a sheet, and commit the descriptions (the
.txt files); a test compares them with what this builds. The templates themselves are not committed:
whoever has a checkout builds them at first use, and a wheel has them inside.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from describe_template import describe  # noqa: E402

from estimator.workbook.template.shipped import (  # noqa: E402
    DESCRIBED,
    METRIC_TEMPLATE,
    TEMPLATE,
    built,
    shipped,
    write_template,
)

if __name__ == "__main__":
    for path in (TEMPLATE, METRIC_TEMPLATE):
        data = built(metric=path == METRIC_TEMPLATE)
        text = describe(data)
        path.with_suffix(DESCRIBED).write_text(text, encoding="utf-8", newline="\n")
        write_template(path, data, text.partition("\n")[0].encode())
        shipped(path)  # which puts the list of its formulas beside it
        print(f"wrote {path.relative_to(ROOT)}, {len(data):,} bytes, and its description")
