"""Every page at 360 and 1280 px, light and dark: axe finds nothing, the HTML is valid, nothing scrolls sideways."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse

from tests.browser.conftest import NODE, SHOTS, axe, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SIZES = ((360, "light"), (1280, "light"), (360, "dark"), (1280, "dark"))


def addresses() -> dict[str, str]:
    from archive.access.models import Account
    from archive.keeping.actions import send_errand
    from archive.things.models import Thing

    letter, film, shell, quilt = Thing.objects.order_by("pk")
    keeper = Account.objects.get(role="keeper")
    picture = letter.pictures.first()
    return {
        "home": "/", "list": reverse("things:list"), "letter": letter.get_absolute_url(),
        "film": film.get_absolute_url(), "shell": shell.get_absolute_url(), "quilt": quilt.get_absolute_url(),
        "add": reverse("things:add"), "edit": reverse("things:edit", args=[letter.public_id]),
        "picture": reverse("pictures:edit", args=[picture.public_id]), "labels": reverse("labels:make"),
        "pictures": reverse("pictures:add", args=[letter.public_id]), "preferences": reverse("preferences:edit"),
        "sample": reverse("preferences:sample"),
        "accounts": reverse("access:people"), "invite": reverse("access:invite"),
        "password": reverse("access:password"), "history": reverse("access:history", args=["things", letter.public_id]),
        "withdraw": reverse("access:withdraw", args=["things", letter.public_id]),
        "destroy": reverse("access:destroy", args=["things", letter.public_id]),
        "withdrawn": reverse("access:withdrawn"), "health": reverse("keeping:health"),
        "errands": reverse("keeping:errands"),
        "errand": reverse("keeping:errand", args=[send_errand(keeper, "none", "A long sum", {}).public_id]),
        "missing": "/nowhere/", "wrong number": reverse("things:list") + "?number=0002-7",
        "no kind": reverse("things:list") + "?kind=carpet",
        **_pictures(picture),
        **_stories(letter),
        **_people_and_places(),
        **_boxes(),
        **_sorting(shell),
        **_sections(letter),
        **_many(),
        **_search(),
    }  # fmt: skip


def _pictures(picture: Any) -> dict[str, str]:
    """Pages of one picture; test_marking.py looks at them with marks and a look-alike."""
    names = ("zoom", "mark", "alike")
    return {
        **{f"picture {name}": reverse(f"pictures:{name}", args=[picture.public_id]) for name in names},
        "picture twins": reverse("pictures:twins"),
    }


def _search() -> dict[str, str]:
    page, line, things = reverse("search:page"), reverse("search:timeline"), reverse("things:list")
    return {
        "search empty": page, "search words": f"{page}?q=letter", "search near": f"{page}?q=lettre+ferri",
        "search nothing": f"{page}?q=zzzqqq", "search time": f"{page}?q=1951", "search number": f"{page}?q=0002-9",
        "search of one": f"{page}?q=negatives&in=things", "time line": line, "time line of a year": f"{line}?year=1951",
        "time line unread": f"{line}?year=never",
        "list narrowed": f"{things}?q=letter&from=1900&to=1960&person=nobody&standing=kept",
    }  # fmt: skip


def _many() -> dict[str, str]:
    plain = ("entry:quick", "entry:pictures", "entry:batch", "moving:paste")
    return {name.replace(":", " "): reverse(name) for name in plain}


def _sorting(shell: Any) -> dict[str, str]:
    from archive.sorting.models import FirstLook, Group, Lot

    plain = (
        "page", "triage", "first_look", "lots", "add_lot", "groups", "add_group", "proposals", "waiting", "standing",
    )  # fmt: skip
    look, lot, group = FirstLook.objects.earliest("pk"), Lot.objects.get(), Group.objects.get()
    of_lot = ("lot", "edit_lot", "lot_pictures", "lot_members", "accept", "as_it_came", "quarantine")
    return {
        **{f"sorting {name}": reverse(f"sorting:{name}") for name in plain},
        **{f"sorting {name}": reverse(f"sorting:{name}", args=[look.public_id]) for name in ("look", "edit_look")},
        **{f"sorting {name}": reverse(f"sorting:{name}", args=[lot.public_id]) for name in of_lot},
        **{f"sorting {name}": reverse(f"sorting:{name}", args=[group.public_id]) for name in ("group", "edit_group")},
        "sorting standing of one": reverse("sorting:standing", args=[shell.public_id]),
    }


def _sections(letter: Any) -> dict[str, str]:
    names = ("people", "places", "pieces", "inscriptions", "coming", "owners", "rights", "significance", "loans")
    loan = letter.loans.get(returned_on=None)
    return {
        **{f"letter {name}": reverse(f"things:{name}", args=[letter.public_id]) for name in names},
        "letter piece": f"{letter.get_absolute_url()}?piece=2",
        "loan": reverse("things:loan", args=[letter.public_id, loan.public_id]),
        "loan slip": reverse("things:slip", args=[letter.public_id, loan.public_id]),
    }


def _boxes() -> dict[str, str]:
    from archive.access.models import ChangeSet
    from archive.boxes.models import Box

    room, box = Box.objects.get(title="Parlour"), Box.objects.get(title__startswith="WWW")
    return {
        "boxes": reverse("boxes:tree"), "room": room.get_absolute_url(), "box": box.get_absolute_url(),
        "box list": reverse("boxes:contents", args=[room.public_id]), "empty places": reverse("boxes:empty"),
        "add box": f"{reverse('boxes:add')}?inside={room.public_id}", "add boxes": reverse("boxes:add_many"),
        "change box": reverse("boxes:edit", args=[box.public_id]),
        "box pictures": reverse("boxes:pictures", args=[box.public_id]),
        "move": f"{reverse('boxes:move')}?boxes={box.public_id}",
        "moved": reverse("boxes:moved", args=[ChangeSet.objects.filter(verb="boxes.move").latest("pk").public_id]),
        "box history": reverse("access:history", args=["boxes", box.public_id]),
    }  # fmt: skip


def _stories(letter: Any) -> dict[str, str]:
    from archive.stories.models import Story

    story = Story.objects.get()
    picture = story.pictures.get()
    return {
        "stories": reverse("stories:list"), "story": story.get_absolute_url(),
        "no story": reverse("stories:list") + "?when=1066",
        "tell": f"{reverse('stories:tell')}?thing={letter.public_id}",
        "add story": f"{reverse('stories:add')}?thing={letter.public_id}", "told": reverse("stories:unread"),
        "change story": reverse("stories:edit", args=[story.public_id]),
        "story pictures": reverse("stories:pictures", args=[story.public_id]),
        "story picture": reverse("stories:picture", args=[story.public_id, picture.public_id]),
        "story history": reverse("access:history", args=["stories", story.public_id]),
    }  # fmt: skip


def _people_and_places() -> dict[str, str]:
    from archive.people.models import Partnership, Person
    from archive.places.models import Place

    ida, karl = Person.objects.get(name__startswith="Ida W" + "W" * 9), Person.objects.get(name__startswith="Karl")
    nobody, place = Person.objects.get(unidentified=True), Place.objects.get(name__startswith="Skerrow")
    unite = reverse("access:unite", args=["people", nobody.public_id])
    return {
        "people": reverse("people:list"), "people not known": reverse("people:list") + "?unidentified=1",
        "no people": reverse("people:list") + "?name=zz", "person": ida.get_absolute_url(),
        "family": reverse("people:family", args=[ida.public_id]), "add person": reverse("people:add"),
        "change person": reverse("people:edit", args=[ida.public_id]),
        "add parent": reverse("people:add_row", args=[ida.public_id, "parent"]),
        "change name": reverse("people:row", args=["name", ida.names.get().public_id]),
        "change partner": reverse("people:row", args=["partner", Partnership.objects.get().public_id]),
        "all pictures of a person": reverse("people:linked", args=[ida.public_id, "pictures"]),
        "person history": reverse("access:history", args=["people", ida.public_id]),
        "same person": unite, "two people": f"{unite}?other={karl.public_id}",
        "partners": f"{unite}?other={ida.public_id}",
        "places": reverse("places:list"), "place": place.get_absolute_url(), "add place": reverse("places:add"),
        "change place": reverse("places:edit", args=[place.public_id]),
        "change place name": reverse("places:name", args=[place.names.get().public_id]),
        "same place": reverse("access:unite", args=["places", place.public_id]),
    }  # fmt: skip


def test_every_page_in_four_dresses(chromium: Any, site: Any, keeper: Any, tmp_path: Path) -> None:
    SHOTS.mkdir(exist_ok=True)
    pages, troubles = addresses(), []
    for width, scheme in SIZES:
        context = chromium.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
        sign_in(context, site.url, keeper)
        page = context.new_page()
        page.on("pageerror", lambda error, found=troubles: found.append(f"script: {error}"))
        for name, address in pages.items():
            page.goto(site.url + address)
            troubles += [f"{name} {width} {scheme}: {finding}" for finding in axe(page)]
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            if wide > 0:
                troubles.append(f"{name} {width}: scrolls sideways by {wide}px")
            if page.locator("h1").count() != 1:
                troubles.append(f"{name}: not one h1")
            if width == 1280 and scheme == "light":
                (tmp_path / f"{name.replace(' ', '-')}.html").write_text(page.content(), encoding="utf-8")
            page.screenshot(path=SHOTS / f"{name.replace(' ', '-')}-{width}-{scheme}.png", full_page=True)
        context.close()
    assert troubles == [], "\n".join(troubles)


def test_pages_before_signing_in(chromium: Any, live_server: Any, home: Path, db: None) -> None:
    """The welcome page of a new archive, then signing in, an invitation, and one that is over."""
    from archive.access.actions import invite, make_account

    troubles: list[str] = []

    def look(address: str, *words: str) -> None:
        for width, scheme in SIZES:
            context = chromium.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
            page = context.new_page()
            page.goto(live_server.url + address)
            assert all(word in page.content() for word in words), (address, words)
            troubles.extend(f"{address} {width} {scheme}: {finding}" for finding in axe(page))
            context.close()

    look("/", "Nobody keeps this archive yet")
    keeper = make_account("keeper", "Kaja Keeper", "three words in row", "keeper")
    _, secret = invite(keeper, "Ragna", "relative")
    look(reverse("access:sign_in"), "Your password")
    look(reverse("access:accept_invitation", args=[secret]), "Kaja Keeper")
    look(reverse("access:accept_invitation", args=["no-such-link"]), "This invitation is over")
    assert troubles == [], "\n".join(troubles)


def test_html_is_valid(site: Any, keeper: Any, tmp_path: Path) -> None:
    """The Nu HTML checker on what the server sends, signed in and not."""
    from django.test import Client

    files = []
    for signed_in in (True, False):
        client = Client(REMOTE_ADDR="192.168.1.9")
        if signed_in:
            client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
        for name, address in {**addresses(), "sign-in": reverse("access:sign_in")}.items():
            path = tmp_path / f"{signed_in}-{name.replace(' ', '-')}.html"
            path.write_bytes(client.get(address, follow=True).content)
            files.append(str(path))
    jar = next((NODE / "vnu-jar").glob("**/vnu.jar"))
    run = subprocess.run(["java", "-jar", str(jar), "--errors-only", *files], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr[:4000]


def test_the_checkers_find_a_bad_page(chromium: Any, tmp_path: Path) -> None:
    """A check that cannot fail is none: a page with known faults must give them."""
    bad = "<html><body><img src=x><input><p style='color:#bbb;background:#fff'>pale</p><a href=x></a></body></html>"
    page = chromium.new_page()
    page.set_content(bad)
    found = {line.partition(":")[0] for line in axe(page)}
    assert {"image-alt", "label", "color-contrast", "document-title", "html-has-lang", "link-name"} <= found
    page.close()
    path = tmp_path / "bad.html"
    path.write_text(bad)
    jar = next((NODE / "vnu-jar").glob("**/vnu.jar"))
    assert subprocess.run(["java", "-jar", str(jar), str(path)], capture_output=True).returncode != 0


def test_controls_are_large_enough_for_a_finger(chromium: Any, site: Any, keeper: Any) -> None:
    context = chromium.new_context(viewport={"width": 360, "height": 800}, has_touch=True)
    sign_in(context, site.url, keeper)
    page = context.new_page()
    for name, address in addresses().items():
        page.goto(site.url + address)
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, .button, nav a, select, summary, input:not([type=hidden])')]
            .map(e => [e.closest('label.choice') || e, e]).map(([box, e]) => [box.getBoundingClientRect(), e.outerHTML])
            .filter(([r]) => r.width > 0 && (r.height < 47 || r.width < 40))
            .map(([r, h]) => r.height + ' ' + h.slice(0, 90))"""
        )
        assert small == [], (name, small)
    context.close()


def test_the_keyboard_reaches_everything_and_shows_where_it_is(chromium: Any, site: Any, keeper: Any) -> None:
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    sign_in(context, site.url, keeper)
    page = context.new_page()
    for name in ("list", "letter", "add", "labels"):
        page.goto(site.url + addresses()[name])
        wanted = page.evaluate(
            """() => { const seen = [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select,'
              + ' textarea, summary')].filter(e => e.checkVisibility() && e.getClientRects().length);
              seen.forEach((e, i) => e.dataset.walk = i); return seen.length }"""
        )
        reached = set()
        for _ in range(wanted + 30):
            page.keyboard.press("Tab")
            here = page.evaluate("document.activeElement && document.activeElement.dataset.walk")
            if here is not None:
                reached.add(here)
                ring = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                assert ring != "none", (name, here)
        missing = set(map(str, range(wanted))) - reached
        # One of a group of radio buttons stands for all of them.
        missing = {
            m for m in missing if page.evaluate("m => document.querySelector(`[data-walk='${m}']`).type", m) != "radio"
        }
        assert missing == set(), (name, missing)
    context.close()
