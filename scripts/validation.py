"""Makes docs/validation.md: printed values and worked examples beside what the product gives.

    python scripts/validation.py

Theirs are typed in ``tests/validated``, with source and how they were obtained; ours are worked
out by the product's own functions as this runs. The tests read the same cases
(``tests/published/test_published_values.py``) and fail where one does not agree, or the page is
out of date.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
for folder in (ROOT, ROOT / "tests"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

from validated import GROUPS  # noqa: E402
from validated.case import BY_HAND, MEMORY, PARTS, READ, Group, difference  # noqa: E402

PAGE = ROOT / "docs" / "validation.md"

NOT_VALIDATED = (
    "No building was put up from an estimate and measured against it: hours, money and days have "
    "not been compared with a real job. Prices, suppliers and the demo lot are invented, and about "
    "half of the rates of work are a habit of the trade (`shared/reference/productivity.csv` says "
    "which).",
    "No official code book, standard or design manual was read in full. *Read* below means a "
    "transcription, a quotation or a copy; *from memory* shows agreement, not proof.",
    "Where a source below stands without its edition, none was noted: which one the copy or memory "
    "follows is not known.",
    "Costs, days and sheets have no published worked example below, only ones worked by hand. "
    "That plans of boards and sheets are the least is checked by another solver "
    "(`tests/test_proven.py`), not by a book.",
    "Siting, pad height by cost, courses of timber, the range of costs and the marks on doubtful "
    "readings rest on tests of rules and on lots that the tests invent.",
    "Doubtful readings are told by the plainest surface of these: a plane, a saddle or bowl, a "
    "ridge, a valley, a bank, a bench, a ridge that meets a valley, a terrace of two banks. "
    "Before a reading is accused, banks, terraces and banks that turn a corner are looked for of "
    "which few readings tell; a sound reading is still accused now and then where it stands alone "
    "beyond an edge and about a slip off the ground before it. On other ground (a bank that turns "
    "a corner, a terrace of three) slips mostly go unsaid or are asked for; where no surface "
    "explains the others, a check reading is asked for, as it is at one on the outline of broken "
    "ground that no slip explains. On a bank about one slip of a foot in twenty isn't told "
    "from a bank that runs elsewhere: a check reading is asked for there, as it is at sound "
    "readings that stand alone on a slope or its edge, on about half of the banks.",
    "Wind has coefficients and pressures below, and no published building worked through to its "
    "anchors. What anchors turned in by hand, brackets and ties hold is an allowance.",
    "Bearing is a presumptive value over an area. Settlement, frost heave, expansive or organic "
    "soil, slopes that slip, ground water and earthquakes are not worked out at all.",
    "Walls of timber that hold back ground are kept low by a limit of the trade; no wall is "
    "designed. Slabs are held to what the code prescribes; no slab is designed.",
    "Connections (nails, screws, hangers, bolts) are counted, not designed, but for the uplift "
    "that ties and anchors are said to hold.",
    "A metric workbook makes allowable values from those of EN 338: no design to EN 1995-1-1.",
    "Formulas were recalculated by LibreOffice and a Python library. Excel was not run, nor any "
    "spreadsheet on Windows or macOS.",
    "Average end areas, pyramids and prismoids of textbooks are reproduced by the tests alone "
    "(`tests/earthwork.py`): the product integrates the surface and does not use them.",
)

TRIALS: tuple[tuple[str, str, str, str], ...] = (
    (
        "workbooks that earlier versions of the template made, filled and restyled, upgraded",
        "inputs, numbers typed over, own formulas, looks, notes and sheets kept, or named",
        "versions 1 to 12 in feet, 2 to 12 in metres: 23 workbooks, nothing lost unsaid in any",
        "`python scripts/upgrade_history.py`",
    ),
    (
        "damaged and hostile copies of the demo workbook, checked, some refilled",
        "exit code 0, 1 or 2, one sentence, nothing else touched, at most 527 MB and 3.5 s",
        "300 copies: in one the sentence quoted an entry of 1,175 letters, since cut short; "
        "100 more and, of another seed, 100: none with a fault",
        "`python scripts/fuzz_packages.py --packages 100 --seed 30`, and `--seed 113017`",
    ),
    (
        "damaged packages of the small workbook of the tests",
        "as above",
        "2,000 packages, and 2,000 of another seed: none with a fault",
        "`FUZZ_PACKAGES=2000 python -m pytest tests/test_fuzz_packages.py`, and with "
        "`FUZZ_SEED=113017`",
    ),
    (
        "edits of the demo and of plain workbooks, typed and recalculated in LibreOffice "
        "without the estimator",
        "each number equals the engine's, or its sheet is marked out of date, or the entry is "
        "refused",
        "150 edits: 4,013,933 numbers equal, 18,849 on marked sheets, 41 entries refused",
        "`STALE_RULE=all python -m pytest tests/test_stale_rule.py`",
    ),
    (
        "runs killed, or the disk full or failing, at each call of the file system",
        "the old file or the new one, whole; what was left goes at the next run",
        "608 calls killed or failing and 220 with a full disk, in refill, upgrade, restore and "
        "prices in: none with a half-written file",
        "`python -m pytest tests/test_failing_disk.py`",
    ),
    (
        "workbooks that another library writes, with other features in each, through the cell "
        "layer; a folder of your own goes through `scripts/run_corpus.py`",
        "nothing changed but the cell asked for, or refused in a sentence",
        "40 workbooks, 20 in two forms each: none with a fault",
        "`python -m pytest tests/test_corpus.py`",
    ),
)


def count(groups: list[Group], obtained: str, *, looked_up: bool = False) -> int:
    return sum(
        len(group.cases)
        for group in groups
        if group.obtained.startswith(obtained) and group.looked_up == looked_up
    )


def head() -> str:
    """All that stands above the parts."""
    lines = [
        "# What the numbers rest on",
        "",
        "Made by `python scripts/validation.py`, from what the tests read; don't edit it.",
        "",
        "## What is not validated",
        "",
        *(f"- {text}" for text in NOT_VALIDATED),
        "",
        "Local codes and licensed practice govern.",
        "",
        "## What is",
        "",
        "How many values stand below, by how they came here. *Looked up* are values that the "
        "product's tables hold: that they were typed rightly is all that is shown.",
        "",
        "| part | worked out, read | from memory | by hand | looked up |",
        "| --- | ---: | ---: | ---: | ---: |",
    ]
    for part in (*PARTS, ""):
        groups = [group for group in GROUPS if part in ("", group.part)]
        numbers = (
            *(count(groups, obtained) for obtained in (READ, MEMORY, BY_HAND)),
            count(groups, "", looked_up=True),
        )
        name = f"[{part}](#{part.lower()})" if part else "all"
        lines.append(f"| {name} | {' | '.join(f'{n}' for n in numbers)} |")
    lines += [
        "",
        "*Difference* is ours less theirs; beside each table stands what the print's own rounding "
        "allows. Ours are shown to more places than are printed.",
        "",
        "## Trials",
        "",
        "Figures of the last run by hand. Each command repeats its own; they are not run when this "
        "page is made.",
        "",
        "| what | held | figures | command |",
        "| --- | --- | --- | --- |",
        *(f"| {' | '.join(trial)} |" for trial in TRIALS),
    ]
    return "\n".join(lines)


def section(group: Group) -> str:
    """The table of a group."""
    low, high = (_number(end, 9) for end in group.within)
    allowed = "exactly" if group.within == (0, 0) else f"{low} to {high}"
    lines = [
        f"### {group.title}",
        "",
        f"{group.source}; {group.obtained}. In {group.unit}; allowed: {allowed}."
        + (" Looked up in the product's tables." if group.looked_up else "")
        + (f" {group.note}" if group.note else ""),
        "",
        "| | theirs | ours | difference |",
        "| --- | ---: | ---: | ---: |",
    ]
    for case in group.cases:
        over = difference(case)
        numbers = (
            _number(case.theirs, 6),
            _number(case.theirs + over, group.places),
            _number(over, group.places),
        )
        lines.append(f"| {case.what} | {' | '.join(numbers)} |")
    return "\n".join(lines)


def _number(number: float, places: int) -> str:
    """A number without idle zeros."""
    text = f"{number:,.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _blocks() -> Iterator[str]:
    yield head()
    for part in PARTS:
        yield f"## {part}"
        yield from (section(group) for group in GROUPS if group.part == part)


def page() -> str:
    """The whole page."""
    return "\n\n".join(_blocks()) + "\n"


def main() -> None:
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
    print(f"{PAGE.relative_to(ROOT)}: {sum(len(group.cases) for group in GROUPS)} values")


if __name__ == "__main__":
    main()
