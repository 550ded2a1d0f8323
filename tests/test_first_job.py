"""The guide to the first job: every command and every cell of it, in its order."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from books import Spot, edited, value

from estimator.cli import main
from estimator.engine import Model
from estimator.model import build_model
from estimator.model.quick_survey import STAKE_NAMES

GUIDE = Path(__file__).parent.parent / "docs" / "first_job.md"
_CELL = re.compile(r"^\| (\w+) \| (.+?) \| (.+?) \|$")
STEPS = 10

pytestmark = pytest.mark.slow


def steps() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Commands, and cells as (sheet, label, what is typed), in the order of the guide."""
    for line in GUIDE.read_text(encoding="utf-8").splitlines():
        if line.startswith("estimator "):
            yield "run", tuple(line.split()[1:])
        elif (found := _CELL.match(line)) and found[1] not in ("sheet",):
            yield "type", found.groups()


def spot_of(model: Model, data: bytes, sheet: str, label: str) -> Spot:
    """The typed cell of a label on a sheet, as the guide names it."""
    if label in STAKE_NAMES:
        return "in_quick_reading_ft", 0, STAKE_NAMES.index(label)
    if sheet == "Prices":
        names = [value(data, ("in_item_name", 0, row)) for row in range(model.capacity("item"))]
        return "in_item_price", 0, names.index(label)
    [key] = (
        key
        for key, item in model.quantities.items()
        if (item.role, item.sheet, item.label, item.axis) == ("input", sheet, label, None)
    )
    return f"in_{key}"


def test_the_guide_leads_from_readings_to_orders_and_to_the_next_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    model, book = build_model(), tmp_path / "shed.xlsx"
    said: dict[str, str] = {}
    counts = {"run": 0, "type": 0}
    for kind, words in steps():
        counts[kind] += 1
        if kind == "run":
            assert main(list(words)) in ((0, 1) if words[0] == "check" else (0,)), words
            said[words[0]] = capsys.readouterr().out
        else:
            sheet, label, typed = words
            entry = float(typed) if re.fullmatch(r"[\d.]+", typed) else typed
            data = book.read_bytes()
            book.write_bytes(edited(data, {spot_of(model, data, sheet, label): entry}))
    assert counts["run"] == 7
    assert counts["type"] > 20
    data = book.read_bytes()
    assert value(data, "open_points") == 0
    assert value(data, "start_state") == "no"
    assert value(data, ("total_cost", 1)) > 1000
    assert value(data, "chosen_total") == value(data, ("total_cost", 1))
    assert value(data, "buy_title") == "open pad"
    assert "Total" in said["refill"]
    assert (tmp_path / "coop.xlsx").exists()


def test_the_guide_has_ten_steps() -> None:
    text = GUIDE.read_text(encoding="utf-8")
    assert re.findall(r"^\*\*(\d+)\.", text, re.M) == [str(n) for n in range(1, STEPS + 1)]
