"""Errors for people: each message says what is wrong, where, and what to do.

All derive from :class:`EstimatorError`, so that a caller (the command, the live link) can show
the sentence and stop without a traceback.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final, Self

_MARK: Final = re.compile(r"\{(?:([^{}|]*)\|[^{}|]*|(-?[0-9][^{}|]* [a-z][a-z0-9/ ]*))\}")
"""An amount marked for every measure (``estimator/amounts.py``)."""
_NO_LETTERS: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]+")
"""Ends of lines and other signs that steer a screen, which may stand in what a sentence quotes."""
MOST_QUOTED: Final = 60
"""Letters of an entry that a sentence quotes: enough to find it by."""


def on_command_line(name: str) -> str:
    """A file's name as it is typed after a command: in quotes where a shell would take it apart."""
    return name if re.fullmatch(r"[\w.,+/:\\-]+", name) and name[0] != "-" else f'"{name}"'


def in_quotes(entry: object) -> str:
    """What somebody typed, as a sentence quotes it: the beginning of what is long to read."""
    text = str(entry)
    return f'"{text}"' if len(text) <= MOST_QUOTED else f'"{text[:MOST_QUOTED].rstrip()}..."'


def in_a_row(names: Sequence[str]) -> str:
    """Names as a sentence tells them: A, B and C."""
    return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


class EstimatorError(Exception):
    """Base of every error that the project raises on purpose: one line, whatever it quotes.

    Args:
        what: One clear sentence: what is wrong. Its amounts may be marked for every measure; as a
            text the error reads in feet, and a model's solvers read it in the measure of the model.
        where: Sheet and cell, file and line, or the row's key; empty if it has no place.
        cure: What to do about it; empty if ``what`` says it already.
    """

    def __init__(self, what: str, *, where: str = "", cure: str = "") -> None:
        what, where, cure = (_NO_LETTERS.sub(" ", part) for part in (what, where, cure))
        self.what = what
        self.where = where
        self.cure = cure
        ends = "." if cure and what and what[-1] not in ".!?:;" else ""
        text = ": ".join(p for p in (where, what) if p) + (f"{ends} {cure}" if cure else "")
        super().__init__(_MARK.sub(lambda mark: mark[1] or mark[2] or "", text))

    def said(self, what: str, cure: str) -> Self:
        """The same error in other words."""
        return type(self)(what, where=self.where, cure=cure)


class InputError(EstimatorError):
    """A value that a person typed can't be used."""


class SurveyError(InputError):
    """The ground readings don't define a surface.

    Args:
        what: As of every error.
        where: As of every error.
        cure: As of every error.
        cells: By a reading as these texts tell it ("Survey point P7 (line 7)"), the key and the
            place from 0 of the input that it was typed into.
    """

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        cure: str = "",
        cells: Mapping[str, tuple[str, int]] | None = None,
    ) -> None:
        self.cells = dict(cells or {})
        super().__init__(what, where=where, cure=cure)

    def said(self, what: str, cure: str) -> Self:
        """The same error in other words."""
        return type(self)(what, where=self.where, cure=cure, cells=self.cells)

    def placed(self, places: Mapping[tuple[str, int], str]) -> Self:
        """The same error, each reading told by where it was typed, not by the line of its table.

        ``places`` holds the sheet and cell, or the file and line, of each of ``cells``.
        """
        what, where = self.what, self.where
        cells = {}
        for told, cell in self.cells.items():
            at = f"{told.rpartition(' (')[0]} ({places[cell]})"
            what, where = what.replace(told, at), where.replace(told, at)
            cells[at] = cell
        return type(self)(what, where=where, cure=self.cure, cells=cells)


class FileError(EstimatorError):
    """A file can't be read, is not one of ours, or can't be written."""


class RowError(EstimatorError):
    """A row of the model is wrongly defined (for contributors)."""


class SolveError(EstimatorError):
    """A solver can't give an answer for these inputs (piece too long, block full, ...)."""


class OptionError(SolveError):
    """A solver can't give an answer for one option; the others may have theirs.

    Args:
        what: As of every error; it names the option.
        option: Its column, from 0.
        where: As of every error.
        cure: As of every error.
    """

    def __init__(self, what: str, *, option: int, where: str = "", cure: str = "") -> None:
        self.option = option
        super().__init__(what, where=where, cure=cure)

    @classmethod
    def of(cls, error: EstimatorError, option: int) -> Self:
        """What is wrong with a part of an option, as what is wrong with the option."""
        return cls(error.what, option=option, where=error.where, cure=error.cure)

    def said(self, what: str, cure: str) -> Self:
        """The same error in other words."""
        return type(self)(what, option=self.option, where=self.where, cure=cure)
