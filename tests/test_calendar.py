"""Days of work among the days of the calendar, and networks of tasks worked by hand."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs import at, block, changed, one_option, solved
from networks import MONDAY_4_MAY, Network, off, task, week_of
from validated import days

from estimator.errors import RowError
from estimator.inputs import DATE_ORIGIN, TypedJob
from estimator.inputs import day as number
from estimator.model import build_model
from estimator.model.adds import TRADES, Hours
from estimator.model.cost.calendar import (
    MATERIAL,
    as_worked,
)
from estimator.model.job import HOLIDAYS
from estimator.model.kinds import PIERS
from estimator.model.working_days import MONDAY, day_of, number_of

WEEKS = {
    "Monday to Friday": "1111100",
    "Monday to Saturday": "1111110",
    "every day": "1111111",
    "Saturday and Sunday": "0000011",
}
"""Days of a week, from Monday, that each choice works on, as numpy's business days write them."""


DAYS = st.dates(dt.date(2026, 1, 1), dt.date(2027, 12, 31))


@given(
    day=DAYS,
    ahead=st.integers(0, 300),
    week=st.sampled_from(tuple(WEEKS)),
    holidays=st.lists(DAYS, max_size=HOLIDAYS),
)
def test_working_days_are_those_of_numpy(
    day: dt.date, ahead: int, week: str, holidays: list[dt.date]
) -> None:
    """Referee: numpy.busday_offset, with days off in any order, twice, or on days off anyway."""
    taken, put_off = off(holidays, week)
    first, each = week_of(week)
    begun = number_of(number(day), first, each, taken)
    reached = day_of(begun + ahead, first, each, put_off)
    wanted = np.busday_offset(day, ahead, "forward", weekmask=WEEKS[week], holidays=holidays)
    assert DATE_ORIGIN + dt.timedelta(days=float(reached[0, 0])) == wanted.astype(dt.date)


def test_a_second_entry_of_the_same_day_off_takes_no_day() -> None:
    taken, put_off = off([dt.date(2026, 5, 25), dt.date(2026, 5, 25)], "Monday to Friday")
    assert np.count_nonzero(taken < 1e6) == 1
    friday = number_of(number(dt.date(2026, 5, 22)), MONDAY, 5, taken)
    assert day_of(friday + 1, MONDAY, 5, put_off) == number(dt.date(2026, 5, 26))


# --- networks ---


def test_a_chain_goes_over_the_weekend() -> None:
    """One person, 8 h a day, lines marked on Thursday morning (3 working days after Monday).

    Dig 12 h: Thursday, and Friday noon (4.5). Set 4 h: Friday evening (5.0), done on Friday.
    Frame 10 h: Monday, and 2 h of Tuesday (6.25).
    """
    net = days.weekend()
    assert [net.day(key) for key in ("dig", "set", "frame")] == [
        "Fri 08 May",
        "Fri 08 May",
        "Tue 12 May",
    ]


def test_what_need_not_wait_fills_the_days_of_cure() -> None:
    """Dig 8 h on Monday, cast 8 h on Tuesday, 5 May; 7 days of cure are over on Tuesday, 12 May.

    The drain, 12 h, needs the hole alone: Wednesday and half of Thursday (3.5), in the wait. Beams,
    4 h, begin on Tuesday, 6 working days after the call: 6.5. The yard trip, 2 h, comes first, so
    that digging ends on Tuesday at 1.25, casting on Wednesday at 2.25, and so on a day later.
    """
    tasks = (
        task("dig"),
        task("beams", "cast", trade="carpentry"),
        task("drain", "dig"),
        task("cast", "dig", trade="concrete", wait="cure"),
    )
    hours = {"dig": 8, "cast": 8, "drain": 12, "beams": 4}
    net = Network(tasks, hours, cure=7)
    assert [one.key for one in net.order] == ["dig", "cast", "drain", "beams"]
    assert [net.done(key) for key in ("dig", "cast", "drain", "beams")] == [1, 2, 3.5, 6.5]
    assert net.day("cast") == "Tue 05 May"
    assert net.day("beams") == "Tue 12 May"
    errand = Network((task("trip", trade="errands"), *tasks), {**hours, "trip": 2}, cure=7)
    done = [errand.done(key) for key in ("trip", "dig", "cast", "drain", "beams")]
    assert done == [0.25, 1.25, 2.25, 3.75, 7.5]
    assert errand.day("beams") == "Wed 13 May"


def test_an_inspection_a_lead_time_and_a_day_off_are_waited_for() -> None:
    """Forms 4 h (0.5) and a day held: 1.5. Pour 4 h: 2.0, on Tuesday, 5 May. No cure asked for.

    Lumber comes after 4 working days, on Friday; that is a day off, so on Monday, 11 May: with the
    day off taken out, still number 4. Frame 16 h: 6.0, on Tuesday, 12 May.
    """
    net = days.waits()
    assert net.day("pour") == "Tue 05 May"
    assert net.day("frame") == "Tue 12 May"


def test_work_that_an_option_lacks_takes_no_time_and_hands_no_wait_on() -> None:
    tasks = (
        task("dig"),
        task("cast", "dig", trade="concrete", wait="cure"),
        task("beams", "cast", trade="carpentry"),
        task("skids", "dig", trade="timber"),
    )
    net = Network(tasks, {"dig": 8, "cast": 0, "beams": 0, "skids": 4}, cure=0)
    assert net.done("skids") == 1.5
    assert net.done("beams") == 1.5
    cast = Network(tasks, {"dig": 8, "cast": 8, "beams": 0, "skids": 4}, cure=28)
    assert cast.done("skids") == 2.5


@st.composite
def networks(draw: st.DrawFn) -> tuple[tuple[Hours, ...], dict[str, float], dict[str, float]]:
    keys = [f"t{place}" for place in range(draw(st.integers(1, 8)))]
    trades = ("earthwork", "concrete", "carpentry", "errands")
    tasks = tuple(
        task(
            key,
            *(draw(st.sets(st.sampled_from(keys[:place]), max_size=2)) if place else ()),
            trade=draw(st.sampled_from(trades)),
            wait=f"{key}_cure" if draw(st.booleans()) else "",
        )
        for place, key in enumerate(keys)
    )
    hours = {key: float(draw(st.sampled_from((0, 1, 5, 8, 30)))) for key in keys}
    cure = {f"{key}_cure": float(draw(st.integers(0, 20))) for key in keys}
    return tasks, hours, cure


@given(networks())
def test_no_calendar_is_shorter_than_its_longest_chain(
    network: tuple[tuple[Hours, ...], dict[str, float], dict[str, float]],
) -> None:
    """In days of the calendar, chain by chain: work in days of 8 h, and cure after what is cast."""
    tasks, hours, cure = network
    net = Network(tasks, hours, **cure)
    longest: dict[str, float] = {}
    for one in as_worked(tasks):
        before = [longest[key] for key in one.after]
        cast = [key for key in one.after if f"{key}_cure" == {t.key: t for t in tasks}[key].wait]
        # From the morning after the day on which it is cast: what is left of that day is not lost.
        ready = [longest[key] + cure[f"{key}_cure"] - 1 for key in cast if hours[key] > 0]
        longest[one.key] = max([0, *before, *ready]) + hours[one.key] / 8
    for one in tasks:
        if hours[one.key] > 0:
            serial = float(np.squeeze(net.known[one.line("day")]))
            assert serial - number(MONDAY_4_MAY) + 1 >= longest[one.key] - 1e-9, one.key
    assert max(net.done(key) for key in hours) >= sum(hours.values()) / 8 - 1e-9


def test_tasks_in_a_circle_are_refused() -> None:
    with pytest.raises(RowError, match="comes after itself"):
        as_worked((task("dig", "fill"), task("fill", "dig")))


# --- the model's own ---


def item_row(job: TypedJob, key: str) -> int:
    """Line of the price book that an item stands on."""
    return next(
        row for (name, row), typed in job.cells.items() if (name, typed) == ("item_key", key)
    )


def test_work_of_every_trade_but_errands_waits_for_marked_lines_and_its_material() -> None:
    assert set(MATERIAL) == set(TRADES) - {"errands"}
    assert set(MATERIAL.values()) <= set(build_model().quantities)


@pytest.fixture(scope="module")
def piers() -> dict[str, Any]:
    """Piers, called on Friday, 1 May 2026; the Monday after is a day off; stone needs 10 days."""
    job = changed(
        one_option(PIERS),
        start_date=dt.date(2026, 5, 1),
        notice_days=2,
        holiday_date={0: dt.date(2026, 5, 4)},
        inspection_visits=1,
        concrete_sort="high early strength",
        vehicle_lb=800,
    )
    lead = {item_row(job, "beam_base"): 13, item_row(job, "stone_57"): 200}
    return solved(changed(job, item_lead_days=lead))


def test_the_days_of_a_job_on_piers_are_those_worked_by_hand(piers: dict[str, Any]) -> None:
    """Notice on Tuesday and Wednesday: dug from Thursday, 7 May, working day 3 from the call on.

    Concrete after earthwork, and a day held for the inspection. Cure of 3 days (ACI 318-11, 5.11.2,
    from memory) is over before hardware is there: 13 days after the call, on Thursday, 14 May,
    working day 8. Stone, of which nothing is bought, keeps nobody waiting.
    """
    on = partial(at, piers)
    assert on("dig_day") == number(dt.date(2026, 5, 7))
    assert on("dig_at") == 3
    cast = 3 + (on("earth_task") + on("supports_task")) / 16 + 1
    assert on("supports_done_at") == pytest.approx(cast)
    assert on("support_hold_days") == 1
    assert 4 < cast <= 5
    assert on("supports_day") == number(dt.date(2026, 5, 8))
    assert on("curing_days") == 3
    assert on("supports_cured_at") == 5
    assert on("lumber_lead") == 13
    assert on("lumber_at") == 8
    assert on("beams_done_at") == pytest.approx(8 + on("beams_task") / 16)
    assert on("beams_day") == number(dt.date(2026, 5, 14))
    assert on("stone_lead") == 0


def test_deliveries_come_in_order_on_the_day_that_needs_them(piers: dict[str, Any]) -> None:
    suppliers = [str(name) for name in block(piers, "load_supplier") if name]
    days = block(piers, "load_day")[: len(suppliers)]
    assert len(suppliers) == len(set(suppliers)) > 0
    assert list(days) == sorted(days)
    yard = suppliers.index("Lumber yard")
    assert days[yard] == number(dt.date(2026, 5, 7))
    # Ordered with the call, as its brackets need longer than there is; they come 13 days after it.
    assert block(piers, "load_order_day")[yard] == number(dt.date(2026, 5, 1))
    assert block(piers, "load_whole_day")[yard] == number(dt.date(2026, 5, 14))
    brought = block(piers, "item_brought_no") > 0
    pounds = np.nan_to_num(block(piers, "item_lb").astype(float))
    packs = block(piers, "item_packs") * block(piers, "item_pack")
    assert np.sum(block(piers, "load_lb")) == pytest.approx(np.sum((packs * pounds)[brought]))
    trips = block(piers, "load_trips")[: len(suppliers)]
    assert list(trips) == [np.ceil(x / 800) for x in block(piers, "load_lb")[: len(suppliers)]]
    assert block(piers, "load_what")[yard].endswith(" more")


def test_the_calendar_of_the_chosen_option_has_each_of_its_tasks_once(
    piers: dict[str, Any],
) -> None:
    tasks = [task for task in block(piers, "plan_task") if task]
    assert len(tasks) == len(set(tasks)) == np.count_nonzero(block(piers, "task_hours") > 0)
    begun, ended = (block(piers, key)[: len(tasks)] for key in ("plan_from", "plan_to"))
    assert (begun <= ended).all()
    assert (np.diff(begun) >= 0).all()
    assert max(ended) == at(piers, "ready_day")
