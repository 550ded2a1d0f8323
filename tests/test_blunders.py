"""Which readings are told to be read again: slips, not ground that bends or breaks."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spots import fitted, grid, rotation
from survey_rates import CROSSED, GROUNDS, LAYOUTS, NONE, TERRACE, Rates, drawn, rates

from estimator.model.solvers.misread import slips
from estimator.solve.blunders import Blunder, Slip, blunders
from estimator.solve.surface import Ground

pytestmark = pytest.mark.slow
SURVEYS = int(os.environ.get("BLUNDER_SURVEYS", "3"))
"""Surveys of each ground and layout in which slips are looked for; a hundred take six minutes."""
A_FOOT = (Slip(1.0, "a foot"), Slip(-1.0, "a foot"))


def again(found: list[Blunder]) -> list[str]:
    """Names of the readings to read again."""
    return [each.label for each in found if each.again]


def looked(ground: Ground) -> tuple[list[str], list[str]]:
    """Readings to read again, and to check, where a foot may have been misread."""
    found = blunders(ground, dict.fromkeys(ground.labels, A_FOOT))
    return again(found), [each.label for each in found if not each.again]


def blundered(seed: int, points: np.ndarray, error_ft: float) -> tuple[str, list[Blunder]]:
    """A bent slope with a quarter inch of grass and rod, and one bad reading."""
    rng = np.random.default_rng(seed)
    heights = points @ rng.uniform(-0.12, 0.12, 2) + 0.0004 * ((points - 20) ** 2).sum(axis=1)
    heights += rng.normal(0, 0.02, len(points))
    bad = int(rng.integers(len(points)))
    heights[bad] += error_ft
    return f"Survey row {bad + 5}", blunders(fitted(points, heights))


@given(st.integers(0, 2**32 - 1), st.sampled_from([-2.0, -1.0, 1.0, 2.0, 10.0]))
@settings(max_examples=20, deadline=None)
def test_a_reading_far_out_on_a_grid_is_named_alone(seed: int, error_ft: float) -> None:
    bad, found = blundered(seed, grid(6, 5, 8.0), error_ft)
    assert [each.label for each in found] == [bad]
    # The ground bends by a few inches between readings: the residual is the error within that.
    assert found[0].off_ft == pytest.approx(error_ft, abs=0.35)


@given(st.integers(0, 2**32 - 1), st.sampled_from([-5.0, -3.0, 3.0, 10.0]))
@settings(max_examples=12, deadline=None)
def test_a_reading_far_out_among_scattered_ones_is_named_first(seed: int, error_ft: float) -> None:
    # Three feet and more: a lone reading far outside the others may hide less.
    points = np.random.default_rng(seed).uniform(0, 40, (40, 2))
    bad, found = blundered(seed, points, error_ft)
    assert found[0].label == bad


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=30, deadline=None)
def test_honest_uneven_ground_accuses_nobody(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = grid(6, 5, 8.0)
    heights = points @ rng.uniform(-0.15, 0.15, 2) + 0.3 * np.sin(points[:, 0] / 15)
    heights += rng.normal(0, 0.04, len(points))
    assert blunders(fitted(points, np.round(heights, 2))) == []


def broken_ground(shape: str, points: np.ndarray, turn_deg: float) -> np.ndarray:
    """Heights of ground that bends or breaks through the middle of a lot 40 ft square."""
    u, v = ((points - 20) @ rotation(turn_deg)).T
    return {
        "plane": -0.05 * u,
        "ridge": -0.15 * np.abs(u),
        "valley": 0.15 * np.abs(u),
        "bank": 3 * np.clip(u / 4, -0.5, 0.5) + 0.02 * v,
        "saddle": 0.0075 * (u**2 - v**2),
    }[shape]


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 33.0])
@pytest.mark.parametrize("shape", ["plane", "ridge", "valley", "bank", "saddle"])
def test_clean_broken_ground_on_a_grid_accuses_nobody(shape: str, turn_deg: float) -> None:
    points = grid(5, 5)
    assert blunders(fitted(points, broken_ground(shape, points, turn_deg))) == []


@pytest.mark.parametrize("shape", ["plane", "ridge", "valley", "bank", "saddle"])
def test_noise_of_rod_and_grass_on_broken_ground_accuses_nobody_either(shape: str) -> None:
    points, rng = grid(5, 5), np.random.default_rng(4)
    for turn_deg in (0.0, 17.0, 33.0):
        heights = broken_ground(shape, points, turn_deg) + rng.normal(0, 0.05, len(points))
        assert blunders(fitted(points, heights)) == []


@pytest.mark.parametrize("shape", ["ridge", "valley"])
def test_a_slip_of_two_feet_beside_a_break_is_still_named(shape: str) -> None:
    points = grid(5, 5)
    for place in (6, 8, 16, 18):  # inside, a step beside the break through the middle
        heights = broken_ground(shape, points, 0) + 2.0 * (np.arange(25) == place)
        assert f"Survey row {place + 5}" in again(blunders(fitted(points, heights)))


def test_a_slipped_decimal_in_a_five_point_survey_is_named() -> None:
    points = [[0, 0], [14, 0], [14, 12], [0, 12], [7, 6]]
    found = blunders(fitted(points, [5.0, 4.6, 4.4, 4.9, 47.0]))
    assert found[0].label == "Survey row 9"


@given(st.floats(0, 360), st.floats(1.0, 1.99) | st.floats(2.01, 4.0))
@settings(max_examples=40, deadline=None)
def test_a_gross_error_among_few_readings_is_told_however_the_survey_is_turned(
    deg: float, off_ft: float
) -> None:
    """The limit is a share of the survey's size, which no turn changes: 8 % of 25 ft are 2 ft."""
    points = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 15.0], [0.0, 15.0], [10.0, 7.5]])
    heights = 100 + off_ft * (np.arange(5) == 4)
    found = blunders(fitted(points @ rotation(deg), heights))
    assert bool(found) == (off_ft > 2.0)


def test_four_corners_with_a_twist_accuse_nobody() -> None:
    assert blunders(fitted([[0, 0], [14, 0], [14, 12], [0, 12]], [5.0, 4.6, 4.4, 4.9])) == []
    assert blunders(fitted([[0, 0], [14, 0], [0, 12]], [5.0, 4.6, 44.4])) == []


def test_one_reading_beside_a_line_of_others_can_not_be_judged() -> None:
    points = [[0, 0], [5, 0], [10, 0], [15, 0], [20, 0], [25, 0], [12, 9]]
    assert blunders(fitted(points, [0, 0.1, 0.2, 0.3, 0.4, 0.5, 9.0])) == []


def counted(grounds: tuple[str, ...]) -> Rates:
    """A slip of a foot inside every survey, on grids and scattered."""
    found = NONE
    for layout in LAYOUTS:
        for ground in grounds:
            found += rates(looked, ground, layout, range(100, 100 + SURVEYS))
    return found


@pytest.mark.parametrize("wide_ft", [9.0, 12.0])
def test_a_narrow_hump_is_asked_about_and_nobody_on_it_accused(wide_ft: float) -> None:
    """1.9 ft high, as wide as the readings stand apart; wherever it lies between them."""
    points, rng = grid(6, 5), np.random.default_rng(9)
    for middle in ((24.0, 21.0), (27.0, 16.0), (21.0, 24.0)):
        away = np.hypot(*(points - middle).T)
        heights = 100 + points @ [0.03, -0.02] + 1.9 * np.exp(-((away / wide_ft) ** 2))
        heights += rng.normal(0, 0.03, len(points))
        assert again(blunders(fitted(points, np.round(heights, 2)))) == []


def test_slips_of_a_foot_are_named_and_sound_surveys_are_not_accused() -> None:
    """Twenty to forty readings, 8 to 15 ft apart, with 0.05 ft of noise; places are drawn."""
    found = counted(tuple(ground for ground in GROUNDS if ground != "bank"))
    assert found.named >= 0.95 * found.slips
    assert found.false_alarms + found.others <= 0.02 * found.surveys


def test_a_slip_on_a_bank_or_beside_it_is_named_unless_another_bank_would_hide_it() -> None:
    """Flat, slope and flat again. What can't be told from a bank that runs elsewhere is asked for,
    which is about one slip in twenty.
    """
    found = NONE
    for layout in LAYOUTS:
        found += rates(looked, "bank", layout, range(100, 100 + 4 * SURVEYS))
    assert found.named >= 0.95 * (found.slips - found.asked)
    assert found.named >= 0.95 * found.slips
    assert found.false_alarms + found.others <= 0.02 * found.surveys


def test_a_slip_on_a_terrace_is_named_or_asked_for_and_clean_ones_accuse_nobody() -> None:
    """With noise a sound reading of a terrace may still be accused: the page of limits says so."""
    found = NONE
    for layout in LAYOUTS:
        found += rates(looked, TERRACE, layout, range(SURVEYS))
        for seed in range(SURVEYS):
            assert looked(drawn(TERRACE, layout, seed, noise_ft=0).ground())[0] == []
    assert found.named >= 0.9 * (found.slips - found.asked)
    assert found.named >= 0.5 * found.slips


@pytest.mark.parametrize("seed", [14, 25])
def test_readings_added_on_the_triangles_between_others_are_not_accused(seed: int) -> None:
    """Triangles cut across the edges of a bank: as a bank alone it would have them misread."""
    rng = np.random.default_rng(seed)
    outline = [[0, 0], [50, 0], [50, 46], [0, 46]]
    points = np.vstack([np.round(rng.uniform(0, 46, (16, 2)), 1), outline])
    bank = np.clip(0.3 * (points @ [0.8, 0.6] - 30), -1, 1)
    heights = np.round(100 + bank + rng.normal(0, 0.05, len(points)), 2)
    ground = fitted(points, heights)
    more = np.round(rng.uniform(8, 38, (6, 2)), 1)
    with_them = fitted(np.vstack([points, more]), np.append(heights, ground.at(more)[0]))
    assert looked(ground)[0] == looked(with_them)[0] == []
    unborne = replace(with_them, shapes=np.ones(26, dtype=np.bool_))
    assert looked(unborne)[0] != []


def test_a_reading_that_another_bank_would_explain_a_foot_off_is_asked_for_and_not_accused() -> (
    None
):
    """One alone on the slope tells where the bank runs; a foot off, it only runs elsewhere."""
    points = grid(7, 5, 8.0)
    lone = 17  # in the middle of the lot
    up = np.clip((points[:, 0] - 24) / 4 + 0.5, 0, 1)
    sound = 3 * np.where(np.arange(35) == lone, 0.5, np.round(up + 1e-9 * (points[:, 1] - 16)))
    for off in (0.0, 1.0, -1.0):
        heights = sound + off * (np.arange(35) == lone)
        found = blunders(fitted(points, heights), {f"Survey row {lone + 5}": A_FOOT})
        assert [(each.label, each.again, each.off_ft) for each in found] == [
            (f"Survey row {lone + 5}", False, 0.0)
        ]


def test_slips_where_a_ridge_meets_a_valley_are_named_and_nobody_is_accused_there() -> None:
    found = NONE
    for layout in LAYOUTS:
        found += rates(looked, CROSSED, layout, range(100, 100 + SURVEYS))
        for seed in range(SURVEYS):
            assert looked(drawn(CROSSED, layout, seed, noise_ft=0).ground())[0] == []
    assert found.named >= 0.9 * found.slips
    assert found.false_alarms + found.others == 0


def test_a_slip_on_a_bank_is_named_and_no_sound_reading_beside_it() -> None:
    """With Q27 left out instead, a bank that runs elsewhere comes near to the slip at Q21."""
    assert looked(drawn("bank", "grid", 132).ground([(21, -1.0)]))[0] == ["Q21"]


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("ground", GROUNDS)
def test_clean_ground_wherever_it_breaks_accuses_nobody(ground: str, layout: str) -> None:
    for seed in range(SURVEYS):
        assert again(blunders(drawn(ground, layout, seed, noise_ft=0).ground())) == []


@pytest.mark.parametrize("noise_ft", [0.0, 0.05])
def test_a_bank_that_turns_a_corner_accuses_nobody(noise_ft: float) -> None:
    """High or low inside of the corner, which may be square or not."""
    for seed in range(2 * SURVEYS):
        rng = np.random.default_rng(seed)
        points = grid(6, 5) @ rotation(rng.uniform(0, 90))
        first, second = (
            (points - points.mean(axis=0)) @ rotation(rng.uniform(-20, 20))[way] for way in (0, 1)
        )
        up = np.clip(np.stack([first, second]) / rng.uniform(3, 8), -0.5, 0.5)
        inside = up.min(axis=0) if seed % 2 else up.max(axis=0)
        heights = 3 * inside + points @ rng.uniform(-0.05, 0.05, 2)
        heights += rng.normal(0, 1, len(points)) * noise_ft
        assert looked(fitted(points, heights))[0] == []


def few_beyond(seed: int, on_grid: bool, bench: bool) -> Ground:
    """Clean ground with a bank near the rim of the survey, or a terrace there."""
    rng = np.random.default_rng(seed)
    points = grid(5, 5) if on_grid else np.round(rng.uniform(0, 50, (26, 2)), 1)
    turn = rng.uniform(0, 2 * np.pi)
    along = points @ [np.cos(turn), np.sin(turn)]
    foot = along.max() - rng.uniform(0.05, 0.3) * np.ptp(along)
    wide = rng.uniform(2, 8)
    heights = 0.03 * points[:, 0] + np.clip((along - foot) / wide, 0, 1) * rng.uniform(1.5, 3)
    if bench:
        lower = foot - wide - rng.uniform(3, 12)
        heights += np.clip((along - lower) / wide, 0, 1) * rng.uniform(1.5, 3)
    return fitted(points, heights)


@pytest.mark.parametrize(
    ("on_grid", "bench", "seeds"),
    [
        (True, False, [24, 32, 54, 57, 69, 89, 97]),
        (False, False, [16, 40, 44, 61, 63, 76, 79]),
        (True, True, [1, 13, 22, 31, 35, 41, 80]),
        (False, True, [2, 3, 5, 8, 30, 31, 33]),
    ],
)
def test_banks_and_terraces_of_which_few_readings_tell_accuse_nobody(
    on_grid: bool, bench: bool, seeds: list[int]
) -> None:
    """Two readings beyond an edge, or one on a bench: a slip of one would seem as likely."""
    for seed in seeds:
        assert looked(few_beyond(seed, on_grid, bench))[0] == []


def test_a_corner_a_foot_off_a_plane_is_told_alone() -> None:
    points = grid(6, 5)
    for off in (1.0, -1.0):
        heights = points @ [0.03, 0.02] + off * (np.arange(30) == 0)
        found = blunders(fitted(points, heights))
        assert [each.label for each in found] == ["Survey row 5"]
        assert found[0].off_ft == pytest.approx(off, abs=0.2)


STAKES = np.array([(x, y) for y in (-3.0, 6.0, 15.0) for x in (-3.0, 8.0, 19.0)])
DROPS_FT = np.array([1.0, 1.1, 1.3, 1.25, 1.35, 1.4, 1.5, 1.6, 1.7])


@pytest.mark.parametrize("times", [12, 10, 2, 1 / 12])
def test_another_unit_at_one_of_nine_stakes_is_told_of_that_one(times: float) -> None:
    for stake in range(len(STAKES)):
        drops = DROPS_FT.copy()
        drops[stake] *= times
        found = blunders(fitted(STAKES, -drops))
        assert [each.label for each in found] == [f"Survey row {stake + 5}"]


def test_another_unit_at_one_of_nine_stakes_is_told_on_steep_and_uneven_ground_too() -> None:
    drops = np.array([10, 11.5, 12.25, 14, 13.5, 13, 15, 17, 1.333])
    assert [each.label for each in blunders(fitted(STAKES, -drops))] == ["Survey row 13"]


def test_a_reading_that_may_be_a_slip_is_believed_to_be_one_sooner() -> None:
    assert [each.off_ft for each in slips(4.63, "heights", "feet")][:4] == [1, -1, 0.1, -0.1]
    by_words = {each.words: each.off_ft for each in slips(4.63, "rod readings", "feet")}
    assert by_words["looks like 4.63 for 6.43"] == pytest.approx(1.8, abs=1e-9)
    assert by_words["looks like 4.63 for 4.36"] == pytest.approx(-0.27, abs=1e-9)


def test_digits_are_those_that_were_typed_in_whatever_unit() -> None:
    """54 in for 45 in are nine inches; 1.325 m for 1.235 m are 90 mm."""
    inches = {each.words: each.off_ft for each in slips(54.5 / 12, "drops", "feet")}
    assert inches["looks like 54 for 45"] == pytest.approx(-0.75, abs=1e-9)
    metres = {each.words: each.off_ft for each in slips(1.325 / 0.3048, "heights", "metric")}
    assert metres["looks like 1.325 for 1.235"] == pytest.approx(0.09 / 0.3048, abs=1e-9)
    assert len(slips(1 / 3, "heights", "metric")) == 4  # no digits of a staff
