"""What the program is doing and how far it is, on one line of a terminal; nothing in a pipe."""

from __future__ import annotations

import logging
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

PROGRAM = "estimator"
"""Logger that all steps are told to, at the level INFO."""


class _OneLine(logging.Handler):
    """Shows every message in the place of the one before."""

    def __init__(self, stream: TextIO) -> None:
        super().__init__(logging.INFO)
        self._stream = stream

    def emit(self, record: logging.LogRecord) -> None:
        """Show a message."""
        self._show(f"{record.getMessage()} ...")

    def clear(self) -> None:
        """Leave the line blank."""
        self._show("")

    def _show(self, text: str) -> None:
        width = shutil.get_terminal_size().columns - 1
        ends = "" if text else "\r"
        self._stream.write(f"\r{text[:width]:{width}}{ends}")
        self._stream.flush()


@contextmanager
def working() -> Iterator[Callable[[], None]]:
    """While something is worked out: show its steps, if a person is looking.

    Yields:
        What leaves the line blank, for whoever prints meanwhile.
    """
    if not sys.stderr.isatty():
        yield lambda: None
        return
    logger = logging.getLogger(PROGRAM)
    level, shown = logger.level, _OneLine(sys.stderr)
    logger.addHandler(shown)
    logger.setLevel(logging.INFO)
    try:
        yield shown.clear
    finally:
        logger.removeHandler(shown)
        logger.setLevel(level)
        shown.clear()
