"""Putting up and taking down: what is refused, what light is set down, what a thing has had."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from conservation.on_show.models import BarredSpot, LightUse, Showing, ShowPolicy, Spot, ThingLight
from conservation.on_show.spots import actions, assess, queries

pytestmark = pytest.mark.django_db
DAY = date(2026, 3, 2)


def _saved(keeper: Any, row: Any) -> Any:
    from archive.access.changes import changing

    with changing(keeper, "test"):
        row.save()
    return row


@pytest.fixture
def spot(keeper: Any) -> Spot:
    """A dark wall with an LED, read once by meter: 50 lux for 8 hours, no daylight."""
    made = actions.save_spot(
        keeper, None,
        {"title": "Wall", "form": "wall", "window_direction": "none", "lamp": "led", "lamp_hours": 8.0,
         "width_mm": 400.0, "height_mm": 300.0, "capacity": 2},
    )  # fmt: skip
    actions.add_reading(keeper, made, {"lux": 50.0, "by_what": "meter", "sky": "night"})
    return made


def test_a_reading_goes_before_an_estimate(keeper: Any, spot: Spot) -> None:
    """50 lx for 8 h a day is 146,000 lx h a year (reference/light.md C01; the 8 h of two museums)."""
    light = assess.light_of_spot(spot)
    assert (light.origin, light.lux, light.hours_per_day) == ("readings", 50, 8)
    assert light.lxh_between(date(2026, 1, 1), date(2027, 1, 1)) == pytest.approx(146_000)
    assert light.uv_filtered and not light.is_seasonal
    assert light.lux_for("medium") == 50 and light.lux_for("high") == 75  # the upper end of the band, our default


def test_what_a_thing_may_have_is_the_stricter_of_two_limits(keeper: Any, make_thing: Any) -> None:
    """CIE 157, high: 15,000 lx h (second hand). Series A: blue wool 1 fades at 0.3 Mlx h without UV, 2 at 1 Mlx h."""
    photo, gall = make_thing(kind_code="colour-print"), make_thing(kind_code="iron-gall-document")
    of_photo = assess.limits_of_thing(photo, uv_filtered=True)
    assert (of_photo.published_lxh, of_photo.policy_lxh) == (15_000, 300_000 / 50)
    assert of_photo.annual_limit_lxh == 6_000 and of_photo.governed_by == "policy" and of_photo.lux_ceiling == 50
    of_gall = assess.limits_of_thing(gall, uv_filtered=True)
    assert of_gall.annual_limit_lxh == 15_000 and of_gall.governed_by == "published"
    assert assess.limits_of_thing(gall).annual_limit_lxh == 600_000 / 50  # with UV
    _saved(keeper, ThingLight(thing=photo, years_per_fade=10))
    assert assess.limits_of_thing(photo, uv_filtered=True).annual_limit_lxh == 15_000
    ShowPolicy(pk=1, years_per_fade=100).save()
    assert assess.limits_of_thing(gall, uv_filtered=True).annual_limit_lxh == 10_000
    metal = assess.limits_of_thing(make_thing(kind_code="silver"))
    assert metal.annual_limit_lxh is None and metal.copy == "" and metal.responsivity == "none"


@pytest.mark.parametrize(
    ("kind", "states", "own", "copy"),
    [
        ("silver-gelatin-print", [], {}, "offered"), ("autochrome", [], {}, "required"),
        ("letter", ["mould-active"], {}, "required"), ("letter", ["wet"], {}, "required"),
        ("iron-or-steel", ["active-corrosion"], {}, "required"), ("certificate", ["rolled-tight"], {}, "required"),
        ("nitrate-film", [], {}, "required"), ("ceramic", [], {}, ""),
        ("silver-gelatin-print", [], {"may_be_shown": "unfixed"}, "required"),
    ],
)  # fmt: skip
def test_copies_are_offered_and_asked_for(
    keeper: Any, make_thing: Any, spot: Spot, kind: str, states: list[str], own: dict[str, Any], copy: str
) -> None:
    thing = make_thing(kind_code=kind, states=states)
    if own:
        _saved(keeper, ThingLight(thing=thing, **own))
    limits = assess.limits_of_thing(thing)
    assert limits.copy == copy and limits.shown_at_all == (copy != "required")
    if copy == "required":
        with pytest.raises(actions.CannotHang, match="Hang a copy"):
            actions.hang(keeper, thing, spot, day=DAY)
        assert actions.hang(keeper, thing, spot, day=DAY, is_copy=True).is_copy


def test_silver_gelatin_is_medium_and_hand_coloured_high(make_thing: Any) -> None:
    """NEDCC, Preservation 101: 100 lux. NMAA light guidelines: hand-coloured photographs as the strictest class."""
    plain = assess.limits_of_thing(make_thing(kind_code="silver-gelatin-print"))
    assert (plain.responsivity, plain.lux_ceiling, plain.published_lxh) == ("medium", 100, 150_000)
    coloured = assess.limits_of_thing(make_thing(kind_code="silver-gelatin-print", states=["hand-coloured"]))
    assert (coloured.responsivity, coloured.lux_ceiling, coloured.published_lxh) == ("high", 50, 15_000)
    assert assess.limits_of_thing(make_thing(kind_code="photograph-unknown")).responsivity == "high"


def test_what_cannot_go_up(keeper: Any, make_thing: Any, spot: Spot) -> None:
    large = make_thing("Large", width_mm=500.0, height_mm=200.0)
    with pytest.raises(actions.CannotHang, match="too wide: 500 mm, and “Wall” has 400 mm"):
        actions.hang(keeper, large, spot)
    barred = make_thing("Barred")
    _saved(keeper, BarredSpot(thing=barred, spot=spot, why="over the stove"))
    with pytest.raises(actions.CannotHang, match="barred from “Wall”: over the stove"):
        actions.hang(keeper, barred, spot)
    one, two, three = (make_thing(f"Letter {n}") for n in range(3))
    actions.hang(keeper, one, spot, day=DAY)
    with pytest.raises(actions.CannotHang, match="on show already, at “Wall” since 2 March 2026"):
        actions.hang(keeper, one, spot)
    actions.hang(keeper, two, spot, day=DAY)
    with pytest.raises(actions.CannotHang, match="full: it holds 2"):
        actions.hang(keeper, three, spot)
    assert actions.hang(keeper, three, spot, as_it_happened=True).pk
    assert Showing.objects.count() == 3


def test_what_is_not_here_does_not_go_up(keeper: Any, make_thing: Any, spot: Spot) -> None:
    from archive.sorting.actions import set_standing
    from archive.things.loan_actions import lend

    gone, lent = make_thing("Gone"), make_thing("Lent")
    why = {"standing": "let go", "standing_why": "Broken", "standing_on": DAY, "copy_kept": True,
           "gone_how": "to the tip", "gone_agreed": "Marit", "open_question": ""}  # fmt: skip
    set_standing(keeper, [gone], why)
    lend(keeper, lent, {"to_text": "Cousin Nils", "since": DAY, "until": None})
    for thing, said in ((gone, "not here any more: let go"), (lent, "lent to Cousin Nils")):
        with pytest.raises(actions.CannotHang, match=said):
            actions.hang(keeper, thing, spot)
        assert actions.hang(keeper, thing, spot, is_copy=True).pk


def test_light_is_set_down_when_it_comes_down_and_stays(keeper: Any, make_thing: Any, spot: Spot) -> None:
    thing = make_thing()  # a letter: medium, so that the middle of the band counts
    showing = actions.hang(keeper, thing, spot, day=DAY)
    assert (showing.lux, showing.hours_per_day, showing.lxh) == (50, 8, None)
    end = DAY + timedelta(days=30)
    used = queries.used_lxh([thing.pk, 9999], DAY, end)
    assert used == {thing.pk: 50 * 8 * 30, 9999: 0}
    with pytest.raises(actions.CannotHang, match="cannot have come down before"):
        actions.take_down(keeper, showing, day=DAY - timedelta(days=1))
    actions.take_down(keeper, showing, day=end)
    assert showing.lxh == pytest.approx(12_000)
    actions.add_reading(keeper, spot, {"lux": 500.0, "by_what": "meter", "sky": "night"})
    assert queries.used_lxh([thing.pk], DAY, end + timedelta(days=99)) == {thing.pk: pytest.approx(12_000)}
    assert queries.used_lxh([thing.pk], DAY + timedelta(days=15), end) == {thing.pk: pytest.approx(6_000)}
    with pytest.raises(actions.CannotHang, match="came down already"):
        actions.take_down(keeper, showing)
    # Ten looks of five minutes at 50 lx are 41.67 lx h (CCAHA, Light Exposure of Artifacts on Exhibition).
    _saved(keeper, LightUse(thing=thing, day=DAY, what="study", lxh=50 * 5 / 60 * 10))
    assert queries.used_lxh([thing.pk], DAY, end)[thing.pk] == pytest.approx(12_041.67, rel=1e-5)
    again = actions.hang(keeper, thing, spot, day=end, is_copy=True)
    actions.take_down(keeper, again, day=end + timedelta(days=50))
    assert again.lxh == 0 and queries.used_lxh([thing.pk], end, end + timedelta(days=50)) == {thing.pk: 0}


def test_up_and_down_on_one_day_is_a_day(keeper: Any, make_thing: Any, spot: Spot) -> None:
    thing = make_thing()
    showing = actions.hang(keeper, thing, spot, day=DAY)
    actions.take_down(keeper, showing, day=DAY)
    assert showing.lxh == pytest.approx(400)
    assert queries.used_lxh([thing.pk], DAY, DAY + timedelta(days=1)) == {thing.pk: pytest.approx(400)}


def test_a_spot_that_has_had_things_is_not_destroyed_with_their_light(keeper: Any, make_thing: Any) -> None:
    """The light a thing has had is the thing's; a spot without any can go."""
    from archive.access.actions import destroy, withdraw
    from archive.access.subjects import subject
    from conservation.on_show.models import Showing
    from conservation.on_show.spots.actions import hang, save_spot, take_down

    used = save_spot(keeper, None, {"title": "Used", "form": "wall", "window_direction": "none"})
    bare = save_spot(keeper, None, {"title": "Bare", "form": "wall", "window_direction": "none"})
    take_down(keeper, hang(keeper, make_thing("Letter"), used))
    for spot in (used, bare):
        withdraw(keeper, spot, "no longer there")
        spot.refresh_from_db()
    with pytest.raises(ValueError, match="still named by another record"):
        destroy(keeper, subject("spots"), used, "gone")
    assert Showing.objects.count() == 1
    destroy(keeper, subject("spots"), bare, "gone")


def test_only_what_can_be_shown_there_is_offered(keeper: Any, make_thing: Any) -> None:
    """A print for a wall; a reel of film, a record and a medal are not hung on one, and a medal lies in a cabinet."""
    from conservation.on_show.light import assess

    kinds = ("silver-gelatin-print", "cine-acetate", "grooved-disc", "medal-with-ribbon", "mercury-instrument")
    things = [make_thing(code, kind_code=code) for code in kinds]
    assert [each.kind_code for each in assess.worth_showing(things, "wall")] == ["silver-gelatin-print"]
    assert "medal-with-ribbon" in {each.kind_code for each in assess.worth_showing(things, "cabinet")}
    assert all(each.kind_code != "cine-acetate" for each in assess.worth_showing(things, "cabinet"))
