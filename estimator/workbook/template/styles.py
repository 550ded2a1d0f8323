"""Named cell styles of the workbook: one quiet palette, one accent, text that can be read.

A :class:`Style` is plain data, so that contrast can be checked without opening a workbook.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.styles.numbers import NumberFormat

INK = "1F2A30"
QUIET = "55606A"
ACCENT = "1B5E6B"
WHITE = "FFFFFF"
LINE = "C3CDD1"
TYPED = "FFF8E3"
TYPED_INK = "1A3F8B"
SOLVED = "E9F1F2"
BAND = "EEF2F3"
GOOD = "23623A"
GOOD_FILL = "E7F2EA"
BAD = "96201C"
BAD_FILL = "FBE9E6"
STALE = "75480A"
STALE_FILL = "FFF0D2"

FONT = "Arial"
"""Known to every office program, or replaced by one of the very same widths."""

TABS = {
    "answer": ACCENT,
    "input": "D9B44A",
    "computed": "AEBBC0",
    "take-along": "6FA3AD",
    "trust": "98A5AB",
}
"""Colours of the tabs by what a sheet is for; the names of the tabs say it too."""

Edge = Literal["none", "bottom", "accent", "top", "all", "unseen"]
Across = Literal["general", "left", "center", "right"]


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
    across: Across = "general"
    down: Literal["top", "center", "bottom"] = "center"
    wrap: bool = False
    shrink: bool = False
    indent: bool = False
    fmt: str = "General"
    underline: bool = False


def _typed(name: str, across: Across, **more: Any) -> Style:
    look = Style(name, ink=TYPED_INK, fill=TYPED, edge="all", across=across)
    return replace(look, indent=across == "left", **more)


def _values(who: str, fill: str, edge: Edge) -> tuple[Style, ...]:
    """Looks of numbers, which shrink before they would turn to crosses, and of texts: in a line
    that may run on, shrunk to fit, or wrapped."""
    plain = Style("", fill=fill, edge=edge, across="left", indent=True)
    return (
        Style(f"{who} number", fill=fill, edge=edge, across="right", shrink=True),
        replace(plain, name=f"{who} line"),
        replace(plain, name=f"{who} fit", shrink=True),
        replace(plain, name=f"{who} text", wrap=True, size=9.5),
    )


_HEADING = Style(
    "Column heading", ink=WHITE, fill=ACCENT, bold=True, across="right", wrap=True, size=9.5
)
_PLAIN: tuple[Style, ...] = (
    Style("Sheet title", ink=ACCENT, size=17, bold=True),
    Style("Sheet purpose", ink=QUIET),
    Style("Overall flag", size=11, bold=True, across="left", indent=True),
    Style("Overall flag on Start", size=15, bold=True, across="left", indent=True),
    Style(
        "Answer number",
        size=13,
        bold=True,
        across="left",
        shrink=True,
        indent=True,
        edge="bottom",
    ),
    Style("Answer line", size=12, bold=True, across="left", indent=True, edge="bottom"),
    Style("Row limit", ink=QUIET, size=9.5, across="right", edge="bottom"),
    Style("Limit heading", ink=WHITE, fill=ACCENT, size=9.5, across="right"),
    _typed("Typed number", "right"),
    _typed("Typed length", "right", fmt="@"),
    _typed("Typed text", "left", shrink=True, fmt="@"),
    _typed("Typed words", "left", wrap=True, fmt="@"),
    _typed("Typed choice", "left", shrink=True, fmt="@"),
    _typed("Typed date", "right", fmt="yyyy-mm-dd"),
    Style("Read as", ink=QUIET, edge="bottom", across="right"),
    Style("Read as text", ink=QUIET, edge="bottom", across="left", shrink=True, indent=True),
    Style("Read as words", ink=QUIET, edge="bottom", across="left", wrap=True, indent=True),
    Style("Table read as", ink=QUIET, across="right"),
    Style("Total number", bold=True, edge="top", across="right", shrink=True),
    Style("Check text", ink=GOOD, edge="bottom", across="left", shrink=True, indent=True),
    Style("Table check", ink=GOOD, across="left", shrink=True, indent=True),
    Style("Working text", ink=QUIET, size=9.5, across="left"),
    Style("Beside a table"),
)
_ALSO_LARGE: tuple[Style, ...] = (
    _HEADING,
    replace(_HEADING, name="Column heading left", across="left", indent=True),
    replace(_HEADING, name="Column heading run", across="left", indent=True, wrap=False),
    replace(_HEADING, name="Column heading middle", across="center"),
    replace(_HEADING, name="Read as heading", bold=False, size=9.5),
    Style("Heading unit", ink=QUIET, fill=BAND, across="right", size=9.5),
    Style("Heading option", fill=BAND, bold=True, across="right"),
    Style("Section heading", ink=ACCENT, size=12, bold=True, edge="accent", down="bottom"),
    Style("Block title", ink=ACCENT, size=12, bold=True, down="bottom"),
    Style(
        "Section hint",
        ink=QUIET,
        size=9.5,
        edge="accent",
        indent=True,
        down="bottom",
        across="left",
    ),
    Style("Section words", ink=QUIET, size=9.5, edge="accent", down="bottom", across="left"),
    Style("Row label", across="left", wrap=True, edge="bottom"),
    Style("Row name", across="left", edge="bottom"),
    Style("Row link", ink=ACCENT, across="left", wrap=True, edge="bottom", underline=True),
    Style("Row unit", ink=QUIET, across="center", edge="bottom"),
    Style("Row note", ink=QUIET, wrap=True, across="left", edge="bottom", indent=True, size=9.5),
    Style("Row number", ink=QUIET, across="left", indent=True, fmt="0"),
    *_values("Computed", "", "bottom"),
    *_values("Solved", SOLVED, "bottom"),
    *_values("Table computed", "", "none"),
    *_values("Table solved", "", "none"),
    Style(
        "State text", ink=STALE, edge="bottom", across="left", shrink=True, indent=True, size=9.5
    ),
    Style("State run", ink=STALE, edge="bottom", across="right", size=9.5),
    Style("Table state", ink=STALE, bold=True),
    Style("Not printed", ink=BAD, bold=True),
    Style("Plain note", across="left"),
    Style("Note link", ink=ACCENT, across="left", underline=True),
    Style("Way back", ink=ACCENT, across="left", size=9.5, underline=True),
    Style("Foot note", ink=QUIET, across="left", size=9.5),
)
LARGE = " large"
"""Ending of the names of styles for sheets that are read at arm's length."""
APART = " apart"
"""Ending of the names of styles for large texts of tables that stand behind a number."""


def _larger(style: Style) -> Style:
    """The twin of a style in large letters.

    In tables the letters have all the room: what shrinks to fit would else be too small to read.
    """
    indent = style.indent and not style.name.startswith(("Table ", "Column heading"))
    size = round(style.size * 1.1 * 2) / 2
    return replace(style, name=style.name + LARGE, size=size, indent=indent)


def _apart(style: Style) -> Style:
    """The twin of a large style of texts in tables, a step away from the number before it."""
    name = style.name.removesuffix(LARGE)
    return replace(style, name=name + APART + LARGE, indent=True)


_LARGE = tuple(map(_larger, _ALSO_LARGE))
_SET_APART = tuple(
    _apart(style)
    for style in _LARGE
    if style.across == "left" and style.name.startswith(("Table ", "Column heading"))
)
STYLES: tuple[Style, ...] = (*_PLAIN, *_ALSO_LARGE, *_LARGE, *_SET_APART)
BY_NAME = {style.name: style for style in STYLES}


DAY = "ddd d mmm;;"
"""Number format of a day in a line that heads others."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A conditional look, laid over the cell's own; no colour or format leaves that as it is."""

    name: str
    ink: str = ""
    fill: str = ""
    bold: bool = False
    italic: bool = False
    edge: Edge = "none"
    fmt: str = ""


MARKS: tuple[Mark, ...] = (
    Mark("good", GOOD, GOOD_FILL, bold=True),
    Mark("bad", BAD, BAD_FILL, bold=True),
    Mark("stale", STALE, STALE_FILL, italic=True),
    Mark("fine", GOOD, "", bold=True),
    Mark("unused", QUIET, BAND),
    Mark("heads", INK, BAND, bold=True, edge="top"),
    Mark("heads, day", INK, BAND, bold=True, edge="top", fmt=DAY),
    Mark("heads, alone", fill=BAND, edge="top", fmt=";;;"),
    Mark("in use", edge="bottom"),
    Mark("in use, solved", "", SOLVED, edge="bottom"),
    Mark("not in use", fmt=";;;"),
    Mark("no headings", fill=WHITE, fmt=";;;"),
    Mark("below a table", fill=WHITE, edge="unseen"),
    Mark("Row unit", edge="bottom"),
    Mark("Row limit", edge="bottom"),
    Mark("Section heading", edge="accent"),
    Mark("Heading unit", fill=BAND),
    Mark("Heading option", fill=BAND),
    Mark("Column heading", WHITE, ACCENT),
    Mark("Column heading left", WHITE, ACCENT),
    Mark("Column heading run", WHITE, ACCENT),
)
"""The last of them are what is seen of an empty cell that has the style of that name."""
UNSEEN = frozenset(("Plain note", "Overall flag", "Overall flag on Start"))
"""Styles of which nothing is seen where a cell is empty."""


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
        u="single" if style.underline else None,
        name=FONT,
        size=style.size,
        bold=style.bold,
        italic=style.italic,
        color=f"FF{style.ink}",
    )
    if style.fill:
        made.fill = PatternFill("solid", fgColor=f"FF{style.fill}")
    made.border = _border(style.edge)
    made.alignment = Alignment(
        horizontal=style.across,
        vertical=style.down,
        wrap_text=style.wrap,
        shrink_to_fit=style.shrink,
        indent=1 if style.indent else 0,
    )
    made.number_format = style.fmt
    return made


def differential(mark: Mark) -> DifferentialStyle:
    """The look of a conditional format."""
    fill = PatternFill(bgColor=f"FF{mark.fill}", fill_type="solid") if mark.fill else None
    font = None
    if mark.ink:
        font = Font(color=f"FF{mark.ink}", bold=mark.bold or None, italic=mark.italic or None)
    return DifferentialStyle(
        font=font,
        fill=fill,
        border=None if mark.edge == "none" else _border(mark.edge),
        numFmt=NumberFormat(_FORMAT_IDS[mark.fmt], mark.fmt) if mark.fmt else None,
    )


_FORMAT_IDS = {";;;": 400, DAY: 401}
"""Numbers of the number formats of conditional looks; those below 164 are built in."""


def _border(edge: Edge) -> Border:
    thin = Side(style="thin", color=f"FF{LINE}")
    if edge == "bottom":
        return Border(bottom=Side(style="hair", color=f"FF{LINE}"))
    if edge == "accent":
        return Border(bottom=Side(style="thin", color=f"FF{ACCENT}"))
    if edge == "top":
        return Border(top=Side(style="thin", color=f"FF{INK}"))
    if edge in ("all", "unseen"):
        side = thin if edge == "all" else Side(style="thin", color=f"FF{WHITE}")
        return Border(left=side, right=side, top=side, bottom=side)
    return Border()
