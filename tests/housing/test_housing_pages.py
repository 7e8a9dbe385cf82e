"""Housing on pages: decisions, the sheet and the card, the order of needs, boxes as wholes, and where they stand."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from archive.boxes.actions import add_box, move
from conservation.housing.assess_whole import advise_whole, mixed_words, need_figures, vulnerability
from conservation.science.housing import Input, handling_of, sensitivity_of, work_out

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(keeper: Any) -> dict[str, Any]:
    """A loft with a shoe box in it, and a cupboard; nothing is said of the cupboard."""
    from archive.access.changes import changing
    from archive.boxes.models import Box
    from archive.things.actions import issue_number
    from conservation.housing.actions import say_where_it_stands

    made: dict[str, Any] = {}
    with changing(keeper, "test"):
        for name, level, inside in (("loft", "room", None), ("shelf", "shelf", "loft"), ("box", "box", "shelf"),
                                    ("cupboard", "furniture", None)):  # fmt: skip
            made[name] = Box(serial=issue_number("boxes"), level=level, title=name, inside=made.get(inside or ""))
            made[name].save()
    say_where_it_stands(keeper, made["loft"], "", "loft")
    say_where_it_stands(keeper, made["box"], "shoe-carton", "")
    return made


def test_a_decision_is_kept_and_done_and_undone(as_keeper: Any, as_relative: Any, make_thing: Any) -> None:
    thing = make_thing("Quilt", kind_code="quilt")
    page = as_keeper.get(reverse("housing:decide", args=[thing.public_id])).content.decode()
    best = work_out(Input(kind="quilt"))["enclosures"][0]["form"]
    assert f'value="{best}" selected' in page  # the form begins with what is advised
    bad = as_keeper.post(
        reverse("housing:decide", args=[thing.public_id]), {"form": "sack", "words": "Grandmother’s chest"}
    )
    assert bad.status_code == 422 and "Grandmother’s chest" in bad.content.decode()
    for name in ("decided_on", "done_on"):
        early = as_keeper.post(reverse("housing:decide", args=[thing.public_id]), {"form": best, name: "2199-01-01"})
        assert early.status_code == 422 and "still to come" in early.content.decode()
    chosen = {"form": "textile-box", "material": "paper-or-board", "words": "The long grey box", "reason": "It fits"}
    assert as_keeper.post(reverse("housing:decide", args=[thing.public_id]), chosen).status_code == 302
    assert thing.housing_decisions.get().done_on is None
    page = as_keeper.get(thing.get_absolute_url()).content.decode()
    assert "The long grey box" in page and "not done yet" in page and "It is done" in page
    assert "It is done" not in as_relative.get(thing.get_absolute_url()).content.decode()
    assert f"House {thing.number}" in as_keeper.get("/").content.decode()
    as_keeper.post(reverse("housing:done", args=[thing.public_id]))
    decision = thing.housing_decisions.get()
    assert decision.done_on is not None
    assert f"House {thing.number}" not in as_keeper.get("/").content.decode()
    history = as_keeper.get(reverse("access:history", args=["things", thing.public_id])).content.decode()
    assert "a housing decision" in history
    as_keeper.post(reverse("access:undo", args=[decision.history.first().change_set.public_id]))
    assert thing.housing_decisions.get().done_on is None


def test_the_order_of_needs_is_significance_times_vulnerability(as_keeper: Any, make_thing: Any, keeper: Any) -> None:
    """Worked by hand from needs.toml and the sensitivities: 5 × v(letter), then 3 × v(cyanotype) × 1.5 and so on."""
    from archive.access.changes import changing
    from conservation.housing import queries
    from conservation.housing.actions import decide

    figures = need_figures()
    assert figures == {"unknown": 3.0, "damaged": 1.5, "nothing": 1.0, "decided": 0.8}
    specimens = {
        "matters": ("letter", [], 5), "damaged": ("cyanotype", ["torn"], None), "plain": ("ceramic", [], 2),
        "decided": ("letter", [], 5), "done": ("autochrome", ["broken"], 5), "gone": ("autochrome", [], 5),
    }  # fmt: skip
    things = {name: make_thing(name, kind_code=kind, states=states) for name, (kind, states, _) in specimens.items()}
    with changing(keeper, "test"):
        for name, (_, _, significance) in specimens.items():
            things[name].significance = significance
            if name == "gone":
                things[name].standing, things[name].standing_why = "let go", "Broken beyond use"
                things[name].gone_how, things[name].gone_agreed, things[name].copy_kept = "to the tip", "Marit", True
            things[name].save()
    decide(keeper, things["decided"], {"form": "folder"})
    decide(keeper, things["done"], {"form": "folder", "done_on": "2026-01-02"})

    def by_hand(name: str) -> float:
        kind, states, significance = specimens[name]
        return (
            (significance or 3) * round(1 + 2 * sum(sensitivity_of(kind)) / 12, 3)
            * (1.5 if states else 1) * (0.8 if name == "decided" else 1)
        )  # fmt: skip

    wanted = sorted(("matters", "damaged", "plain", "decided"), key=by_hand, reverse=True)
    found = list(queries.ranked_needs(keeper, vulnerability(), figures))
    assert [thing.title for thing in found] == wanted
    assert [thing.need for thing in found] == pytest.approx([by_hand(name) for name in wanted])
    page = as_keeper.get(reverse("housing:needs")).content.decode()
    assert [page.index(f"<bdi>{name}</bdi>") for name in wanted] == sorted(
        page.index(f"<bdi>{name}</bdi>") for name in wanted
    )
    assert "<bdi>gone</bdi>" not in page and "<bdi>done</bdi>" not in page


def test_where_a_box_stands_holds_for_what_is_in_it(
    as_keeper: Any, make_thing: Any, keeper: Any, house: dict[str, Any]
) -> None:
    from archive.access.changes import changing
    from archive.extend import flags
    from conservation.where import where

    found = where([house["box"].pk, house["shelf"].pk, house["cupboard"].pk, None])
    assert {pk: (each.furniture, each.location) for pk, each in found.items()} == {
        house["box"].pk: ("shoe-carton", "loft"),
        house["shelf"].pk: ("", "loft"),
        house["cupboard"].pk: ("", ""),
    }
    thing, safe = make_thing("Letter"), make_thing("Other letter")
    with changing(keeper, "test"):
        for each, box in ((thing, "box"), (safe, "cupboard")):
            each.box = house[box]
            each.save()
    marks = flags([thing, safe], keeper)
    assert [flag.words for flag in marks[thing.pk]] == ["Stands badly: a shoe box", "Stands badly: the loft"]
    assert safe.pk not in marks
    page = as_keeper.post(reverse("housing:place", args=[house["loft"].public_id]), {"location": "bedroom"})
    assert page.status_code == 302
    assert [flag.words for flag in flags([thing], keeper)[thing.pk]] == ["Stands badly: a shoe box"]


def test_flags_of_a_list_ask_the_database_once(
    make_thing: Any, keeper: Any, house: dict[str, Any], django_assert_num_queries: Any
) -> None:
    from archive.access.changes import changing
    from conservation.housing.extension import flags

    things = [make_thing(f"Film {n}", kind_code="nitrate-film") for n in range(12)]
    with changing(keeper, "test"):
        for thing in things:
            thing.box = house["box"]
            thing.save()
    for count in (1, 12):
        with django_assert_num_queries(1):
            assert len(flags(things[:count], keeper)) == count


def test_a_box_as_a_whole(as_keeper: Any, as_visitor: Any, make_thing: Any, keeper: Any, house: dict[str, Any]) -> None:
    """Rough counts and recorded things together; the air is that of the most demanding; the worst hazard first."""
    from archive.access.changes import changing
    from archive.boxes.models import RoughCount

    address = house["box"].get_absolute_url()
    assert "about 80" not in as_keeper.get(address).content.decode()
    with changing(keeper, "test"):
        RoughCount(box=house["box"], kind_code="silver-gelatin-print", count=80).save()
        RoughCount(box=house["box"], kind_code="coin", count=5).save()
        thing = make_thing("Films", kind_code="nitrate-film", count=7)
        thing.box = house["box"]
        thing.save()
    page = as_keeper.get(address).content.decode()
    assert "about 80" in page and "about 5" in page and "about 7" in page
    assert page.index("Hazards in here") < page.index("about 80") and "fire" in page
    whole = advise_whole({"silver-gelatin-print": 80, "coin": 5, "nitrate-film": 7}, "metric")
    together = work_out(Input(kind="silver-gelatin-print", parts=["coin", "nitrate-film"]))["climate"]
    low, high = together["rh_best_pct"]
    assert whole is not None and f"{low:g} to {high:g} % humidity" in whole.air and whole.rows[0].stop
    # What the keeper keeps private is not counted for others.
    with changing(keeper, "test"):
        house["box"].access = "all"
        house["box"].save()
    assert "about 7" not in as_visitor.get(address).content.decode()


def test_mixed_families_are_said() -> None:
    from collections import Counter

    assert mixed_words(Counter({"photographs": 3, "unknown": 2})) == ""
    assert mixed_words(Counter({"photographs": 3, "metals": 1})).startswith("Photographs and metals lie in one box.")


def test_sheet_and_card(as_keeper: Any, as_relative: Any, make_thing: Any) -> None:
    thing = make_thing("Medal", kind_code="medal-with-ribbon", parts=["silk-textile"], states=["torn"])
    sheet = as_relative.get(reverse("housing:sheet", args=[thing.public_id])).content.decode()
    card = as_relative.get(reverse("housing:card", args=[thing.public_id])).content.decode()
    row = handling_of("medal-with-ribbon")
    assert row.strongest in card and row.weakest in card and handling_of("silk-textile").weakest in card
    assert "Photograph it" in sheet or "photograph" in sheet.lower()
    shell = make_thing("Shell", kind_code="ammunition")
    for name in ("sheet", "card"):
        page = as_keeper.get(reverse(f"housing:{name}", args=[shell.public_id])).content.decode()
        assert page.index("hazard") < page.index("</h2>" if name == "card" else "No work on it")
    assert "No work on it" in as_keeper.get(reverse("housing:sheet", args=[shell.public_id])).content.decode()
    private = make_thing("Secret", access="keeper")
    assert as_relative.get(reverse("housing:card", args=[private.public_id])).status_code == 404


def test_a_lot_and_a_first_look_carry_the_advice(
    as_keeper: Any, as_relative: Any, keeper: Any, make_thing: Any
) -> None:
    """From what is recorded in the lot, and from the rough counts of the box; and each leads to what needs housing."""
    from archive.access.changes import changing
    from archive.boxes.models import RoughCount
    from archive.sorting.actions import add_first_look
    from archive.sorting.lot_actions import add_lot

    lot = add_lot(keeper, {"title": "From the mill"})
    look = add_first_look(keeper, {"title": "A box from the loft", "access": "relatives"}, {}, [])
    with changing(keeper, "test"):
        thing = make_thing("Films", kind_code="nitrate-film", count=7)
        thing.lot = lot
        thing.save()
        RoughCount(box=look.box, kind_code="nitrate-film", count=30).save()
    for address, count in ((lot.get_absolute_url(), 7), (reverse("sorting:look", args=[look.public_id]), 30)):
        for client in (as_keeper, as_relative):
            page = client.get(address).content.decode()
            assert f"about {count}" in page and page.index("Hazards in here") < page.index(f"about {count}")
        assert reverse("housing:needs") in as_keeper.get(address).content.decode()
        assert reverse("housing:needs") not in as_relative.get(address).content.decode()


def test_a_box_whose_contents_want_different_air_says_so(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    """Feathers want 45 to 55 % (The Textile Museum), celluloid 20 to 30 % (Museum of Design in Plastics)."""
    box = add_box(keeper, {"title": "Dry things"})
    kinds = {"Nest": "feather-or-taxidermy", "Comb": "celluloid-object"}
    move(keeper, [make_thing(title, kind_code=code) for title, code in kinds.items()], [], box)
    page = as_keeper.get(box.get_absolute_url()).content.decode()
    assert "No one air suits all of it" in page and "The air that suits all of it" not in page


def test_the_demo_has_decisions_done_and_open_and_places_that_suit_nothing(keeper: Any, make_thing: Any) -> None:
    from archive.demo import read_household
    from conservation.housing.demo import build
    from conservation.housing.models import HousingDecision, StandingPlace
    from conservation.science.words import codes

    household = read_household()
    for row in household["housed"]:
        make_thing(row["thing"])
        assert row["form"] in codes("form") and row.get("material", "none") in codes("material")
    for row in household["stands"]:
        add_box(keeper, {"title": row["box"]})
        assert row.get("furniture", "oak") in codes("furniture") and row.get("location", "loft") in codes("location")
    for _ in range(2):
        build(household, keeper)
    assert HousingDecision.objects.count() == len(household["housed"])
    assert {done is None for done in HousingDecision.objects.values_list("done_on", flat=True)} == {True, False}
    assert StandingPlace.objects.count() == len(household["stands"])
