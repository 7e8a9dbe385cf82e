"""The `housing` sum against its contract: closed lists, no contradiction, and the clauses one by one."""

from __future__ import annotations

import itertools
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archive.kinds import KIND_CODES, STATE_CODES, kind
from conservation.science.housing import Input, explain, flags
from conservation.science.housing.situation import LEVELS
from conservation.science.housing.tables import care, handling, hazards, rows, verdicts
from conservation.science.problem import InputError
from conservation.science.sources import register
from conservation.science.words import codes
from conservation.topics import answer

KINDS, STATES = sorted(KIND_CODES), sorted(STATE_CODES)
FORBIDS = {
    "rolling": lambda a: a["position"] == "rolled" or any(e["form"] == "tube-outside" for e in a["enclosures"]),
    "folding": lambda a: a["position"] == "folded-padded",
    "hanging": lambda a: a["position"] == "hung" or any(e["form"] == "padded-hanger" for e in a["enclosures"]),
    "laying-flat": lambda a: a["position"] == "flat",
    "stacking": lambda a: a["max_stack"] is not None and a["max_stack"] > 1,
    "plastic-sleeve": lambda a: any(
        e["form"] in ("sleeve", "polyester-jacket", "bag") and e["material"].startswith("poly") for e in a["enclosures"]
    ),
    "sealed-plastic": lambda a: any(e["form"] == "bag" or e["material"] == "silica-gel-box" for e in a["enclosures"]),
    "buffered-contact": lambda a: (
        any(e["buffering"] in ("buffered", "either") for e in a["enclosures"]) or a["interleaf"].startswith("buffered")
    ),
    "freezing": lambda a: "pest-freeze" in a["actions"],
    "moving": lambda a: "move-room" in a["actions"],
    "cotton-gloves": lambda a: "cotton-lint-free" in a["gloves"],
    "bare-hands": lambda a: bool({"bare-clean", "none-needed"} & set(a["gloves"])),
    "cleaning": lambda a: "dust-soft-brush" in a["prepare"],
    "playing-or-powering": lambda a: False,
}


def advise(**problem: Any) -> dict[str, Any]:
    return answer("housing", json.dumps(problem))


def check_lists(given_: str, a: dict[str, Any]) -> None:
    """Every code stands in its closed list (words/en.toml holds the lists), and nothing contradicts `never`."""
    for e in a["enclosures"]:
        assert e["form"] in codes("form") and e["material"] in codes("material"), (given_, e)
        assert e["buffering"] in codes("buffering"), (given_, e)
    for name in ("support", "interleaf", "position", "fill"):
        assert a[name] in codes(name), (given_, name, a[name])
    for name in ("never", "gloves", "actions", "prepare", "meanwhile"):
        assert set(a[name]) <= set(codes(name)), (given_, name)
        assert len(a[name]) == len(set(a[name])), (given_, name)
    for caution in a["cautions"]:
        assert caution["code"] in codes("hazard")
    for forbidden, recommended in FORBIDS.items():
        if forbidden in a["never"]:
            assert not recommended(a), (given_, forbidden, a)


def test_care_and_kinds_have_the_same_codes_and_no_empty_cell() -> None:
    assert set(care()) == set(KIND_CODES)
    for code, row in care().items():
        assert row.housing in rows(), code
        assert row.climate or code in ("ammunition", "fire-grenade"), code
        assert row.handling in handling(), code
        assert len(rows()[row.housing].sensitivity) == 4 and set(rows()[row.housing].sensitivity) <= {0, 1, 2, 3}
    assert {row.handling for row in care().values()} == set(handling())


def test_a_confirmed_cell_has_its_own_source_and_locator() -> None:
    for code, row in rows().items():
        for cell, citation in row.cited.items():
            assert citation.key in register(), (code, cell)
            assert citation.locator, (code, cell)
        for cell in ("enclosures", "buffering", "interleaf", "support", "position", "fill", "never", "gloves"):
            if row.citation(cell).status == "confirmed":
                assert cell in row.cited, (code, cell)


def test_every_code_of_every_list_has_words() -> None:
    for which in ("furniture", "location", "enclosure"):
        assert set(verdicts()[which]) == set(codes(which))
    assert set(hazards()) == set(codes("hazard"))
    for hazard in hazards().values():
        assert set(hazard.call) <= set(codes("call"))


def test_full_product_of_kinds_and_states_answers_without_contradiction() -> None:
    for kind_code, state in itertools.product(KINDS, STATES):
        a = advise(kind=kind_code, states=[state])
        check_lists(f"{kind_code}+{state}", a)
        assert a["climate"].keys() >= {"code", "home_ok"}
        if a["stop"] and a["stop"]["level"] == "leave-and-call":
            assert a["enclosures"] == [] and a["climate"]["code"] is None and a["room_verdict"] == "unmeasured"
        elif state == "wet":
            assert [e["form"] for e in a["enclosures"]] == ["open-tray"]
        else:
            assert a["enclosures"], (kind_code, state)
        # The sums' contract: these five states, and dusting is the ordinary advice that the first two levels block.
        no_dust = state in {"friable", "flaking", "shattered-silk", "mould-active", "wet"}
        no_dust |= a["stop"] is not None and a["stop"]["level"] != "take-care"
        said = [code for code in a["prepare"] if code in ("no-dusting", "dust-soft-brush")]
        assert said == ["no-dusting" if no_dust else "dust-soft-brush"], (kind_code, state)


PROBLEMS = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(KINDS),
        "states": st.lists(st.sampled_from([s for s in STATES if s != "sound"]), max_size=3, unique=True),
        "parts": st.lists(st.sampled_from(KINDS), max_size=2, unique=True),
        "use": st.sampled_from(["rare", "monthly", "weekly"]),
        "width_mm": st.sampled_from([50.0, 300.0, 900.0]),
        "height_mm": st.sampled_from([50.0, 300.0, 1200.0]),
        "depth_mm": st.sampled_from([0.2, 20.0]),
        "count": st.sampled_from([1, 12]),
    }
)
SWING = st.tuples(st.integers(0, 30), st.integers(0, 8)).map(lambda p: [float(p[0]), float(p[0] + p[1])])
DAMP = st.tuples(st.integers(10, 85), st.integers(0, 15)).map(lambda p: [float(p[0]), float(p[0] + p[1])])


@settings(max_examples=250, deadline=None)
@given(PROBLEMS, SWING, DAMP)
def test_no_problem_contradicts_itself(
    problem: dict[str, Any], temperature: list[float], humidity: list[float]
) -> None:
    room = {"temperature_c": temperature, "relative_humidity_pct": humidity}
    a = advise(**problem, room=room)
    check_lists(str(problem), a)
    if humidity[1] > 65 and a["enclosures"] and not (a["stop"] and a["stop"]["level"] == "isolate-first"):
        first = a["enclosures"][0]
        assert not (first["form"] in ("sleeve", "bag", "polyester-jacket") and first["material"].startswith("poly"))
    if humidity[1] > 65 and "moving" not in a["never"]:
        assert a["actions"][0] == "move-room"


@settings(max_examples=150, deadline=None)
@given(
    PROBLEMS,
    st.sampled_from([s for s in STATES if s.endswith("suspect") or s in ("sharp", "live-pest", "mould-active")]),
)
def test_adding_a_hazard_never_removes_a_caution(problem: dict[str, Any], hazard: str) -> None:
    before = advise(**problem)
    after = advise(**{**problem, "states": sorted({*problem["states"], hazard})})
    assert {c["code"] for c in before["cautions"]} <= {c["code"] for c in after["cautions"]}

    def level(a: dict[str, Any]) -> int:
        return LEVELS.index(a["stop"]["level"]) if a["stop"] else -1

    assert level(after) >= level(before)


ORDER = {"suits": 0, "watch": 1, "unsuitable": 2}


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(KINDS), SWING, DAMP, st.integers(1, 10))
def test_a_wider_room_never_gets_a_better_verdict(
    kind_code: str, temperature: list[float], humidity: list[float], more: int
) -> None:
    narrow = advise(kind=kind_code, room={"temperature_c": temperature, "relative_humidity_pct": humidity})
    wide = advise(
        kind=kind_code,
        room={
            "temperature_c": [temperature[0] - more, temperature[1] + more],
            "relative_humidity_pct": [max(0.0, humidity[0] - more), min(100.0, humidity[1] + more)],
        },
    )
    if narrow["room_verdict"] != "unmeasured":
        assert ORDER[wide["room_verdict"]] >= ORDER[narrow["room_verdict"]]


@pytest.mark.parametrize(
    ("problem", "path"),
    [
        ({"kind": "lettre"}, "kind"),
        ({"kind": "letter", "states": ["sound", "torn"]}, "states: "),
        ({"kind": "letter", "colour": "red"}, "colour"),
        ({"kind": "letter", "width_mm": True}, "width_mm"),
        ({"kind": "letter", "width_mm": -3}, "width_mm"),
        ({"kind": "letter", "strip_level": 4}, "strip_level"),
        ({"kind": "letter", "strip_level": True}, "strip_level"),
        ({"kind": "letter", "room": {"temperature_c": [20, None]}}, "room.temperature_c[1]"),
        ({"kind": "letter", "room": {"temperature_c": [20, 10]}}, "room.temperature_c"),
        ({"kind": "letter", "proposed": {"ph": "7"}}, "proposed.ph"),
        ({"kind": "letter", "parts": ["ribbon"]}, "parts[0]"),
        ({}, "kind"),
    ],
)
def test_unusable_input_is_named_by_its_path(problem: dict[str, Any], path: str) -> None:
    with pytest.raises(InputError) as caught:
        advise(**problem)
    assert path in str(caught.value)
    assert "\n" not in str(caught.value)


def test_flags_agree_with_the_whole_advice() -> None:
    for kind_code, state in itertools.product(KINDS, ["sound", "mould-active", "acrid-smell", "weeping", "broken"]):
        a = advise(kind=kind_code, states=[state])
        level, found = flags(kind_code, (state,))
        assert (a["stop"]["level"] if a["stop"] else None) == level
        assert {c["code"] for c in a["cautions"]} == set(found)


def test_every_recommendation_can_be_explained() -> None:
    for kind_code in KINDS:
        problem = Input(kind=kind_code)
        a = advise(kind=kind_code)
        explained = {(e.field, e.code) for e in explain(problem)}
        for e in a["enclosures"]:
            assert ("enclosures", e["form"]) in explained
        for code in a["never"]:
            assert ("never", code) in explained
        assert kind(kind_code).name


def test_what_is_infested_is_bagged_until_it_is_treated() -> None:
    """IPM Working Group, low-temperature fact sheet: sealed in polyethylene before it goes into the cold."""
    for name in ("wool-textile", "basketry", "garment", "quilt"):
        a = advise(kind=name, states=["live-pest"])
        assert [(e["form"], e["material"]) for e in a["enclosures"]] == [("bag", "polyethylene")], name
        assert "sealed-plastic" not in a["never"] and "washed-cotton-sheet" not in a["meanwhile"], name
    # What gives off fumes is not closed in, insects or not.
    both = advise(kind="celluloid-object", states=["live-pest", "weeping"])
    assert "sealed-plastic" in both["never"] and all(e["form"] != "bag" for e in both["enclosures"])


def test_a_mercury_barometer_is_not_put_into_a_bag() -> None:
    a = advise(kind="mercury-instrument")
    assert a["stop"]["level"] == "isolate-first" and all(e["form"] != "bag" for e in a["enclosures"])
    assert "laying-flat" in a["never"] and "no-dusting" in a["prepare"]


def test_what_is_measured_is_told_in_whole_units() -> None:
    room = {"temperature_c": [4.87, 33.89], "relative_humidity_pct": [43.2, 58.42]}
    a = advise(kind="iron-or-steel", room=room)
    assert any("reaches 34 °C; at most 24 °C" in each for each in a["room_reasons"])
    assert any("reaches 58 %; at most 55 %" in each for each in a["room_reasons"])
    near = advise(kind="iron-or-steel", room={**room, "relative_humidity_pct": [43.2, 55.3]})
    assert any("reaches 55.3 %; at most 55 %" in each for each in near["room_reasons"])
