"""Pages of places and of light: what they say, what they refuse, who sees what, and how often they ask."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from archive.access.changes import changing
from conservation.on_show.light import actions as light
from conservation.on_show.light import assess
from conservation.on_show.models import LightUse, LuxReading, Showing, ShowPolicy, Spot, ThingLight
from conservation.on_show.spots import actions, queries

pytestmark = pytest.mark.django_db
CANARY = "Zinnoberkanarie"


def _text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


@pytest.fixture
def wall(keeper: Any) -> Spot:
    """120 lux for 8 hours by a meter, four times, of lamps alone and behind UV glass; open to all."""
    spot = actions.save_spot(
        keeper, None,
        {"title": "Wall", "form": "wall", "window_direction": "none", "lamp": "led", "lamp_hours": 8.0,
         "glazing": "uv", "capacity": 3, "access": "all"},
    )  # fmt: skip
    for _ in range(4):
        actions.add_reading(keeper, spot, {"lux": 120.0, "by_what": "meter", "sky": "night"})
    return spot


def test_a_place_is_recorded_changed_and_read_by_form(as_keeper: Any) -> None:
    empty = _text(as_keeper.get(reverse("on_show:page")))
    assert "Here will be the places" in empty and empty.count("do-next") == 1
    add = reverse("on_show:add_spot")
    bad = as_keeper.post(add, {"title": "", "form": "wall", "capacity": "2", "note": "Behind the door"})
    assert bad.status_code == 422 and "Behind the door" in bad.content.decode()
    values = {
        "title": "Over the stove", "form": "wall", "capacity": "2", "width_mm": "400,5", "window_direction": "s",
        "window_distance": "near", "sun_reaches": "hours", "lamp": "led", "lamp_hours": "2,5", "near": ["kitchen"],
        "materials": ["oak", "lining-wool-felt"], "in_use": "on",
    }  # fmt: skip
    assert as_keeper.post(add, values).status_code == 302
    spot = Spot.objects.get()
    assert (spot.width_mm, spot.lamp_hours, spot.near) == (400.5, 2.5, ["kitchen"])
    page = _text(as_keeper.get(spot.get_absolute_url()))
    assert "There is no reading here yet" in page and "three times more or less" in page
    assert "A kitchen has steam" in page and "Oak gives off acid fumes" in page and "blackens silver" in page
    assert "UV present" in page and page.count("do-next") == 1
    edit = reverse("on_show:edit_spot", args=[spot.public_id])
    assert "400.5" in as_keeper.get(edit).content.decode()
    clash = as_keeper.post(edit, {**values, "title": "Mine", "opened_version": "0"})
    assert clash.status_code == 422 and "Somebody changed this while" in _text(clash)
    assert as_keeper.post(edit, {**values, "title": "Mine", "opened_version": "1"}).status_code == 302
    spot.refresh_from_db()
    assert (spot.title, spot.version) == ("Mine", 2)
    read = reverse("on_show:read_spot", args=[spot.public_id])
    assert "half or double the truth" in _text(as_keeper.get(read))
    when = {"sky": "cloud", "by_what": "meter", "taken_at": "2026-03-01T12:00"}
    assert as_keeper.post(read, {**when, "lux": "much"}).status_code == 422
    assert as_keeper.post(read, {**when, "lux": "210"}).status_code == 302
    assert "Partly from your readings" in _text(as_keeper.get(spot.get_absolute_url()))
    row = LuxReading.objects.get()
    as_keeper.post(reverse("on_show:unread_spot", args=[spot.public_id, row.public_id]))
    assert not LuxReading.objects.exists()
    history = _text(as_keeper.get(reverse("access:history", args=["spots", spot.public_id])))
    assert "light reading" in history


def test_the_check_stands_in_words_before_anything_goes_up(as_keeper: Any, make_thing: Any, wall: Spot) -> None:
    """A letter, medium: the stricter of 150,000 (CIE 157) and 10,000,000 / 50 without UV is 150,000 lx h a year.

    At 120 lx, 8 h a day, these are 960 lx h a day: 156 whole days. The medium class is to have 50 lx at most.
    """
    letter = make_thing("Letter")
    hang = reverse("on_show:hang", args=[wall.public_id])
    assert letter.number in as_keeper.get(hang).content.decode()  # offered
    assert as_keeper.get(hang, {"number": letter.number})["Location"].endswith(letter.public_id)
    assert as_keeper.get(hang, {"number": "9999-9"}).status_code == 422
    address = f"{hang}?thing={letter.public_id}"
    page = _text(as_keeper.get(address))
    assert "At 120 lux, 8 hours a day, this uses its year’s light in about 22 weeks." in page
    assert "brighter here than the 50 lux" in page and "it costs no light at all" in page and page.count("do-next") == 1
    assert assess.check(letter, wall, date(2026, 3, 2)).days == 150_000 // 960
    refused = as_keeper.post(address, {"day": "2026-03-02", "note": "For Easter"})
    assert refused.status_code == 422 and "For Easter" in _text(refused) and not Showing.objects.exists()
    assert as_keeper.post(address, {"day": "2026-03-02", "anyway": "on"}).status_code == 302
    twice = as_keeper.post(address, {"day": "2026-03-02", "anyway": "on"})
    assert twice.status_code == 422 and "on show already" in _text(twice)


def test_silver_gelatin_may_have_a_hundred_lux_and_less_is_longer(
    as_keeper: Any, keeper: Any, make_thing: Any, wall: Spot
) -> None:
    photo = make_thing("Photo", kind_code="silver-gelatin-print")
    checked = assess.check(photo, wall, date(2026, 3, 2))
    assert checked.too_bright and checked.longest == 0 and checked.breaks
    dim = actions.save_spot(keeper, None, {**_lamp_only("Dim")})
    actions.add_reading(keeper, dim, {"lux": 90.0, "by_what": "meter", "sky": "night"})
    found = assess.check(photo, dim, date(2026, 3, 2))
    assert not found.too_bright and found.days == 150_000 // (90 * 8) and found.longest == 26 * 7
    page = _text(as_keeper.get(reverse("on_show:thing_light", args=[photo.public_id])))
    assert "100 lux" in page and "all of this is right to the order of magnitude only" in page.lower()
    assert page.index("Dim") < page.index("Wall</bdi>")  # the longest showing first


def _lamp_only(title: str) -> dict[str, Any]:
    return {
        "title": title, "form": "wall", "window_direction": "none", "lamp": "led", "lamp_hours": 8.0, "glazing": "uv",
    }  # fmt: skip


def test_what_is_over_is_flagged_and_to_come_down(
    as_keeper: Any, as_visitor: Any, keeper: Any, make_thing: Any, wall: Spot
) -> None:
    """Newspaper, blue wool 2: 15,000 lx h a year by CIE 157. At the upper end, 150 lx × 8 h, thirteen days are over."""
    paper = make_thing("Newspaper", kind_code="newspaper", access="all")
    today = timezone.localdate()
    showing = actions.hang(keeper, paper, wall, day=today - timedelta(days=14))
    assert showing.lux == pytest.approx(150) and showing.uv_filtered
    assert queries.used_lxh([paper.pk], *assess.a_year(today))[paper.pk] == pytest.approx(150 * 8 * 15)
    listed = _text(as_keeper.get(reverse("things:list")))
    assert "Over its year’s light" in listed
    jobs = _text(as_keeper.get(reverse("on_show:page")))
    assert "Over its year’s light" in jobs
    from archive import extend

    words = [job.words for job in extend.jobs(keeper)]
    assert any("Take" in each and "down from Wall" in each for each in words)
    thing = _text(as_keeper.get(paper.get_absolute_url()))
    assert "<strong>On show</strong> at" in thing and "Its year’s light is used up" in thing
    assert "Down by" not in _text(as_visitor.get(reverse("on_show:page")))
    down = reverse("on_show:take_down", args=[showing.public_id])
    assert as_keeper.post(down, {"day": "2020-01-01"}).status_code == 422
    assert as_keeper.post(down, {"day": today.isoformat(), "note": "No change"}).status_code == 302
    showing.refresh_from_db()
    assert showing.came_down == today and showing.lxh == pytest.approx(150 * 8 * 14)
    page = _text(as_keeper.get(reverse("on_show:thing_light", args=[paper.public_id])))
    assert "17,000" in page and "No change" in page


def test_where_something_hangs_a_reading_is_asked_for_first(keeper: Any, make_thing: Any) -> None:
    from conservation.on_show.light.queries import spots_without_reading

    bare, hung = (actions.save_spot(keeper, None, {"title": title, "form": "wall"}) for title in ("A", "B"))
    actions.hang(keeper, make_thing("Letter"), hung)
    assert spots_without_reading(keeper, 3) == [hung, bare] and spots_without_reading(keeper, 1) == [hung]


def test_other_light_overrides_and_the_policy(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    photo = make_thing("Photo", kind_code="colour-print")
    use = reverse("on_show:use_light", args=[photo.public_id])
    assert as_keeper.post(use, {"what": "study", "day": "2026-03-02"}).status_code == 422
    as_keeper.post(use, {"what": "study", "day": "2026-03-02", "preset": "looked-at", "times": "2"})
    as_keeper.post(use, {"what": "digitising", "day": "2026-03-02", "lux": "1000", "minutes": "6"})
    first, second = LightUse.objects.order_by("pk")
    assert first.lxh == pytest.approx(2 * 41.667, rel=1e-4) and second.lxh == pytest.approx(100)
    as_keeper.post(reverse("on_show:unuse_light", args=[photo.public_id, second.public_id]))
    assert LightUse.objects.get() == first
    say = reverse("on_show:say_light", args=[photo.public_id])
    untold = as_keeper.post(say, {"may_be_shown": "plan", "blue_wool": "5"})
    assert untold.status_code == 422 and "Say why" in _text(untold)
    as_keeper.post(say, {"may_be_shown": "plan", "blue_wool": "5", "why": "Pigment print, says the maker"})
    page = _text(as_keeper.get(reverse("on_show:thing_light", args=[photo.public_id])))
    assert "blue wool 5, as you set it" in page and "Pigment print, says the maker" in page
    assert "+33 %" in page and "−18 %" in page  # the two series do not agree, and the page says so
    as_keeper.post(say, {"may_be_shown": "unfixed"})
    assert ThingLight.objects.get().blue_wool is None
    page = _text(as_keeper.get(reverse("on_show:thing_light", args=[photo.public_id])))
    assert "Do not show the original." in page and "never fixed" in page
    assert as_keeper.post(reverse("on_show:policy"), {"years_per_fade": "0"}).status_code == 422
    as_keeper.post(reverse("on_show:policy"), {"years_per_fade": "20", "strict_uv": "on"})
    assert (ShowPolicy.objects.get().years_per_fade, ShowPolicy.objects.get().strict_uv) == (20, True)


def test_a_place_is_barred_and_let(as_keeper: Any, keeper: Any, make_thing: Any, wall: Spot) -> None:
    thing = make_thing()
    as_keeper.post(reverse("on_show:bar", args=[thing.public_id]), {"spot": wall.public_id, "why": "too warm"})
    bar = thing.barred_spots.get()
    page = as_keeper.get(f"{reverse('on_show:hang', args=[wall.public_id])}?thing={thing.public_id}")
    assert "barred from “Wall”: too warm" in _text(page)
    as_keeper.post(reverse("on_show:unbar", args=[thing.public_id, bar.public_id]))
    assert not thing.barred_spots.exists()


def test_nothing_private_is_shown_to_others(
    as_relative: Any, as_visitor: Any, keeper: Any, make_thing: Any, wall: Spot
) -> None:
    from archive.boxes.actions import add_box

    private = make_thing(f"{CANARY} private", access="keeper")
    shown = make_thing("Open", access="all")
    hidden = actions.save_spot(keeper, None, {"title": f"{CANARY} room", "form": "wall", "access": "keeper"})
    actions.hang(keeper, private, wall)
    room = add_box(keeper, {"title": f"{CANARY} study", "level": "room", "access": "keeper"})
    actions.save_spot(keeper, wall, {"room": room})
    showing = actions.hang(keeper, shown, hidden, note=CANARY)
    light.bar(keeper, shown, hidden, CANARY)
    open_pages = [
        reverse("on_show:page"), wall.get_absolute_url(), shown.get_absolute_url(), reverse("things:list"),
        reverse("on_show:thing_light", args=[shown.public_id]), reverse("on_show:how", args=[shown.public_id]),
    ]  # fmt: skip
    closed = [
        hidden.get_absolute_url(), reverse("on_show:thing_light", args=[private.public_id]),
        reverse("on_show:how", args=[private.public_id]), reverse("on_show:take_down", args=[showing.public_id]),
    ]  # fmt: skip
    for client in (as_relative, as_visitor):
        for address in open_pages:
            answer = client.get(address)
            assert answer.status_code == 200, address
            assert CANARY not in answer.content.decode(), address
        for address in closed:
            assert client.get(address, follow=True).status_code == 404 or client is as_visitor
            assert CANARY not in client.get(address, follow=True).content.decode()
    assert "On show" in _text(as_visitor.get(shown.get_absolute_url()))


def test_two_that_hang_and_are_one_keep_both_showings(as_keeper: Any, keeper: Any, make_thing: Any, wall: Spot) -> None:
    from archive.access.uniting import unite

    one, two = make_thing("Quilt"), make_thing("Quilt again")
    actions.hang(keeper, one, wall, day=date(2026, 3, 2))
    actions.hang(keeper, two, wall, day=date(2026, 4, 2))
    unite(keeper, one, two)
    assert Showing.objects.filter(thing=one, came_down__isnull=True).count() == 2
    for address in (one.get_absolute_url(), reverse("on_show:thing_light", args=[one.public_id])):
        assert "both were on show" in _text(as_keeper.get(address)), address


def test_pages_ask_as_often_for_many_as_for_few(as_keeper: Any, keeper: Any, make_thing: Any, wall: Spot) -> None:
    def fill(n: int) -> Any:
        spot = actions.save_spot(keeper, None, {**_lamp_only(f"Place {n}"), "capacity": 9, "access": "all"})
        actions.add_reading(keeper, spot, {"lux": 50.0, "by_what": "meter", "sky": "night"})
        thing = make_thing(f"Thing {n}", pictures=1)
        actions.hang(keeper, thing, wall, as_it_happened=True)
        return thing

    def count(address: str) -> int:
        as_keeper.get(address)
        with CaptureQueriesContext(connection) as asked:
            assert as_keeper.get(address).status_code == 200
        return len(asked)

    thing = fill(0)
    addresses = (
        reverse("on_show:page"), wall.get_absolute_url(), reverse("on_show:thing_light", args=[thing.public_id]),
        reverse("things:list"), reverse("on_show:hang", args=[wall.public_id]),
    )  # fmt: skip
    few = [count(address) for address in addresses]
    for n in range(1, 8):
        fill(n)
    with changing(keeper, "test"):
        for day in range(5):
            LightUse(thing=thing, day=date(2026, 3, 1 + day), what="study", lxh=10).save()
    assert [count(address) for address in addresses] == few
    assert max(few) <= 25


@pytest.mark.parametrize("kind", ["quilt", "oil-or-acrylic-painting", "book", "ammunition", "pastel-or-charcoal"])
def test_how_to_show_is_one_page_with_the_caution_first(as_keeper: Any, make_thing: Any, kind: str) -> None:
    thing = make_thing(kind_code=kind, weight_g=12_000.0)
    page = _text(as_keeper.get(reverse("on_show:how", args=[thing.public_id])))
    if kind in ("quilt", "oil-or-acrylic-painting"):
        assert page.index("Ladders first") < page.index("Show it")
        assert "licensed" in page
    if kind == "ammunition":
        assert "Not the original" in page and "Not at all" in page
    if kind == "pastel-or-charcoal":
        assert '<svg viewBox="0 0 300 196"' in page and "no acrylic" in page
    assert "Kistbook" in page and "(our default)" in page


def test_a_part_governs_and_the_page_says_which(as_keeper: Any, make_thing: Any) -> None:
    """Rule MR-1, NMAA: an assembled object takes the class of its most sensitive component."""
    medal = make_thing("Medal", kind_code="silver", parts=["silk-textile"])
    page = _text(as_keeper.get(reverse("on_show:thing_light", args=[medal.public_id])))
    assert "Its most sensitive part governs: silk" in page.lower().replace("its most", "Its most")
    assert "15,000 lux hours a year" in page
    coloured = make_thing("Portrait", kind_code="silver-gelatin-print", states=["hand-coloured"])
    page = _text(as_keeper.get(reverse("on_show:thing_light", args=[coloured.public_id])))
    assert "part governs: hand-coloured" in page


def test_a_room_names_what_is_on_show_in_it(as_keeper: Any, as_visitor: Any, keeper: Any, make_thing: Any) -> None:
    from archive.boxes.actions import add_box

    room = add_box(keeper, {"title": "Parlour", "level": "room", "access": "all"})
    spot = actions.save_spot(keeper, None, {**_lamp_only("Shelf"), "room": room})
    actions.hang(keeper, make_thing("Teapot", kind_code="ceramic"), spot)
    page = _text(as_keeper.get(room.get_absolute_url()))
    assert "On show in this room" in page and "Teapot" in page
    assert "On show in this room" not in _text(as_visitor.get(room.get_absolute_url()))


def test_a_poor_place_is_named_before_something_goes_up(as_keeper: Any, keeper: Any, make_thing: Any) -> None:
    spot = actions.save_spot(keeper, None, {**_lamp_only("Kitchen"), "near": ["kitchen"], "materials": ["oak"]})
    page = _text(as_keeper.get(f"{reverse('on_show:hang', args=[spot.public_id])}?thing={make_thing().public_id}"))
    assert "A kitchen has steam" in page and "Oak gives off acid fumes" in page


@pytest.mark.parametrize(("lux", "days"), [(50, 30), (100, 15)])
def test_a_month_at_fifty_lux_or_two_weeks_at_a_hundred(keeper: Any, make_thing: Any, lux: float, days: int) -> None:
    """Conservation DistList, 19 August 2013: 15,000 lx h at 10 h a day; light.md C05. Blue wool 2 without UV.

    Four readings by a meter: the upper end, which counts for what fades fast, is a quarter more than was read.
    """
    spot = actions.save_spot(keeper, None, {**_lamp_only("Case"), "lamp_hours": 10.0})
    for _ in range(4):
        actions.add_reading(keeper, spot, {"lux": lux / 1.25, "by_what": "meter", "sky": "night"})
    checked = assess.check(make_thing(kind_code="newspaper"), spot, date(2026, 3, 2))
    assert checked.lux == pytest.approx(lux) and checked.days == days
    assert checked.too_bright is (lux > 50) and checked.longest == (0 if lux > 50 else days)


@pytest.mark.parametrize(("lux", "lxh"), [(450, 1_971_000), (120, 525_600)])
def test_a_year_on_the_wall_of_a_home(keeper: Any, make_thing: Any, lux: float, lxh: float) -> None:
    """Mastering Digital Printing and a paper maker’s note: 450 or 120 lx for 12 h a day; light.md C11."""
    spot = actions.save_spot(keeper, None, {**_lamp_only("Wall"), "lamp_hours": 12.0})
    actions.add_reading(keeper, spot, {"lux": lux, "by_what": "meter", "sky": "night"})
    thing = make_thing(kind_code="oil-or-acrylic-painting")
    showing = actions.hang(keeper, thing, spot, day=date(2025, 1, 1))
    actions.take_down(keeper, showing, day=date(2026, 1, 1))
    assert showing.lxh == pytest.approx(lxh)
    assert queries.used_lxh([thing.pk], date(2025, 1, 1), date(2026, 1, 1))[thing.pk] == pytest.approx(lxh)


def test_a_place_is_withdrawn_and_what_hangs_there_is_still_told(
    as_keeper: Any, keeper: Any, make_thing: Any, wall: Spot
) -> None:
    from archive.access.actions import withdraw

    letter = make_thing("Letter")
    actions.hang(keeper, letter, wall, as_it_happened=True)
    withdraw(keeper, wall, "The wall came down")
    assert "Wall</bdi>" not in _text(as_keeper.get(reverse("on_show:page")))
    assert "On show" in _text(as_keeper.get(letter.get_absolute_url()))
    with pytest.raises(actions.CannotHang, match="withdrawn"):
        actions.hang(keeper, make_thing("Other"), wall)
