"""The reference tables of ``shared/reference``: loaded, checked and looked up.

Every row names its source and how the value was obtained. A value that was recalled, derived or
taken as an allowance says so there, and :attr:`Row.published` is false for it.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from estimator.errors import FileError, InputError
from estimator.resources import shipped_folder

FOLDER = shipped_folder("shared") / "reference"

HOW = ("read", "from memory", "derived", "computed", "common practice, no source")
NUMERIC = frozenset(
    {
        *("value", "low", "high", "width_in", "depth_in"),
        *("live_psf", "dead_psf", "spacing_in", "span_in"),
    }
)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a reference table.

    Args:
        file: Name of the file, for messages.
        line: Line in that file, the header being line 1.
        cells: Text of every column.
    """

    file: str
    line: int
    cells: dict[str, str]

    def text(self, column: str) -> str:
        """The text of a column.

        Raises:
            FileError: If the table has no such column.
        """
        try:
            return self.cells[column]
        except KeyError:
            raise FileError(f"there is no column '{column}'.", where=self.where) from None

    def number(self, column: str) -> float:
        """The number in a column.

        Raises:
            FileError: If the column is missing or does not hold a number.
        """
        text = self.text(column)
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise FileError(
                f"'{text}' in column '{column}' is not a number.",
                where=self.where,
                cure="Write a plain number without a unit.",
            )
        return value

    @property
    def where(self) -> str:
        """File and line, for messages."""
        return f"{self.file}, line {self.line}"

    @property
    def source(self) -> str:
        """Title, edition and table that the value comes from."""
        return self.cells["source"]

    @property
    def how_obtained(self) -> str:
        """Read (where), from memory, derived, computed, or common practice without a source."""
        return self.cells["how_obtained"]

    @property
    def published(self) -> bool:
        """Whether the value was read in a source, not recalled, derived or allowed."""
        return self.how_obtained.startswith("read")


def load(name: str, folder: Path = FOLDER) -> tuple[Row, ...]:
    """The rows of one reference table.

    Args:
        name: Table name without ``.csv``: ``soils``, ``rules``, ...
        folder: Where the tables are.

    Raises:
        FileError: If the file is missing or a row is bad; names the file and the line.
    """
    return _load(name, folder)


@cache
def _load(name: str, folder: Path) -> tuple[Row, ...]:
    file = f"{name}.csv"
    try:
        text = (folder / file).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise FileError(
            "the reference table can't be read.",
            where=str(folder / file),
            cure="Restore it from the project's shared/reference folder.",
        ) from None
    reader = csv.reader(text.splitlines())
    head = next(reader, [])
    if not {"source", "how_obtained"} <= set(head) or len(set(head)) != len(head):
        raise FileError(
            "the header needs 'source' and 'how_obtained' and no column twice.",
            where=f"{file}, line 1",
        )
    return tuple(_row(file, reader.line_num, head, cells) for cells in reader)


def _row(file: str, line: int, head: list[str], cells: list[str]) -> Row:
    where = f"{file}, line {line}"
    if len(cells) != len(head):
        raise FileError(
            f"the row has {len(cells)} fields, the header {len(head)}.",
            where=where,
            cure="Quote fields that hold a comma.",
        )
    row = Row(file, line, dict(zip(head, cells, strict=True)))
    if not row.source or not row.how_obtained.startswith(HOW):
        raise FileError(
            "the row does not say where its value comes from.",
            where=where,
            cure=f"Fill in 'source', and begin 'how_obtained' with one of: {'; '.join(HOW)}.",
        )
    for column in NUMERIC.intersection(head):
        row.number(column)
    return row


def find(name: str, **where: str) -> Row:
    """The one row whose columns hold these texts.

    Args:
        name: Table name.
        where: Column and text; case does not matter.

    Raises:
        InputError: If no row or more than one fits; the message lists what there is.
    """
    fitting = load(name)
    asked = ", ".join(f"{c} '{t}'" for c, t in where.items())
    for column, text in where.items():
        kept = tuple(r for r in fitting if r.text(column).lower() == text.lower())
        if not kept:
            there = ", ".join(dict.fromkeys(r.text(column) for r in fitting))
            raise InputError(
                f"the table {name} has no {column} '{text}' among {asked}.",
                cure=f"It has: {there}.",
            )
        fitting = kept
    if len(fitting) > 1:
        raise InputError(f"more than one row of {name} has {asked}.", cure="Ask for one of them.")
    return fitting[0]


def value(name: str, **where: str) -> float:
    """The number in column ``value`` of the one row that fits (see :func:`find`)."""
    return find(name, **where).number("value")


def rule(key: str) -> float:
    """A rule or limit of ``rules.csv`` by its key, such as ``clearance_joists_in``."""
    return value("rules", key=key)


def soil(material: str, name: str) -> float:
    """A property of a soil or of stone, such as ``soil("clay", "presumptive_bearing_psf")``."""
    return value("soils", material=material, property=name)


def dressed_size(nominal: str, condition: str = "") -> tuple[float, float]:
    """Dressed thickness and width of a nominal size (PS 20).

    Args:
        nominal: ``"4x6"``; case, blanks and the multiplication sign do not matter.
        condition: ``"dry"`` or ``"green"``; empty for what yards sell: boards and dimension
            lumber surfaced dry, timbers of 5x5 and larger surfaced green.

    Returns:
        Width (the smaller side) and depth in inches.

    Raises:
        InputError: If the size is not in the table.
    """
    size = _nominal(nominal)
    if not condition:
        known = [r for r in load("dressed_sizes") if r.text("nominal") == size]
        condition = "green" if known and known[0].text("kind") == "timber" else "dry"
    row = find("dressed_sizes", nominal=size, condition=condition)
    return row.number("width_in"), row.number("depth_in")


@dataclass(frozen=True, slots=True)
class DesignValues:
    """Reference design values of one species, grade and size, psi, with the bending size factor.

    ``how_obtained`` joins the four rows' notes, so that a recalled value is never shown bare.
    """

    bending_psi: float
    shear_psi: float
    bearing_psi: float
    modulus_psi: float
    size_factor: float
    source: str
    how_obtained: str


def design_values(species: str, grade: str, size: str) -> DesignValues:
    """Reference design values (NDS Supplement Tables 4A, 4B, 4D) of a nominal size.

    Args:
        species: ``"Douglas fir-larch"``, ``"Hem-fir"``, ``"Southern pine"``, ``"Spruce-pine-fir"``.
        grade: ``"No.1"``, ``"No.2"``, ... as the table has them.
        size: Nominal size, ``"2x8"``.

    Raises:
        InputError: If there are no values; the message lists what there is.
    """
    nominal = _nominal(size)
    size_class = _size_class(species, nominal)
    rows = [
        find("design_values", species=species, grade=grade, size_class=size_class, property=name)
        for name in ("bending_psi", "shear_psi", "bearing_psi", "modulus_psi")
    ]
    bending, shear, bearing, modulus = (r.number("value") for r in rows)
    return DesignValues(
        bending_psi=bending,
        shear_psi=shear,
        bearing_psi=bearing,
        modulus_psi=modulus,
        size_factor=size_factor(species, nominal),
        source="; ".join(dict.fromkeys(r.source for r in rows)),
        how_obtained="; ".join(dict.fromkeys(r.how_obtained for r in rows)),
    )


def size_factor(species: str, size: str) -> float:
    """The bending size factor CF of a nominal size (NDS 4.3.6).

    Southern pine dimension lumber is 1.0, its table values being size-adjusted already; timbers
    are 1.0 to 12 in of depth and (12 / d)^(1/9) beyond.

    Raises:
        InputError: If the size is not in the table.
    """
    nominal = _nominal(size)
    if _thickness(nominal) >= 5:
        depth_in = dressed_size(nominal)[1]
        return float((12 / max(depth_in, 12.0)) ** (1 / 9))
    if species.lower() == "southern pine":
        return 1.0
    return value("size_factors", nominal=nominal, property="bending")


@dataclass(frozen=True, slots=True)
class WetService:
    """Shares of the reference design values that are left in wet service (factor CM)."""

    bending: float
    shear: float
    bearing: float
    modulus: float


def wet_service(species: str, size: str, values: DesignValues) -> WetService:
    """Wet-service factors of a nominal size (NDS Supplement Tables 4A, 4B, 4D).

    Sawn 2 to 4 in thick: bending is not reduced where value times size factor is at most 1,150
    psi. Southern pine of 5x5 and larger is not reduced, its table being for wet service already.

    Raises:
        InputError: If the size is none.
    """
    timber = _thickness(_nominal(size)) >= 5
    if timber and species.lower() == "southern pine":
        return WetService(*(_wet("5x5 and larger, Southern pine", name) for name in _WET))
    found = [_wet("5x5 and larger" if timber else "2-4 thick", name) for name in _WET]
    threshold = value("adjustment_factors", factor="wet_service_threshold", property="bending")
    if not timber and values.bending_psi * values.size_factor <= threshold:
        found[0] = 1.0
    return WetService(*found)


_WET = ("bending", "shear", "bearing", "modulus")


def _wet(condition: str, name: str) -> float:
    return value("adjustment_factors", factor="wet_service", condition=condition, property=name)


def _nominal(size: str) -> str:
    return size.lower().replace(" ", "").replace("×", "x")


def _thickness(nominal: str) -> float:
    return _sides(nominal)[0]


def _sides(nominal: str) -> tuple[float, float]:
    try:
        thickness, width = (float(part) for part in nominal.split("x"))
    except ValueError:
        raise InputError(
            f"'{nominal}' is not a lumber size.", cure="Write it as thickness x width: 2x8."
        ) from None
    return min(thickness, width), max(thickness, width)


def _size_class(species: str, nominal: str) -> str:
    thickness, width = _sides(nominal)
    if thickness < 5:
        pine = species.lower() == "southern pine"
        return f"2-4 thick, {max(width, 4):g} wide" if pine else "2-4 thick"
    kind = "beams and stringers" if width - thickness > 2 else "posts and timbers"
    return f"5x5 and larger, {kind}"
