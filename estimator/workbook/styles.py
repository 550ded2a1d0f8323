"""Named cell styles of the workbook: one quiet palette, one accent, text that can be read.

A :class:`Style` is plain data, so that contrast can be checked without opening a workbook.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle

INK = "1F2A30"
QUIET = "55606A"
ACCENT = "1B5E6B"
WHITE = "FFFFFF"
LINE = "C9D1D4"
TYPED = "FFF8E3"
TYPED_INK = "1A3F8B"
SOLVED = "E9F1F2"
BAND = "EEF2F3"
GOOD = "23623A"
BAD = "96201C"
BAD_FILL = "FBE9E6"
STALE = "75480A"
STALE_FILL = "FFF0D2"

FONT = "Calibri"

Edge = Literal["none", "bottom", "accent", "top", "all"]


@dataclass(frozen=True, slots=True)
class Style:
    """One named style; colours as RRGGBB, ``fill`` empty for none."""

    name: str
    ink: str = INK
    fill: str = ""
    size: float = 10
    bold: bool = False
    italic: bool = False
    edge: Edge = "none"
    across: Literal["general", "left", "center", "right"] = "general"
    wrap: bool = False
    shrink: bool = False
    indent: bool = False
    fmt: str = "General"


STYLES: tuple[Style, ...] = (
    Style("Sheet title", ink=ACCENT, size=16, bold=True),
    Style("Sheet purpose", ink=QUIET, italic=True),
    Style("Overall flag", size=11, bold=True),
    Style("Column heading", ink=WHITE, fill=ACCENT, bold=True, across="center", wrap=True),
    Style(
        "Column heading left",
        ink=WHITE,
        fill=ACCENT,
        bold=True,
        across="left",
        wrap=True,
        indent=True,
    ),
    Style("Heading unit", ink=QUIET, fill=BAND, italic=True, across="center", wrap=True),
    Style("Heading option", fill=BAND, bold=True, across="center", wrap=True),
    Style("Section heading", ink=ACCENT, size=11, bold=True, edge="accent"),
    Style("Block title", ink=ACCENT, size=11, bold=True),
    Style("Section hint", ink=QUIET, size=10, italic=True, edge="accent", across="center"),
    Style("Row label", across="left", wrap=True, edge="bottom"),
    Style("Row unit", ink=QUIET, across="center", edge="bottom"),
    Style("Row note", ink=QUIET, wrap=True, across="left", edge="bottom", indent=True),
    Style("Row limit", ink=QUIET, across="right", edge="bottom"),
    Style("Typed number", ink=TYPED_INK, fill=TYPED, edge="all", across="right"),
    Style("Typed length", ink=TYPED_INK, fill=TYPED, edge="all", across="right", fmt="@"),
    Style(
        "Typed text",
        ink=TYPED_INK,
        fill=TYPED,
        edge="all",
        across="left",
        shrink=True,
        fmt="@",
        indent=True,
    ),
    Style(
        "Typed words",
        ink=TYPED_INK,
        fill=TYPED,
        edge="all",
        across="left",
        wrap=True,
        fmt="@",
        indent=True,
    ),
    Style(
        "Typed choice",
        ink=TYPED_INK,
        fill=TYPED,
        edge="all",
        across="left",
        shrink=True,
        fmt="@",
        indent=True,
    ),
    Style("Typed date", ink=TYPED_INK, fill=TYPED, edge="all", across="right", fmt="yyyy-mm-dd"),
    Style("Read as", ink=QUIET, edge="bottom", across="right"),
    Style("Read as text", ink=QUIET, edge="bottom", across="left", shrink=True, indent=True),
    Style("Read as words", ink=QUIET, edge="bottom", across="left", wrap=True, indent=True),
    Style("Computed number", edge="bottom", across="right"),
    Style("Computed line", edge="bottom", across="left", indent=True),
    Style("Computed fit", edge="bottom", across="left", shrink=True, indent=True),
    Style("Computed text", edge="bottom", across="left", wrap=True, indent=True),
    Style("Solved number", fill=SOLVED, edge="bottom", across="right"),
    Style("Solved line", fill=SOLVED, edge="bottom", across="left", indent=True),
    Style("Solved fit", fill=SOLVED, edge="bottom", across="left", shrink=True, indent=True),
    Style("Solved text", fill=SOLVED, edge="bottom", across="left", wrap=True, indent=True),
    Style("Total number", bold=True, edge="top", across="right"),
    Style("Check text", ink=GOOD, edge="bottom", across="left", wrap=True, indent=True),
    Style("Check fit", ink=GOOD, edge="bottom", across="left", shrink=True, indent=True),
    Style("State text", ink=STALE, edge="bottom", across="left", shrink=True, indent=True),
    Style("Table state", ink=STALE, bold=True),
    Style("Working text", ink=QUIET, size=10, across="left"),
    Style("Plain note", across="left"),
)
BY_NAME = {style.name: style for style in STYLES}


@dataclass(frozen=True, slots=True)
class Mark:
    """A conditional look; ``on`` are the fills that it may lie on, if it has none itself."""

    name: str
    ink: str
    fill: str = ""
    bold: bool = False
    italic: bool = False


MARKS: tuple[Mark, ...] = (
    Mark("good", GOOD, "", bold=True),
    Mark("bad", BAD, BAD_FILL, bold=True),
    Mark("stale", STALE, STALE_FILL, italic=True),
    Mark("unused", QUIET, BAND),
)


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (Web Content Accessibility Guidelines 2.1)."""
    light, dark = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = (int(colour[i : i + 2], 16) / 255 for i in (0, 2, 4))
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def named_style(style: Style) -> NamedStyle:
    """The style as the file format knows it."""
    made = NamedStyle(name=style.name)
    made.font = Font(
        name=FONT, size=style.size, bold=style.bold, italic=style.italic, color=f"FF{style.ink}"
    )
    if style.fill:
        made.fill = PatternFill("solid", fgColor=f"FF{style.fill}")
    made.border = _border(style.edge)
    made.alignment = Alignment(
        horizontal=style.across,
        vertical="top",
        wrap_text=style.wrap,
        shrink_to_fit=style.shrink,
        indent=1 if style.indent else 0,
    )
    made.number_format = style.fmt
    return made


def differential(mark: Mark) -> DifferentialStyle:
    """The look of a conditional format."""
    fill = PatternFill(bgColor=f"FF{mark.fill}", fill_type="solid") if mark.fill else None
    font = Font(color=f"FF{mark.ink}", bold=mark.bold or None, italic=mark.italic or None)
    return DifferentialStyle(font=font, fill=fill)


def _border(edge: Edge) -> Border:
    thin = Side(style="thin", color=f"FF{LINE}")
    if edge == "bottom":
        return Border(bottom=Side(style="hair", color=f"FF{LINE}"))
    if edge == "accent":
        return Border(bottom=Side(style="thin", color=f"FF{ACCENT}"))
    if edge == "top":
        return Border(top=Side(style="thin", color=f"FF{INK}"))
    if edge == "all":
        return Border(left=thin, right=thin, top=thin, bottom=thin)
    return Border()
