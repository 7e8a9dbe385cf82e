"""Chromium, axe and the HTML checker. A missing browser is a failure here, never a skip."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright runs a loop in this thread; Django is not async
HERE = Path(__file__).parent
NODE = HERE.parent / "node_modules"
SHOTS = HERE.parent / ".shots"
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    found = os.environ.get("CHROMIUM") or shutil.which("chromium")
    assert found, "Chromium is missing: install Debian's chromium, or name one in CHROMIUM"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture
def site(live_server: Any, keeper: Any, make_thing: Any, settings: Any) -> Any:
    """A served archive with a few things, hard cases among them."""
    make_thing("Letter from the ferry house", pictures=2, made_text="3/4/1951", kind_code="iron-gall-document")
    make_thing("Negatives in a tin", kind_code="film-unknown", states=["acrid-smell"], access="all", pictures=1)
    make_thing("Shell that may be live", kind_code="ammunition", access="all")
    make_thing("W" * 120 + " مرحبا 🎻", kind_code="quilt", note="Long words " * 40)
    _told(keeper)
    _family(keeper)
    _house(keeper)
    _details(keeper)
    _sorted(keeper)
    _cold(keeper)
    _walked(keeper)
    _living(keeper)
    return live_server


def _walked(keeper: Any) -> None:
    """A round under way with something found, a trap that caught much, and a bag in the freezer."""
    from datetime import timedelta

    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.utils import timezone

    from archive.boxes.models import Box
    from archive.pictures.actions import take_in
    from archive.things.models import Thing
    from conservation.rooms.freezing import actions as freezing
    from conservation.rooms.rounds import actions
    from conservation.rooms.traps import actions as traps
    from tests.conftest import jpeg

    now, today = timezone.now(), timezone.localdate()
    room, quilt = Box.objects.get(title="Parlour"), Thing.objects.order_by("pk")[3]
    long, taken = "Found " + "W" * 90 + " مرحبا", take_in([SimpleUploadedFile("web.jpg", jpeg(seed=57))])[0]
    round_ = actions.begin_round(keeper, today, [(room, ["leaks", "moth", "mould", "air-conditioner", "roof"])])
    actions.answer_room(keeper, round_.rooms.get(), {"leaks": "fine", "moth": "found"}, today)
    values = {"check_code": "moth", "box": None, "gravity": "urgent", "words": long, "found_on": today}
    finding = actions.add_finding(keeper, room, values, [quilt], taken, round_)
    place = {"across": 20, "along": 990, "where": long, "lure": True, "placed_on": today - timedelta(days=90)}
    trap = traps.lay(keeper, room, place)
    for ago, moths in ((60, 0), (30, 2), (1, 7)):
        caught = {"moth": moths, "beetle": 1, "larva": 0, "silverfish": 0, "other": 30, "note": long}
        traps.count(keeper, trap, {**caught, "counted_on": today - timedelta(days=ago), "renewed": ago == 30})
    went_in, packed = now - timedelta(hours=90), {"title": long, "box": room, "finding": finding, "note": long}
    bag = freezing.add_freezing(keeper, packed, [(quilt, True)], went_in)
    for ago, celsius in ((89, 18.0), (82, -3.0), (60, -21.0), (30, -22.0), (2, -12.0)):
        freezing.read(keeper, bag, now - timedelta(hours=ago), celsius)


def _living(keeper: Any) -> None:
    """A damp cellar and a dry room, a box that should leave the one for the other, and a move that is to be done."""
    from archive.access.changes import changing
    from archive.boxes.actions import add_box
    from archive.boxes.models import Box, RoughCount
    from conservation.rooms.actions import say_what_it_is_like
    from conservation.rooms.living.actions import decide

    cellar = add_box(keeper, {"title": "Cellar " + "W" * 60, "level": "room"})
    say_what_it_is_like(keeper, cellar, {"floor": "cellar", "water": ["ground", "pipes"]})
    say_what_it_is_like(keeper, Box.objects.get(title="Parlour"), {"floor": "ground", "light": "bright"})
    rows = (("Photographs of a damp year " + "W" * 60, "silver-gelatin-print"), ("Records", "grooved-disc"))
    boxes = [add_box(keeper, {"title": title, "inside": cellar}) for title, _ in rows]
    with changing(keeper, "test"):
        for box, (_, kind) in zip(boxes, rows, strict=True):
            RoughCount(box=box, kind_code=kind, count=40).save()
    values = {"answer": "accepted", "goal": Box.objects.get(title="Bureau"), "reason": "Because " + "W" * 90}
    decide(keeper, boxes[1], {**values, "gain": "Records would last about twice as long there."})


def _cold(keeper: Any) -> None:
    """A freezer that is not ready, with things that may not be in it, one of them out and warming up."""
    from datetime import timedelta

    from django.utils import timezone

    from archive.boxes.actions import add_box, move
    from archive.boxes.models import Box
    from conservation.rooms.cold import actions

    room = Box.objects.get(title="Parlour")
    values = {"appliance": "freezer", "temperature_c": -12.0, "note": "Long words " * 40, "card_pct": 70}
    place = actions.add_cold_place(keeper, "Freezer " + "W" * 60, room, values)
    box = add_box(keeper, {"title": "Film " + "W" * 60, "inside": place.box})
    bureau = Box.objects.get(title="Bureau")
    tin = add_box(keeper, {"title": "Tin of slides", "inside": bureau})
    now = timezone.now()
    for each, out in ((box, now), (tin, now - timedelta(days=3))):
        actions.take_out(keeper, place, each, {"package": "box", "out_at": out, "opens_at": out + timedelta(days=2)})
    move(keeper, [], [tin], place.box)


def _sorted(keeper: Any) -> None:
    """A first look with danger in it, a lot that is kept apart, a group, and a proposed one; names that are hard."""
    from datetime import date

    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.people.queries import NewName
    from archive.pictures.actions import take_in
    from archive.sorting import actions, group_actions, lot_actions
    from archive.things.models import Thing
    from tests.conftest import jpeg

    taken, _ = take_in([SimpleUploadedFile("found.jpg", jpeg(seed=41))])
    long, codes = "Found " + "W" * 110 + " مرحبا 🎻", ["ammunition", "mould", "vinegar", "damp"]
    values = {"title": long, "access": "all", "found": codes, "could_tell": long, "note": long, "stood_where": long}
    actions.add_first_look(keeper, values, {"letter": 40}, [("outside", taken)])
    actions.add_first_look(keeper, {"title": "Hat box", "access": "all", "stays_whole": True}, {}, [])
    lot = lot_actions.add_lot(keeper, {"title": long, "position_note": long, "from_whom": NewName(long)})
    things = list(Thing.objects.order_by("pk"))
    lot_actions.add_members(keeper, lot, things[:3], long)
    lot_actions.add_pictures(keeper, lot, [("wrapper", taken)])
    lot_actions.keep_apart(keeper, lot, date(2026, 1, 2), long)
    group_actions.add_group(keeper, {"title": long, "note": long}, things)
    actions.ask(keeper, things[3], long)


def _details(keeper: Any) -> None:
    """Everything that can be recorded of the letter, with a name in two directions and a loan that is overdue."""
    from datetime import date

    from archive.people.queries import NewName
    from archive.places.queries import NewPlace
    from archive.things import actions, link_actions, loan_actions
    from archive.things.models import Thing
    from archive.things.rows import RowChange

    letter = Thing.objects.order_by("pk")[0]
    writer = NewName("Elsbeth " + "W" * 60 + " مرحبا")
    link_actions.set_people(keeper, letter, [RowChange(None, {"person": writer, "role": "wrote", "sure": False})])
    link_actions.set_places(keeper, letter, [RowChange(None, {"place": NewPlace("Tidewick"), "role": "made"})])
    text = {"where": "on the back", "text": "שלום\n" + "W" * 90, "reading": "Peace"}
    link_actions.set_inscriptions(keeper, letter, [RowChange(None, text)])
    pieces = [{"order": n, "title": "Leaf", "people": frozenset({NewName("Tobias")})} for n in (1, 2)]
    link_actions.set_pieces(keeper, letter, [RowChange(None, each) for each in pieces])
    owners = [RowChange(None, {"person": NewName("Jonas"), "part": "1/3"})]
    link_actions.set_owners(keeper, letter, owners, {"borrowed_from": NewName("The school")})
    told = {"came_how": "gift", "came_note": "In a sack", "significance": 4, "significance_why": "The only one"}
    actions.set_fields(keeper, letter, {**told, "rights_note": "W" * 90, "closed_why": "Asked"}, "things.coming")
    since, until = date(2026, 1, 2), date(2026, 2, 3)
    loan = loan_actions.lend(keeper, letter, {"to_text": "The museum", "since": since, "until": until})
    loan_actions.come_back(keeper, loan, until)
    loan_actions.lend(keeper, letter, {"to_text": "W" * 90, "since": since, "until": until, "note": "Word " * 60})


def _house(keeper: Any) -> None:
    """A room, furniture, shelves, a box with a picture and a long name; the letter has been moved into it."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.boxes.actions import add_box, add_boxes, move
    from archive.pictures.actions import attach, take_in
    from archive.things.models import Thing
    from tests.conftest import jpeg

    room = add_box(keeper, {"title": "Parlour", "level": "room", "access": "all"})
    bureau = add_box(keeper, {"title": "Bureau", "level": "furniture", "inside": room, "made_of": "oak"})
    sort = {"level": "shelf", "inside": bureau, "inner_width_mm": 620.0}
    drawer, _ = add_boxes(keeper, sort, ["Drawer 1", "Drawer 2"])
    box = add_box(keeper, {"title": "W" * 90 + " صندوق 🎻", "inside": drawer, "note": "Long words " * 40})
    taken, _ = take_in([SimpleUploadedFile("box.jpg", jpeg())])
    attach(keeper, box, taken, view="outside")
    letter = list(Thing.objects.order_by("pk")[:1])
    move(keeper, letter, [], bureau)
    move(keeper, letter, [], box)


def _family(keeper: Any) -> None:
    """Four generations with long names, a loop of dates that cannot be, a portrait; a place with an older name."""
    from archive.people.actions import add_name, add_parent, add_partner, add_person
    from archive.pictures.actions import mark_person
    from archive.places.actions import add_name as add_place_name
    from archive.places.actions import add_place
    from archive.preferences.queries import preferences
    from archive.things.models import Thing

    kept = preferences()
    shire = add_place(keeper, {"name": "Reach parish", "latitude": 55.1, "longitude": 6.8})
    place = add_place(keeper, {"name": "Skerrow " + "W" * 60, "within": shire, "note": "On the river."})
    add_place_name(keeper, place, {"name": "Scerhou مرحبا", "when": "before 1700"})
    rows = ("Ida " + "W" * 80, "مريم بنت يوسف", "Olaf", "Karl 🎻", "Mia", "Anders")
    ida, maria, olaf, karl, mia, anders = (
        add_person(keeper, {"name": name, "born_text": "3/4/1951", "born_where": place, "died_text": "soon"}, kept)
        for name in rows
    )
    for child, parent in ((ida, maria), (ida, olaf), (maria, anders), (karl, ida), (mia, ida)):
        add_parent(keeper, child, parent)
    add_partner(keeper, ida, add_person(keeper, {"name": "Ida Wray", "unidentified": True}, kept), {}, kept)
    add_name(keeper, ida, {"name": "Idchen", "sort": "called", "when": "as a child"})
    spot = {"left": 2000, "top": 2000, "width": 2000, "height": 3000, "sure": False}
    mark_person(keeper, Thing.objects.order_by("pk")[0].pictures.all()[0], ida, spot)


def _told(keeper: Any) -> None:
    """One long story with a picture, told by a relative of the first letter and not read yet."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.access.actions import make_account
    from archive.pictures.actions import take_in
    from archive.preferences.queries import preferences
    from archive.stories.actions import add_story
    from archive.things.models import Thing
    from tests.conftest import PASSWORD, jpeg

    rolf = make_account("rolf", "Rolf Relative", PASSWORD, "relative")
    taken, _ = take_in([SimpleUploadedFile("told.jpg", jpeg(seed=40))])
    values = {
        "title": "W" * 90 + " مرحبا", "body": "It rang.\n\nمرحبا\nhttps://example.org/" + "x" * 90,
        "teller_text": "Aunt Ragna", "about_text": "3/4/1951", "told_text": "soon",
    }  # fmt: skip
    add_story(rolf, values, {"thing": [Thing.objects.order_by("pk")[0]]}, taken, preferences())


def sign_in(context: Any, url: str, account: Any) -> None:
    """Put an account's session into a browser context."""
    from django.conf import settings
    from django.test import Client

    client = Client()
    client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    name = settings.SESSION_COOKIE_NAME
    context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": url}])


def takes_keys(page: Any) -> None:
    """Wait until a page takes keys: Chromium drops those pressed before its first frame, late on a busy computer."""
    page.wait_for_load_state("load")
    page.evaluate("window.pressed = 0; document.addEventListener('keydown', () => { window.pressed += 1 })")
    for _ in range(200):
        page.keyboard.press("Shift")
        if page.evaluate("window.pressed"):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the page takes no keys")


def fetch_the_rest(page: Any) -> None:
    """Bring into view, and wait for, the sections of a page that are fetched only then."""
    while page.locator("[data-hx-trigger=revealed]").count():
        before = page.locator("[data-hx-trigger=revealed]").count()
        page.locator("[data-hx-trigger=revealed]").first.scroll_into_view_if_needed()
        page.wait_for_function(
            "n => document.querySelectorAll('[data-hx-trigger=revealed]').length < n", arg=before, timeout=10_000
        )
    page.evaluate("window.scrollTo(0, 0)")


def axe(page: Any) -> list[str]:
    """Run axe on a page and return its findings, one line each."""
    source = (NODE / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
    page.evaluate(source)  # through the debugger, since the page's own rules let no foreign script in
    return _findings(page, AXE_TAGS)


def colours(page: Any) -> list[str]:
    """Return what axe finds by the rules that depend on colours, on a page that `axe` has looked at before."""
    return _findings(page, {"type": "rule", "values": ["color-contrast", "link-in-text-block"]})


def _findings(page: Any, which: Any) -> list[str]:
    result = page.evaluate("which => axe.run(document, {runOnly: which, resultTypes: ['violations']})", which)
    return [
        f"{each['id']}: {node['html'][:140]} {node.get('failureSummary', '')[:300]}"
        for each in result["violations"]
        for node in each["nodes"]
    ]
