"""The template that the project ships: where it is, and the formulas that it holds."""

from __future__ import annotations

import io
import logging
import os
import zipfile
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

from estimator.engine import Model
from estimator.errors import FileError
from estimator.resources import shipped_folder
from estimator.workbook.package.parts import read_file
from estimator.workbook.template.shipped_formulas import LISTED, Shipped

_LOG = logging.getLogger(__name__)

FOLDER = shipped_folder("workbook_templates")
TEMPLATE = FOLDER / "outbuilding_base.xlsx"
METRIC_TEMPLATE = FOLDER / "outbuilding_base_metric.xlsx"
DESCRIBED = ".txt"
"""Ending of the description that a checkout keeps of a template; its first line is a checksum."""


def template_of(model: Model) -> Path:
    """The shipped template of a model's system of measure, built first where it has to be.

    Raises:
        FileError: If it has to be built and can't be written.
    """
    metric = model.measure == "metric"
    return current(METRIC_TEMPLATE if metric else TEMPLATE, metric=metric)


def current(path: Path, *, metric: bool) -> Path:
    """A template that was built for the description beside it.

    A checkout holds the description alone: the first use of it, and the first after another
    description came in, builds the template, which takes seconds. An installed package holds
    the template and no description.

    Raises:
        FileError: If it has to be built and can't be written, or its description can't be read.
    """
    described = _described(path.with_suffix(DESCRIBED))
    if described is not None and not _bears(path, described):
        _LOG.info("Building the template, once")
        write_template(path, built(metric=metric), described)
    return path


def _described(text: Path) -> bytes | None:
    """The checksum that a description begins with; None where there is no description."""
    try:
        with text.open("rb") as file:
            return file.readline().strip()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileError(
            f"the description of the template can't be read ({error.strerror}).",
            where=str(text),
            cure="Put the project in a folder of your own, or install it: pip install .",
        ) from None


def _bears(path: Path, mark: bytes) -> bool:
    """Whether a file ends in a mark, as a package does that has it for its comment."""
    try:
        with path.open("rb") as file:
            file.seek(-len(mark), os.SEEK_END)
            return file.read() == mark
    except OSError:
        return False


def write_template(path: Path, data: bytes, mark: bytes) -> None:
    """Put a template into its place, whole or not at all, with a mark for its comment.

    Raises:
        FileError: If it can't be written.
    """
    marked = io.BytesIO(data)
    with zipfile.ZipFile(marked, "a") as archive:
        archive.comment = mark
    try:
        _put(path, marked.getvalue())
    except OSError as error:
        if _bears(path, mark):  # another run built it meanwhile, and has it open
            return
        raise FileError(
            f"the template can't be built here ({error.strerror}).",
            where=str(path),
            cure="Put the project in a folder of your own, or install it: pip install .",
        ) from None


def _put(path: Path, data: bytes) -> None:
    """Put a file into its place, whole or not at all.

    Raises:
        OSError: If it can't be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    except OSError:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise


def built(*, metric: bool) -> bytes:
    """A template as the model makes it; the same for the same model."""
    from estimator.metric import metric as in_metres
    from estimator.model import build_model
    from estimator.typed_job import default_cells
    from estimator.workbook.template.build import template_bytes
    from estimator.workbook.template.charts import decorate

    model = in_metres(build_model()) if metric else build_model()
    return template_bytes(model, default_cells(model), decorate)


def shipped(template: Path) -> Shipped:
    """What stands in a shipped template, as it stands in its file; kept until that changes."""
    stat = template.stat() if template.exists() else None
    return _shipped(template, (stat.st_mtime_ns, stat.st_size) if stat else None)


@lru_cache(maxsize=4)
def _shipped(template: Path, state: tuple[int, int] | None) -> Shipped:  # noqa: ARG001
    data, beside = read_file(template), template.with_suffix(LISTED)
    with suppress(OSError):
        found = Shipped.read(beside.read_bytes(), data)
        if found is not None:
            return found
    found = Shipped.of(data, template.name)
    with suppress(OSError):  # where nobody may write, the template is read each time
        _put(beside, found.listed(data))
    return found
