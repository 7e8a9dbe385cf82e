"""Treatment by cold: what counts, when it is done, what is refused; consistent with housing’s `never`."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archive.kinds import KIND_CODES, STATE_CODES
from conservation.science import freezing
from conservation.science.freezing import Cycle, Reading, assess, refusals, regimes
from conservation.science.housing import Input, work_out
from conservation.science.sources import register

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


def _at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def _readings(pairs: list[tuple[float, float]]) -> list[Reading]:
    return [Reading(_at(hours), celsius) for hours, celsius in pairs]


def _daily(celsius: float, days: int, start: float = 4) -> list[tuple[float, float]]:
    return [(start + 24 * day, celsius) for day in range(days + 1)]


# Outside texts as the references on climate (§7) and housing (§8) quote them: The Textile Museum (a week at −20 °C),
# Conserve O Gram 3/6 of 1994 (two 48-hour cycles at −20 °C or below with a thaw between), practice (−30 °C 3 days,
# −18 °C 14 days, from memory), CCI Notes 3/3 (below 15 °C insects only slow down).
@pytest.mark.parametrize(
    ("celsius", "days", "done_after", "by"),
    [
        (-20, 7, 168, "week"),
        (-25, 7, 168, "week"),
        (-20, 6, None, None),
        (-30, 3, 72, "three-days"),
        (-35, 3, 72, "three-days"),
        (-29, 3, None, None),
        (-18, 14, 336, "fortnight"),
        (-18, 13, None, None),
        (-19.9, 14, 336, "fortnight"),
        (-17.9, 60, None, None),
        (-5, 100, None, None),
        (4, 300, None, None),
        (15, 300, None, None),
    ],
)
def test_how_cold_and_how_long(celsius: float, days: int, done_after: int | None, by: str | None) -> None:
    answer = assess([Cycle(START)], _readings(_daily(celsius, days)))
    assert answer.done_at == (None if done_after is None else _at(4 + done_after))
    assert (answer.by.code if answer.by else None) == by
    assert (answer.standing == "done") is (done_after is not None)


def test_warmer_than_eighteen_below_is_no_treatment_and_says_so() -> None:
    assert freezing.warmest_c() == -18
    assert assess([Cycle(START)], _readings(_daily(-12, 5))).standing == "too-warm"
    assert assess([Cycle(START)], []).standing == "no-readings"
    assert assess([Cycle(START)], _readings([(0, 19), (2, 3), (4, -8)])).standing == "cooling"


def test_twice_forty_eight_hours_wants_a_thaw_between() -> None:
    out, again = _at(60), _at(60 + 30)
    cold = [(4.0, -21.0), (28, -22), (52, -22), (60, -21), (94, -21), (118, -22), (142, -22)]
    answer = assess([Cycle(START, out), Cycle(again)], _readings(cold))
    assert answer.by and answer.by.code == "twice" and answer.done_at == _at(94 + 48)
    # Put back after six hours it is one broken stay, not two.
    quick = assess([Cycle(START, out), Cycle(_at(66))], _readings([*cold[:4], (70, -21), (94, -22), (118, -22)]))
    assert quick.done_at is None


def test_one_warm_reading_begins_the_time_anew() -> None:
    steady = [(4.0 + 12 * n, -22.0) for n in range(20)]
    warmed = [(at, 1.0 if at == 100 else celsius) for at, celsius in steady]
    assert assess([Cycle(START)], _readings(steady)).done_at == _at(172)
    after = assess([Cycle(START)], _readings(warmed))
    assert after.done_at is None and after.next_end == _at(112 + 168)
    assert assess([Cycle(START)], _readings([*steady[:9], (112, 2.0)])).standing == "broken"


def test_what_nobody_measured_does_not_count() -> None:
    """Two readings a week apart say nothing of the days between; and after the last one nothing is known."""
    assert assess([Cycle(START)], _readings([(4, -22), (4 + 168, -22)])).done_at is None
    running = assess([Cycle(START)], _readings(_daily(-22, 3)))
    assert running.standing == "running" and running.next_end == _at(4 + 168)


def test_readings_out_of_the_freezer_do_not_count() -> None:
    answer = assess([Cycle(START, _at(100))], _readings(_daily(-22, 7)))
    assert answer.done_at is None and answer.next_end is None


_temperatures = st.floats(-40, 25, allow_nan=False)
_logs = st.lists(st.tuples(st.integers(0, 900), _temperatures), min_size=1, max_size=40)


@settings(max_examples=300)
@given(_logs, st.lists(st.floats(0, 30), min_size=40, max_size=40), st.integers(50, 400), st.booleans())
def test_warmer_never_finishes_earlier(
    log: list[tuple[int, float]], warmer_by: list[float], first_out: int, two: bool
) -> None:
    cycles = [Cycle(START, _at(first_out)), Cycle(_at(first_out + 24))] if two else [Cycle(START)]
    warm = [(at, celsius + more) for (at, celsius), more in zip(log, warmer_by, strict=False)]
    cold_end = assess(cycles, _readings([(float(at), c) for at, c in log])).done_at
    warm_end = assess(cycles, _readings([(float(at), c) for at, c in warm])).done_at
    assert warm_end is None or (cold_end is not None and cold_end <= warm_end)


@settings(max_examples=100)
@given(_logs)
def test_a_treatment_has_the_hours_its_regime_asks_for(log: list[tuple[int, float]]) -> None:
    answer = assess([Cycle(START)], _readings([(float(at), c) for at, c in log]))
    if answer.by is not None and answer.done_at is not None:
        first = min(at for at, c in log if c <= answer.by.at_most_c)
        assert answer.done_at - _at(first) >= timedelta(hours=answer.by.hours)


# -- what is refused ---------------------------------------------------------------------------------------------------


def test_over_every_kind_and_state_what_housing_never_freezes_is_refused() -> None:
    """Housing's `never` and this table may not disagree, and `pest-freeze` is never advised for what is refused."""
    asked = 0
    for kind in sorted(KIND_CODES):
        for state in sorted(STATE_CODES):
            answer: dict[str, Any] = work_out(Input.model_validate({"kind": kind, "states": [state]}))
            refused = any(each.level == "never" for each in refusals(kind, [state]))
            if "freezing" in answer["never"]:
                assert refused, f"{kind} {state}: housing never freezes it"
            if refused:
                assert "pest-freeze" not in answer["actions"], f"{kind} {state}: housing would freeze it"
            asked += 1
    assert asked == len(KIND_CODES) * len(STATE_CODES)


# The list of the IPM Working Group's fact sheet (museumpests.net) as the reference on climate §7 I6 gives it.
@pytest.mark.parametrize(
    "kind",
    [
        "oil-or-acrylic-painting", "silver-gelatin-print", "salted-or-albumen-print", "magnetic-tape", "grooved-disc",
        "daguerreotype", "ambrotype", "miniature", "glass-negative", "lantern-slide", "celluloid-object",
        "framed-work-on-paper", "nitrate-film", "unknown",
    ],
)  # fmt: skip
def test_the_published_never_list_is_refused(kind: str) -> None:
    found = refusals(kind)
    assert found and found[0].level == "never" and found[0].because and found[0].instead


@pytest.mark.parametrize(
    "kind", ["wool-textile", "carpet", "leather", "book", "letter", "wooden-object", "fur", "basketry"]
)
def test_dry_textile_leather_wood_and_paper_may_be_frozen(kind: str) -> None:
    """What Conserve O Gram 3/6 treats: only dry textile, leather, wood, paper; but never wet."""
    assert refusals(kind) == ()
    assert {each.code for each in refusals(kind, ["wet"])} >= {"wet"}
    assert {each.code for each in refusals(kind, answers=["inlaid"])} == {"inlaid"}


@pytest.mark.parametrize("kind", ["acetate-film", "cine-acetate", "resin-coated-print", "colour-print"])
def test_acetate_film_and_modern_prints_are_the_exception(kind: str) -> None:
    assert refusals(kind) == ()


def test_glass_bone_and_shell_want_a_conservator() -> None:
    for kind in ("glass", "ivory-bone-horn", "shell-or-coral"):
        assert [each.level for each in refusals(kind)] == ["ask"]


def test_the_part_that_suffers_most_governs() -> None:
    assert refusals("knitted-garment") == ()
    assert any(each.level == "never" for each in refusals("knitted-garment", parts=["celluloid-object"]))


def test_statuses_are_those_of_the_reference() -> None:
    told = {each.code: each.citation.status for each in regimes()}
    assert told == {
        "week": "confirmed", "twice": "confirmed", "three-days": "from memory", "fortnight": "from memory",
    }  # fmt: skip
    for topic in freezing.disagreements():
        assert len(topic["positions"]) >= 2 and topic["used"]
        assert all(each["source"] in register() for each in topic["positions"])
