"""Given → expected, each against the source named beside it (section and clause tables of the trade's leaflets)."""

from __future__ import annotations

import json
from typing import Any

import pytest

from conservation.science.housing.advice import explain
from conservation.science.housing.problem import Input
from conservation.science.problem import InputError
from conservation.topics import answer


def advise(**problem: Any) -> dict[str, Any]:
    return answer("housing", json.dumps(problem))


def forms(a: dict[str, Any]) -> list[str]:
    return [e["form"] for e in a["enclosures"]]


def refused(a: dict[str, Any]) -> set[str]:
    return {each["what"] for each in a["refused"]}


def test_cyanotype_is_unbuffered_and_flat() -> None:
    """CCAHA, ISO standards for housing photographs worksheet: cyanotypes must be unbuffered."""
    a = advise(kind="cyanotype", room={"relative_humidity_pct": 45})
    assert {e["buffering"] for e in a["enclosures"] if e["material"] == "paper-or-board"} == {"unbuffered"}
    assert a["position"] == "flat" and "buffered-contact" in a["never"]


@pytest.mark.parametrize(
    ("kind", "ph", "ok"),
    [
        # S. Wagner 2000 quoting ANSI IT9.2: colour 7.0-8.0, black-and-white 7.0-9.5; LOC: permanent paper 7.5-10.
        ("colour-print", 9.2, False), ("resin-coated-print", 9.2, False), ("colour-print", 7.5, True),
        ("silver-gelatin-print", 9.2, True), ("silver-gelatin-print", 9.6, False), ("glass-negative", 6.9, False),
        ("letter", 8.5, True), ("letter", 7.0, False), ("cyanotype", 8.6, False), ("cyanotype", 6.6, True),
        ("silk-textile", 9.0, False), ("acetate-film", 9.0, True),
    ],
)  # fmt: skip
def test_ph_bands(kind: str, ph: float, ok: bool) -> None:
    assert ("ph" in refused(advise(kind=kind, proposed={"ph": ph}))) is not ok


def test_sound_glass_negative_stands_on_its_long_edge() -> None:
    """NARA, How do I house glass plate negatives?"""
    a = advise(kind="glass-negative", width_mm=203, height_mm=254, depth_mm=2.2)
    assert a["position"] == "upright-long-edge"
    assert forms(a)[0] == "paper-envelope" and "document-box" in forms(a)
    assert a["interleaf"] == "board" and a["fill"] == "part-filled"
    assert "cotton-gloves" in a["never"] and a["gloves"] == ["nitrile"]
    assert "gloves" in refused(advise(kind="glass-negative", proposed={"gloves": "cotton-lint-free"}))


def test_flaking_glass_negative_lies_flat() -> None:
    """NARA, same: the upright rule is for unbroken, unflaking plates."""
    a = advise(kind="glass-negative", states=["flaking"])
    assert a["position"] == "flat" and "sleeve" not in forms(a) and "laying-flat" not in a["never"]


def test_nitrate_film() -> None:
    """Kodak H-182: at most 21 °C, below 50 % RH, never sealed."""
    a = advise(kind="nitrate-film", count=3)
    assert a["stop"]["level"] == "isolate-first" and a["stop"]["call"][0] == "fire-service"
    assert "sealed-plastic" in a["never"]
    assert a["climate"]["temperature_max_c"] == 21 and a["climate"]["rh_max_pct"] == 50
    assert advise(kind="nitrate-film", states=["acrid-smell"])["stop"]["level"] == "leave-and-call"
    assert advise(kind="nitrate-film", weight_g=22_700)["stop"]["level"] == "leave-and-call"
    assert advise(kind="nitrate-film", weight_g=22_699)["stop"]["level"] == "isolate-first"


@pytest.mark.parametrize(
    ("level", "expected"),
    [
        # IPI, User guide to the acid-sensing strip test, 2001.
        (0, ["cold-store"]), (1, ["cold-store", "monitor"]), (1.5, ["cold-store", "monitor"]),
        (2, ["frozen-store", "copy"]), (3, ["copy", "frozen-store"]),
    ],
)  # fmt: skip
def test_strip_levels(level: float, expected: list[str]) -> None:
    a = advise(kind="acetate-film", strip_level=level, made={"earliest": "1960-01-01"})
    assert [code for code in a["actions"] if code in ("cold-store", "frozen-store", "copy", "monitor")] == expected


def test_film_of_unknown_base() -> None:
    """Kodak H-182: nitrate may be met on film made up to 1951; a SAFETY mark can be printed through."""
    old = advise(kind="film-unknown")
    assert old["stop"]["level"] == "isolate-first" and {"isolate", "test-base"} <= set(old["actions"])
    assert advise(kind="film-unknown", made={"earliest": "1951-12-31"})["stop"]["hazard"] == "nitrate"
    young = advise(kind="film-unknown", made={"earliest": "1952-01-01"})
    assert young["stop"] is None and "sealed-plastic" in young["never"] and "test-base" not in young["actions"]
    acetate = advise(kind="acetate-film")
    assert acetate["stop"]["level"] == "take-care" and "test-base" in acetate["actions"]
    assert "isolate" not in acetate["actions"]
    known = advise(kind="film-unknown", base="polyester")
    assert known["stop"] is None and "sealed-plastic" not in known["never"]


def test_colour_film_follows_acetate_unless_it_is_polyester() -> None:
    assert "sealed-plastic" in advise(kind="colour-negative")["never"]
    assert "sealed-plastic" not in advise(kind="colour-negative", base="polyester")["never"]


def test_brittle_map_is_not_folded() -> None:
    """NARA, Oversize records."""
    assert {"folding", "rolling"} <= set(advise(kind="map-or-plan", states=["brittle"])["never"])


def test_pastel_is_neither_rolled_nor_put_in_plastic() -> None:
    """NPS Conserve O Gram 13/5."""
    a = advise(
        kind="pastel-or-charcoal", width_mm=1000, height_mm=700, depth_mm=0.5,
        proposed={"tube_diameter_mm": 120, "enclosure": "polyester-sleeve"},
    )  # fmt: skip
    assert refused(a) == {"tube_diameter_mm", "enclosure"} and a["tube"] is None


def test_large_map_may_be_rolled_on_a_wide_tube() -> None:
    """NPS Conserve O Gram 13/5: 100-150 mm; a family-storage article: at least 50 mm longer than the sheet."""
    a = advise(kind="map-or-plan", width_mm=700, height_mm=900, depth_mm=0.2, proposed={"tube_diameter_mm": 60})
    assert a["tube"] == {"diameter_min_mm": 100.0, "diameter_max_mm": 150.0, "length_min_mm": 750.0}
    assert refused(a) == {"tube_diameter_mm"}
    assert advise(kind="map-or-plan", width_mm=610, height_mm=762)["position"] == "flat"


def test_textile_buffering() -> None:
    """Smithsonian MCI, Acid-free tissue for textiles: unbuffered but for plain cotton and linen."""
    silk = advise(kind="lace-or-embroidery", parts=["silk-textile"])
    assert "buffered-contact" in silk["never"]
    assert advise(kind="cotton-or-linen-textile")["enclosures"][0]["buffering"] == "either"


def test_no_more_than_two_quilts_in_a_pile() -> None:
    """Textile conservation studio leaflet: two quilts in a box of 18 × 36 × 6 in."""
    assert advise(kind="quilt")["max_stack"] == 2
    assert "stack" in refused(advise(kind="quilt", proposed={"stack": 3}))
    assert "stack" not in refused(advise(kind="quilt", proposed={"stack": 2}))


def test_metal_above_55_percent() -> None:
    """CCI Notes 9/2, Storage of metals."""
    a = advise(kind="copper-alloy", room={"temperature_c": [18, 20], "relative_humidity_pct": [56, 60]})
    assert a["room_verdict"] == "unsuitable" and "55" in " ".join(a["room_reasons"])


def test_coin_in_a_pvc_flip_is_refused() -> None:
    """CCI Notes 9/4, Coins, medals and medallic art."""
    a = advise(kind="coin", proposed={"enclosure": "pvc-flip"})
    assert refused(a) == {"enclosure"} and a["refused"][0]["instead"]


def test_shell_in_a_wooden_drawer_is_refused() -> None:
    """Shelton et al. on Byne's efflorescence: no wood, below 45 % RH."""
    a = advise(
        kind="shell-or-coral", proposed={"furniture": "oak"},
        room={"temperature_c": [18, 20], "relative_humidity_pct": [50, 50]},
    )  # fmt: skip
    assert "furniture" in refused(a) and "wood" in a["never"] and a["room_verdict"] == "unsuitable"
    assert a["climate"]["rh_max_pct"] == 45


def test_cellulose_acetate_comb_is_not_wrapped() -> None:
    """MODIP, Care of plastics: not wrapped, 2-5 °C, 20-30 % RH."""
    a = advise(kind="cellulose-acetate-object")
    assert {"sealed-plastic", "plastic-sleeve"} <= set(a["never"]) and "vented-box" in forms(a)
    low, high = a["climate"]["temperature_best_c"]
    assert low <= 2 and high == 5 and a["climate"]["rh_best_pct"] == [20, 30]


def test_tape_is_not_kept_cold_and_stands_upright() -> None:
    """CCI, Electronic media: not below 8 °C; Library of Congress: upright on edge."""
    a = advise(kind="magnetic-tape", room={"temperature_c": [5, 5], "relative_humidity_pct": [30, 30]})
    assert a["room_verdict"] == "unsuitable"
    assert a["position"] == "upright" and "stack" in refused(advise(kind="magnetic-tape", proposed={"stack": 2}))


def test_common_practice_on_use_and_damp() -> None:
    """Paper suits damp and unmeasured rooms, though moving comes first; clear sleeves suit what is often seen."""
    dry = {"temperature_c": [16, 18], "relative_humidity_pct": [38, 48]}
    damp = {"temperature_c": [16, 18], "relative_humidity_pct": [60, 70]}
    assert advise(kind="silver-gelatin-print", use="weekly", room=dry)["enclosures"][0]["form"] == "sleeve"
    for use, room in (("weekly", None), ("monthly", dry), ("rare", dry)):
        first = advise(kind="silver-gelatin-print", use=use, room=room)["enclosures"][0]
        assert first["material"] == "paper-or-board", (use, room)
    wet_room = advise(kind="silver-gelatin-print", use="weekly", room=damp, proposed={"enclosure": "polyester-sleeve"})
    assert wet_room["actions"][0] == "move-room" and "sleeve" not in forms(wet_room)
    assert refused(wet_room) == {"enclosure"}


def test_common_practice_on_furniture() -> None:
    """AIC on wood products; NEDCC 4.2 on furniture; Tétreault on paint; the enamel disagreement is shown."""
    for code in ("powder-coated-steel", "aluminium"):
        assert refused(advise(kind="letter", proposed={"furniture": code})) == set()
    enamel = advise(kind="letter", proposed={"furniture": "enamelled-steel"})
    assert refused(enamel) == set() and any("enamel" in d["topic"].lower() for d in enamel["disagreements"])
    for code in ("oak", "mdf-or-chipboard", "painted-wood-oil", "cedar-chest"):
        assert refused(advise(kind="letter", proposed={"furniture": code})) == {"furniture"}
    assert refused(advise(kind="letter", proposed={"furniture": "plastic-tub"})) == {"furniture"}
    for code in ("loft", "cellar", "outside-wall", "under-pipes", "floor"):
        assert refused(advise(kind="letter", proposed={"location": code})) == {"location"}


@pytest.mark.parametrize("kind", ["letter", "quilt", "silver-gelatin-print", "map-or-plan"])
def test_nothing_is_ever_laminated(kind: str) -> None:
    """Common practice; NARA holdings maintenance."""
    assert refused(advise(kind=kind, proposed={"enclosure": "laminate"})) == {"enclosure"}


def test_room_verdicts_of_cold_kinds_at_home() -> None:
    home = {"temperature_c": [17, 20], "relative_humidity_pct": [30, 48]}
    a = advise(kind="colour-print", room=home)
    assert a["climate"]["home_ok"] and a["room_verdict"] == "watch"
    assert advise(kind="acetate-film", states=["vinegar-smell"], room=home)["room_verdict"] == "unsuitable"
    warm = {"temperature_c": [17, 21], "relative_humidity_pct": [30, 48]}
    assert advise(kind="colour-print", room=warm)["room_verdict"] == "unsuitable"
    assert (
        advise(kind="letter", room={"temperature_c": [16, 19], "relative_humidity_pct": [35, 48]})["room_verdict"]
        == "suits"
    )
    assert advise(kind="letter", room={"temperature_c": 18, "relative_humidity_pct": 40})["room_verdict"] == "watch"
    assert advise(kind="letter", room={"temperature_c": [16, 19]})["room_verdict"] == "watch"
    assert advise(kind="letter")["room_verdict"] == "unmeasured"


def test_parts_govern_the_climate() -> None:
    medal = advise(kind="copper-alloy", parts=["silk-textile"])
    assert medal["climate"]["rh_best_pct"] == [40, 50] and medal["climate"]["code"] == "C7"
    assert medal["climate"]["rh_max_pct"] == 55 and medal["climate"]["rh_min_pct"] == 35
    torn_apart = advise(kind="leather", parts=["celluloid-object"])
    assert torn_apart["climate"]["code"] == "C4" and any("Leather" in note for note in torn_apart["notes"])


def test_iron_is_stable_metal_until_it_corrodes() -> None:
    assert advise(kind="iron-or-steel")["climate"]["code"] == "C7"
    assert advise(kind="iron-or-steel", states=["active-corrosion"])["climate"]["code"] == "C8"


def test_inner_sizes_have_clearance_and_hold_all_pieces() -> None:
    a = advise(kind="letter", width_mm=150, height_mm=210, depth_mm=0.5, count=20)
    inner = {e["form"]: e["inner_mm"] for e in a["enclosures"]}
    assert inner["folder"] == [162, 222, 12.5]
    assert inner["document-box"] == [170, 230, 30]
    assert inner["sleeve"] == [156, 216, 6.5]


def test_prepare() -> None:
    a = advise(kind="letter", states=["rusty-fasteners", "taped", "rolled-tight"], count=5)
    assert a["prepare"] == [
        "photograph-as-found", "keep-wrapper", "note-order", "remove-loose-fasteners", "leave-taped",
        "unfold-if-willing", "dust-soft-brush",
    ]  # fmt: skip
    assert "leave-rolled" in advise(kind="silver-gelatin-print", states=["rolled-tight"])["prepare"]
    assert "leave-in-case" in advise(kind="daguerreotype")["prepare"]
    assert "leave-in-frame" in advise(kind="framed-work-on-paper")["prepare"]


def test_wet_things_dry_apart() -> None:
    a = advise(kind="letter", states=["wet"])
    assert forms(a) == ["open-tray"] and a["meanwhile"] == ["apart-in-open-air"] and a["notes"]


def test_people() -> None:
    assert advise(kind="book", weight_g=10_001)["people"] == 2
    assert advise(kind="book", weight_g=9_999)["people"] == 1
    assert advise(kind="map-or-plan", width_mm=300, height_mm=1_100)["people"] == 2


def test_what_must_not_be_moved_is_only_called_about() -> None:
    """US DoD, 3Rs: recognise, retreat, report; so nothing proposed is fit, and nothing else is done."""
    plan = {
        "furniture": "aluminium", "enclosure": "unbuffered-tissue", "location": "bedroom", "ph": 7.0,
        "tube_diameter_mm": 120, "gloves": "nitrile", "stack": 1,
    }  # fmt: skip
    for problem in ({"kind": "ammunition"}, {"kind": "colour-print", "states": ["battery-swollen", "mould-active"]}):
        a = advise(**problem, proposed=plan)
        assert refused(a) == set(plan) and a["enclosures"] == []
        assert "moving" in a["never"] and set(a["actions"]) <= {"call-official", "legal-check", "ask-conservator"}


def test_nitrate_stays_nitrate_whatever_its_base_is_said_to_be() -> None:
    """Kodak H-182: a SAFETY mark can be printed through from another film."""
    assert advise(kind="nitrate-film", base="acetate")["stop"]["level"] == "isolate-first"
    a = advise(kind="nitrate-film", parts=["cine-acetate"], strip_level=1)
    assert {"cold-store", "monitor"} <= set(a["actions"])


@pytest.mark.parametrize("state", ["asbestos-suspect", "green-cloth-19c", "pesticide-suspect"])
def test_poison_is_not_dusted(state: str) -> None:
    """Museums & Galleries NSW and the toxic bookcloth project: no sweeping, brushing or shaking."""
    a = advise(kind="cloth-book", states=[state])
    assert "cleaning" in a["never"] and "no-dusting" in a["prepare"] and "dust-soft-brush" not in a["prepare"]


def test_a_battery_is_taken_out_only_of_what_may_be_opened() -> None:
    """Museums & Galleries NSW: batteries come out; the radon paper: luminous dials are never opened."""
    assert "remove-battery" in advise(kind="electrical-object", states=["battery-inside"])["actions"]
    assert "remove-battery" not in advise(kind="luminous-dial", states=["battery-inside"])["actions"]


def test_a_box_for_a_cased_photograph_is_a_few_mm_wider() -> None:
    """Smithsonian American Art Museum, Preserving daguerreotypes: make a box."""
    a = advise(kind="daguerreotype", width_mm=82, height_mm=95, depth_mm=16)
    assert {e["form"]: e["inner_mm"] for e in a["enclosures"]}["flat-box"] == [88, 101, 22]


def test_alkaline_tissue_and_its_ph_are_allowed_for_plain_cotton_alike() -> None:
    """Smithsonian MCI, acid-free tissue for textiles."""
    plan = {"enclosure": "buffered-tissue", "ph": 9.0}
    assert refused(advise(kind="cotton-or-linen-textile", proposed=plan)) == set()
    assert refused(advise(kind="silk-textile", proposed=plan)) == {"enclosure", "ph"}


def test_a_source_vouches_only_for_what_it_says() -> None:
    """NARA on glass plates says no plastic and no cotton gloves; it says nothing of tape."""
    said = {each.code: each.citation for each in explain(Input(kind="glass-negative")) if each.field == "never"}
    assert said["plastic-sleeve"].key == said["cotton-gloves"].key == "NARA-GL"
    assert said["adhesive-tape"].status == "our default"


@pytest.mark.parametrize(
    ("problem", "sources"),
    [
        # Housing reference: sources that differ are shown side by side, each by its own name.
        ({"kind": "cyanotype", "proposed": {"ph": 7.2}}, {"NE-5.5", "DL-WAG"}),
        ({"kind": "glass-negative", "proposed": {"location": "freezer"}}, {"DL-GLS"}),
        ({"kind": "glass-negative", "width_mm": 280, "height_mm": 356}, {"NARA-GL", "STA-W"}),
        ({"kind": "colour-print", "states": ["stuck"]}, {"FEMA-17", "NIH-V"}),
        ({"kind": "letter", "states": ["mould-dormant"]}, {"NARA-FL", "FEMA-17"}),
        ({"kind": "acetate-film"}, {"IPI-COLOUR", "ISO-18911"}),
    ],
)
def test_disagreements_are_shown(problem: dict[str, Any], sources: set[str]) -> None:
    a = advise(**problem)
    assert any(sources <= {each["source"] for each in topic["positions"]} for topic in a["disagreements"])
    assert sources <= {each["key"] for each in a["sources"]}


def test_a_made_date_runs_forward() -> None:
    with pytest.raises(InputError, match="made"):
        advise(kind="film-unknown", made={"earliest": "1960-01-01", "latest": "1950-12-31"})


def test_a_quilt_has_the_clearance_of_textiles() -> None:
    """The sums' contract: 25 mm on each side of what is padded or of cloth."""
    a = advise(kind="quilt", width_mm=1800, height_mm=2000, depth_mm=20, count=2)
    assert {e["form"]: e["inner_mm"] for e in a["enclosures"]}["textile-box"] == [1850, 2050, 90]
