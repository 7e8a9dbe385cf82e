"""What stands on a room's list, and how often: by table, and by what may never happen."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.kinds import KIND_CODES
from conservation.science.rounds import (
    Fill,
    Situation,
    cautions,
    checks,
    checks_for,
    due_on,
    interval,
    judge_air,
    room_words,
)
from conservation.science.rounds.tables import groups, steps
from conservation.science.sources import register
from conservation.science.words import codes, word

RISKS = ("open_findings", "found_lately", "risky_floor", "threatened", "damp", "caught")


def _codes(**fill: Any) -> set[str]:
    return {check.code for check in checks_for(room_words(Fill(**fill)))}


def test_an_air_conditioner_is_asked_about_only_where_there_is_one() -> None:
    """Point 5 of the task: only rooms and equipment that exist."""
    assert "air-conditioner" not in _codes()
    assert "air-conditioner" not in _codes(equipment=("dehumidifier",), heat=("radiator",))
    assert "air-conditioner" in _codes(equipment=("air-conditioner",))


@pytest.mark.parametrize(
    ("fill", "there", "not_there"),
    [
        (
            {},
            {"leaks", "smell", "droppings", "mould", "insects", "window-seals", "door-seals", "dust"},
            {"roof", "moth"},
        ),
        ({"windows": 0}, {"door-seals"}, {"window-seals", "sunlight"}),
        ({"windows": 2}, {"window-seals", "sunlight"}, set()),
        ({"floor": "loft"}, {"roof"}, {"ground-water"}),
        ({"floor": "cellar"}, {"ground-water"}, {"roof"}),
        (
            {"kinds": frozenset({"wool-textile"})},
            {"moth", "textile-boxes", "tenth-box"},
            {"film-smell", "metal-things"},
        ),
        ({"kinds": frozenset({"acetate-film"})}, {"film-smell"}, {"moth"}),
        ({"kinds": frozenset({"iron-or-steel"})}, {"metal-things"}, {"leather-and-fur"}),
        ({"furniture": frozenset({"powder-coated-steel"})}, {"metal-shelves"}, {"sticky-timber"}),
        ({"furniture": frozenset({"oak"})}, {"sticky-timber", "woodworm"}, {"metal-shelves"}),
        ({"heat": ("stove",)}, {"heat", "lagging"}, {"pipes"}),
        ({"heat": ("none",)}, set(), {"heat"}),
        ({"water": ("pipes",)}, {"pipes"}, {"roof"}),
    ],
)
def test_the_list_is_made_from_this_room(fill: Any, there: set[str], not_there: set[str]) -> None:
    found = _codes(**fill)
    assert there <= found and not not_there & found


def test_every_word_of_a_condition_is_one_that_rooms_can_have() -> None:
    lists = {"floor": "room_floor", "heat": "room_heat", "water": "room_water", "equipment": "room_equipment"}
    plain = {"windows", "outside-wall", "stands:metal", "stands:wood", *(f"holds:{code}" for code in groups())}
    for check in checks().values():
        for each in check.when - plain:
            kind, _, code = each.partition(":")
            assert code in codes(lists[kind]), f"{check.code}: {each}"


def test_what_the_task_names_is_looked_smelt_and_felt_for() -> None:
    """Pests, mould, water and heat damage, seals, filters, odd smells, rust on metal units, sticky timber, dust."""
    named = {
        "insects", "mould", "leaks", "heat", "window-seals", "door-seals", "air-conditioner", "smell", "metal-shelves",
        "sticky-timber", "dust",
    }  # fmt: skip
    assert named <= checks().keys()
    assert {sense for check in checks().values() for sense in check.senses} == {"look", "smell", "feel"}


def test_mould_droppings_water_and_ladders_come_with_their_caution() -> None:
    pairs = {"mould": "mould", "droppings": "droppings", "leaks": "mains", "roof": "ladder", "pipes": "mains"}
    assert {code: checks()[code].caution for code in pairs} == pairs
    for caution in cautions().values():
        assert caution.call and all(word("call", code) for code in caution.call)


def test_every_row_names_a_source_and_known_kinds() -> None:
    for row in (*checks().values(), *steps().values(), *cautions().values()):
        assert row.citation.key in register() and row.citation.locator
    for members in groups().values():
        assert members and members <= KIND_CODES


# The days at rest are those of the reference on housing §8: weekly walk-through (CC-HK), monthly sills and behind
# furniture (IPM Working Group), quarterly wool and fur (Museum of London), half-yearly leather (Western Australian
# Museum), yearly textile boxes (textile conservation studio).
@pytest.mark.parametrize(
    ("code", "situation", "days"),
    [
        ("leaks", Situation(), 7),
        ("smell", Situation(), 7),
        ("insects", Situation(), 30),
        ("moth", Situation(), 91),
        ("moth", Situation(threatened=True), 60),
        ("moth", Situation(threatened=True, risky_floor=True), 30),
        ("moth", Situation(threatened=True, open_findings=1), 14),
        ("moth", Situation(threatened=True, open_findings=3, risky_floor=True, damp=True), 14),
        ("moth", Situation(cool=True), 182),
        ("leather-and-fur", Situation(), 182),
        ("textile-boxes", Situation(), 365),
        ("mould", Situation(damp=True), 14),
        ("mould", Situation(damp=True, risky_floor=True), 7),
        ("insects", Situation(fine_run=3), 60),
        ("insects", Situation(caught=True), 14),
        ("dust", Situation(caught=True), 30),
        ("insects", Situation(fine_run=3, found_lately=True), 14),
        ("leaks", Situation(fine_run=30), 14),
        ("smoke-alarm", Situation(open_findings=1), 30),
        ("sunlight", Situation(damp=True, risky_floor=True), 7),
    ],
)
def test_intervals_by_table(code: str, situation: Situation, days: int) -> None:
    assert interval(checks()[code], situation).days == days


_situations = st.builds(
    Situation,
    open_findings=st.integers(0, 3),
    found_lately=st.booleans(),
    risky_floor=st.booleans(),
    threatened=st.booleans(),
    caught=st.booleans(),
    damp=st.sampled_from([None, False, True]),
    cool=st.sampled_from([None, False, True]),
    fine_run=st.integers(0, 9),
)


@given(st.sampled_from(sorted(checks())), _situations, st.sampled_from(RISKS))
def test_one_more_risk_never_makes_a_check_rarer(code: str, situation: Situation, risk: str) -> None:
    from dataclasses import replace

    check = checks()[code]
    worse: Any = {risk: max(situation.open_findings, 1) if risk == "open_findings" else True}
    calm, pressed = interval(check, situation), interval(check, replace(situation, **worse))
    assert pressed.days <= calm.days
    assert check.least <= pressed.days <= calm.days <= check.most
    # The reason is shown for every step taken.
    assert calm.reasons[0].words == f"at rest every {check.days} days" and all(each.words for each in pressed.reasons)


def test_what_was_never_looked_at_is_due_today() -> None:
    every = interval(checks()["dust"], Situation())
    assert due_on(None, every, date(2026, 5, 1)) == date(2026, 5, 1)
    assert due_on(date(2026, 4, 20), every, date(2026, 5, 1)) == date(2026, 5, 20)


# CCI Notes 3/3: below about 15 °C growth, feeding and breeding slow or stop. 70 % is our default for damp-lovers;
# a mould index of 1 is growth under the microscope (Hukka and Viitanen 1999).
@pytest.mark.parametrize(
    ("p95", "warmest", "peak", "days", "expected"),
    [
        (60, 22, 0.0, 365, (False, False)),
        (70, 22, None, 365, (True, False)),
        (60, 22, 1.0, 365, (True, False)),
        (60, 14.9, 0.2, 365, (False, True)),
        (60, 15, 0.2, 365, (False, False)),
        (60, 12, 0.2, 10, (False, None)),
    ],
)
def test_what_was_measured_counts(p95: float, warmest: float, peak: float | None, days: float, expected: Any) -> None:
    assert judge_air(p95, warmest, peak, days) == expected
