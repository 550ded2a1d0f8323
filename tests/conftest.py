"""Puts the helpers of this folder in reach of the folders below it; fixtures of the whole suite."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def fresh_template(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The template built from the model as it is now, in use in place of the committed file."""
    from estimator.job import default_cells
    from estimator.model import build_model
    from estimator.workbook import file
    from estimator.workbook.template import template_bytes

    path = tmp_path_factory.mktemp("template") / file.TEMPLATE.name
    model = build_model()
    path.write_bytes(template_bytes(model, default_cells(model)))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(file, "TEMPLATE", path)
        yield path


@pytest.fixture(scope="session")
def demo_book(fresh_template: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The demo workbook as the command makes it."""
    from estimator.job import DEMO_JOB, load_job
    from estimator.model import build_model
    from estimator.workbook.file import create_workbook

    assert fresh_template.exists()
    path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
    create_workbook(path, build_model(), load_job(DEMO_JOB))
    return path.read_bytes()
