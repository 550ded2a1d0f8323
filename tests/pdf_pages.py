"""What stands on the pages of a PDF, as other programs read it."""

from __future__ import annotations

import re
import subprocess
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

_WORD = re.compile(r'<word xMin="([^"]*)" yMin="([^"]*)" xMax="([^"]*)" yMax="([^"]*)">')
_PAGE = re.compile(r'<page width="([^"]*)" height="([^"]*)">')
_TOP_PT, _FOOT_PT = 28.8, 50.4
"""Margins that sheets print with, of 0.4 and 0.7 in."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page.

    Args:
        wide_pt, high_pt: Its size.
        right_pt: Where its words end.
        fill: Share of its height between the margins down to the last word above the foot.
        least_gap: Least gap between two words of a line, in heights of the line.
    """

    wide_pt: float
    high_pt: float
    right_pt: float
    fill: float
    least_gap: float


def texts(path: Path, layout: str = "-layout") -> list[str]:
    """The text of every page; with ``-raw`` in the order in which it is drawn."""
    return _asked("pdftotext", layout, path, "-").split("\f")[:-1]


def pages(path: Path) -> list[Page]:
    """Size and fill of every page."""
    found = []
    for part in _asked("pdftotext", "-bbox", path, "-").split("</page>")[:-1]:
        sizes = _PAGE.search(part)
        assert sizes is not None
        wide, high = map(float, sizes.groups())
        words = [tuple(map(float, word)) for word in _WORD.findall(part)]
        body = [bottom for *_, bottom in words if bottom < high - _FOOT_PT]
        fill = (max(body, default=0.0) - _TOP_PT) / (high - _TOP_PT - _FOOT_PT)
        found.append(Page(wide, high, max(word[2] for word in words), fill, _least_gap(words)))
    return found


def _least_gap(words: list[tuple[float, ...]]) -> float:
    """Least gap between neighbours on one line, of words as (left, top, right, bottom)."""
    lines = sorted((round(top), left, right, bottom - top) for left, top, right, bottom in words)
    return min(
        ((there[1] - here[2]) / here[3] for here, there in pairwise(lines) if here[0] == there[0]),
        default=1.0,
    )


def sizes_pt(path: Path) -> set[float]:
    """Sizes of all letters, turned ones too: that of the font times that of its text matrix."""
    found = set()
    for drawn in _streams(path.read_bytes()):
        for shown in re.findall(rb"BT(.*?)ET", drawn, re.DOTALL):
            matrix = re.search(rb"([-\d.]+) ([-\d.]+) [-\d.]+ [-\d.]+ [-\d.]+ [-\d.]+ Tm", shown)
            scale = 1.0
            if matrix:
                scale = (float(matrix[1]) ** 2 + float(matrix[2]) ** 2) ** 0.5
            found |= {scale * float(size) for size in re.findall(rb"/F\d+ ([\d.]+) Tf", shown)}
    return found


def fonts(path: Path) -> set[str]:
    """Families of the fonts, without the letters of a subset."""
    lines = _asked("pdffonts", path).splitlines()[2:]
    return {line.split()[0].partition("+")[2].partition("-")[0] for line in lines}


def _streams(data: bytes) -> Iterator[bytes]:
    for start in re.finditer(rb"stream\r?\n", data):
        try:
            yield zlib.decompressobj().decompress(data[start.end() :])
        except zlib.error:  # a picture, or the word itself within something else
            continue


def _asked(*command: str | Path) -> str:
    return subprocess.run(command, check=True, capture_output=True).stdout.decode()
