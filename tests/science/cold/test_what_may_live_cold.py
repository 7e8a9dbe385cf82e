"""What may live in the cold, against housing over all kinds and states, and against the leaflets named beside it."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import product
from typing import Any

import pytest

from archive.kinds import KIND_CODES, STATE_CODES
from conservation.science import cold
from conservation.science.figures import figures
from conservation.science.housing import Input, work_out
from conservation.science.sources import STATUSES, register
from conservation.science.words import codes


def _input(**values: Any) -> Input:
    return Input.model_validate(values)


def _check(values: dict[str, Any]) -> None:
    """What housing forbids is never allowed; what housing sends to the cold is never called unfit."""
    answer = cold.may_live_cold(_input(**values))
    told = work_out(_input(**values))
    sent = {"cold-store", "frozen-store"} & set(told["actions"])
    if answer.may:
        place = "freezer" if answer.fits("freezer") else "refrigerator"
        proposed = work_out(_input(**values, proposed={"location": place}))
        assert not [each for each in proposed["refused"] if each["what"] == "location"], values
        assert told["stop"] is None or told["stop"]["level"] == "take-care", values
    if answer.fits("freezer"):
        assert "freezing" not in told["never"], values
    if sent:
        assert answer.verdict not in ("never", "no-need"), (values, answer.verdict)
    if "frozen-store" in sent and answer.may:
        assert answer.verdict in ("freezer", "refrigerator"), values
    assert answer.reasons and all(each.citation.key in register() for each in answer.reasons)


def test_every_kind_in_every_state_agrees_with_housing() -> None:
    for kind, state in product(sorted(KIND_CODES), sorted(STATE_CODES)):
        _check({"kind": kind, "states": [state]})


@pytest.mark.parametrize("base", [None, "nitrate", "acetate", "polyester"])
def test_every_film_of_every_base_age_and_strip_agrees_with_housing(base: str | None) -> None:
    film = [
        kind for kind in KIND_CODES if "film" in kind or "cine" in kind or kind in ("colour-negative", "mounted-slide")
    ]
    for kind, strip, year in product(film, (None, 0, 1, 1.5, 2, 3), (None, "1930-01-01", "1960-01-01")):
        made = {"earliest": year} if year else None
        for state in ("sound", "vinegar-smell", "acrid-smell", "tacky", "wet"):
            _check({"kind": kind, "base": base, "strip_level": strip, "made": made, "states": [state]})


@pytest.mark.parametrize(
    ("kind", "verdict"),
    [
        # S. Wagner 1991 and LOC supply notes: colour and acetate in the cold; IPI 2001: by the strip.
        ("colour-print", "either"), ("acetate-film", "either"), ("mounted-slide", "either"),
        ("colour-negative", "either"),
        # IPM Working Group, low-temperature fact sheet: no paintings, cased photographs, glass plates, tape.
        ("oil-or-acrylic-painting", "never"), ("daguerreotype", "never"), ("glass-negative", "never"),
        ("magnetic-tape", "never"), ("autochrome", "never"), ("instant-print", "never"),
        ("framed-work-on-paper", "never"),
        # Kodak H-182: nitrate is a matter for the fire service.
        ("nitrate-film", "ask-first"), ("film-unknown", "ask-first"),
        ("letter", "no-need"), ("silver-gelatin-print", "no-need"), ("quilt", "no-need"),
    ],
)  # fmt: skip
def test_what_the_leaflets_say(kind: str, verdict: str) -> None:
    assert cold.may_live_cold(_input(kind=kind)).verdict == verdict


def test_a_part_that_must_not_freeze_governs() -> None:
    assert cold.may_live_cold(_input(kind="photo-album", parts=["colour-print", "instant-print"])).verdict == "never"


def test_strip_level_two_wants_frost() -> None:
    """IPI, User guide to the acid-sensing strip test: level 2 freeze."""
    made = {"earliest": "1960-01-01"}
    assert cold.may_live_cold(_input(kind="acetate-film", strip_level=2, made=made)).verdict == "freezer"
    assert cold.may_live_cold(_input(kind="acetate-film", strip_level=1, made=made)).verdict == "either"


def test_the_longer_of_two_published_times_is_used() -> None:
    """S. Wagner, NARA 1991: 30 minutes for one or two photographs, two to four hours for boxes."""
    few, box = cold.warm_up("one-or-two"), cold.warm_up("box")
    assert few.first_h == (0.5, 0.5) and box.first_h == (2, 4)
    for package in cold.PACKAGES:
        row = cold.warm_up(package)
        assert row.used_h == max(*row.first_h, *row.second_h)
    times = [cold.warm_up(package).used_h for package in cold.PACKAGES]
    assert times == sorted(times)
    out = datetime(2026, 10, 24, 22, 0, tzinfo=UTC)  # over the night on which European clocks go back
    assert (cold.opens_at(out, "box") - out).total_seconds() == box.used_h * 3600


def test_size_of_package() -> None:
    assert [cold.package_of(n, False) for n in (1, 2, 3)] == ["one-or-two", "one-or-two", "packet"]
    assert cold.package_of(1, True) == "box"


@pytest.mark.parametrize(
    ("appliance", "frost_free", "no_food", "temperature", "ready"),
    [
        ("refrigerator", True, True, 4.0, True), ("refrigerator", True, True, 9.0, False),
        ("refrigerator", True, True, -2.0, False), ("freezer", True, True, -18.0, True),
        ("freezer", True, True, 2.0, False), ("freezer", False, True, -18.0, False),
        ("freezer", None, True, -18.0, False), ("freezer", True, False, -18.0, False),
        ("freezer", True, True, None, False),
    ],
)  # fmt: skip
def test_a_place_is_ready_only_when_all_is_known_and_well(
    appliance: Any, frost_free: bool | None, no_food: bool, temperature: float | None, ready: bool
) -> None:
    judged = cold.judge_place(appliance, frost_free, no_food, temperature)
    assert judged.ready is ready and bool(judged.against) is not ready


def test_rows_are_whole() -> None:
    assert figures("ageing")  # the register loads
    table = cold.table()
    rows = [*table["kinds"].values(), *table["not_yet"].values(), *table["range"].values(), *table["place"].values()]
    rows += [table["check"], table["pack"], *table["warm_up_source"].values(), *table["power"].values()]
    for row in rows:
        assert row["say"] and row["locator"] and row["source"] in register() and row["status"] in STATUSES
    for group in table["kinds"].values():
        assert set(group["kinds"]) <= set(KIND_CODES) and group["verdict"] in ("never", "ask-first")
    assert {row["state"] for row in table["not_yet"].values()} <= set(STATE_CODES)
    assert set(cold.VERDICTS) == set(codes("cold_verdict"))
    assert set(cold.PACKAGES) == set(codes("cold_package")) == set(table["warm_up"])
    assert set(cold.APPLIANCES) == set(codes("cold_appliance")) == set(table["range"]) == set(table["power"])
