"""The pages that the browser tests look at, and how they look at each: axe, scrolling sideways, one heading."""

from __future__ import annotations

from typing import Any

from django.urls import reverse

from tests.browser.conftest import SHOTS, axe, colours, fetch_the_rest, sign_in
from tests.browser.wording import wording

PHONE, DESK = 360, 1280


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
        **_housing(letter, shell),
        **_on_show(letter, quilt, film),
        **_rooms(),
        **_cold(letter),
        **_plans(keeper, letter, quilt),
        **_walked(),
        **_this_week(),
    }  # fmt: skip


def _housing(thing: Any, dangerous: Any) -> dict[str, str]:
    """The pages of housing, and of labels beside the form."""
    from archive.boxes.models import Box
    from archive.labels.actions import note_printed

    note_printed(None, "a4-3x7", [thing.serial_id])
    box = Box.objects.filter(level="box").order_by("pk")[0]
    of_thing = ("sheet", "card", "decide")
    return {
        **{f"housing {name}": reverse(f"housing:{name}", args=[thing.public_id]) for name in of_thing},
        "housing place": reverse("housing:place", args=[box.public_id]),
        "housing needs": reverse("housing:needs"),
        "danger sheet": reverse("housing:sheet", args=[dangerous.public_id]),
        "labels printed": reverse("labels:printed"), "labels marking": reverse("labels:marking"),
        "labels chosen": reverse("labels:make") + f"?box={box.public_id}&thing={thing.public_id}",
    }  # fmt: skip


def _this_week() -> dict[str, str]:
    """This week with hard names: a job in hand, one put off, one done, an open calendar; little time and enough."""
    from datetime import timedelta

    from django.utils import timezone

    from archive.access.models import Account
    from conservation.this_week import actions, queries
    from tests.this_week.cast import a_line, own_job

    keeper, today = Account.objects.get(role="keeper"), timezone.localdate()
    long = "Dry the chest " + "W" * 90 + " مرحبا 🎻"
    own = own_job(keeper, long, tier=2, minutes=90, due=today, repeat="month", matters=5, first=long)
    for n, words in enumerate(("Air the loft", "Ring the bank", "Oil the hinge", long)):
        job = own_job(keeper, f"{words} {n}", due=today + timedelta(days=n), repeat="week", tier=3 if n == 3 else 4)
        line = a_line(keeper, job.key)
        if n == 0:
            actions.put_off(keeper, line, today + timedelta(days=9), long)
        elif n == 1:
            actions.done(keeper, line, today, 25)
        elif n == 2:
            actions.begin(keeper, line)
    actions.set_calendar(keeper, True, "own")
    names = ("everything", "times", "month", "calendar", "add")
    return {
        **{f"week {name}": reverse(f"this_week:{name}") for name in names},
        "week ten minutes": "/?minutes=10", "week two hours": "/?minutes=120", "week bad time": "/?minutes=0",
        "week job": reverse("this_week:job", args=[queries.code_of(own.key)]),
        "week own": reverse("this_week:own", args=[own.public_id]),
    }  # fmt: skip


def _rooms() -> dict[str, str]:
    """Pages of rooms."""
    from archive.boxes.models import Box

    room = Box.objects.get(title="Parlour")
    logger, asked, done, refused = _readings(room)
    of_room = reverse("rooms:room", args=[room.public_id])
    return {
        "rooms": reverse("rooms:list"), "a room": of_room,
        "room facts": reverse("rooms:facts", args=[room.public_id]),
        **{f"room {period}": f"{of_room}?period={period}" for period in ("day", "week", "month", "all")},
        "room numbers": reverse("rooms:numbers", args=[room.public_id]),
        "add sensor": reverse("rooms:add_sensor", args=[room.public_id]),
        "sensor": logger.get_absolute_url(), "change sensor": reverse("rooms:sensor_change", args=[logger.public_id]),
        "type reading": reverse("rooms:type_reading"), "import readings": reverse("rooms:import"),
        **{
            f"import {name}": reverse("rooms:import_file", args=[each.public_id])
            for name, each in (("asked", asked), ("done", done), ("refused", refused))
        },
    }  # fmt: skip


def _walked() -> dict[str, str]:
    """Rounds, findings, traps and bags, as far as they can go."""
    from conservation.rooms.freezing.models import Freezing
    from conservation.rooms.rounds.models import Finding, Round
    from conservation.rooms.traps.models import Trap

    plain = ("rounds", "findings", "cleaning", "traps", "freezings", "add_freezing")
    round_, finding, trap, bag = Round.objects.get(), Finding.objects.get(), Trap.objects.get(), Freezing.objects.get()
    room = trap.room
    return {
        **{f"walk {name}": reverse(f"rooms:{name}") for name in plain},
        "walk closed": reverse("rooms:findings") + "?closed=1",
        **{f"walk {name}": reverse(f"rooms:{name}", args=[round_.public_id]) for name in ("round", "round_sheet")},
        "walk in a room": reverse("rooms:round_room", args=[round_.public_id, room.public_id]),
        "walk finding": finding.get_absolute_url(),
        "walk change finding": reverse("rooms:change_finding", args=[finding.public_id]),
        "walk found": reverse("rooms:add_finding", args=[room.public_id]) + "?check=mould",
        "walk plan": reverse("rooms:room_traps", args=[room.public_id]),
        "walk lay trap": reverse("rooms:add_trap", args=[room.public_id]),
        "walk trap": trap.get_absolute_url(), "walk move trap": reverse("rooms:move_trap", args=[trap.public_id]),
        "walk bag": bag.get_absolute_url(),
    }  # fmt: skip


def _readings(room: Any) -> tuple[Any, ...]:
    """A room with a damp spell in its readings; a file with questions, one imported, and one that is none."""
    import numpy as np
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.access.models import Account
    from conservation.rooms.readings import import_actions
    from conservation.rooms.readings.actions import add_sensor

    keeper = Account.objects.get(role="keeper")
    logger = add_sensor(keeper, room, {"name": "W" * 40, "where": "on the shelf"})
    times = np.datetime64("now", "s") - np.arange(24 * 90, 0, -1) * np.timedelta64(1, "h")
    rows = [f"{at}Z,{18 + n % 24 / 8:.1f},{55 + (35 if 900 < n < 1700 else 0) + n % 7}" for n, at in enumerate(times)]

    def file(name: str, text: str) -> Any:
        return import_actions.stage(keeper, SimpleUploadedFile(name, text.encode()), {"tz": "Europe/Berlin"})

    done = file("loggers-file.csv", "time,temp C,rh\n" + "\n".join(rows) + "\n" + rows[-1][:21] + "-999,50\n")
    import_actions.begin_import(keeper, done, {"": logger.public_id})
    asked = file("two-readings.csv", "time,temp,rh\n02/03/26 14:00,66.9,52\n02/03/26 15:00,67.1,\n")
    return logger, asked, done, file("prose.csv", "Dear Ragna,\nthe ferry was late.\n" * 9)


def _cold(letter: Any) -> dict[str, str]:
    """Pages of the cold: one warming up, one that may be opened."""
    from conservation.rooms.cold.models import ColdPlace, ColdTrip

    box = ColdPlace.objects.get().box
    shut, over = ColdTrip.objects.all()
    return {
        **{f"cold {name}".strip(): reverse(f"rooms:cold{name}") for name in ("", "_how", "_add")},
        **{f"cold{name}": reverse(f"rooms:cold{name}", args=[box.public_id]) for name in ("_place", "_say", "_out")},
        "cold thing": reverse("rooms:cold_thing", args=[letter.public_id]),
        "cold shut": reverse("rooms:cold_trip", args=[shut.public_id]),
        "cold over": reverse("rooms:cold_trip", args=[over.public_id]),
        "cold box": box.get_absolute_url(),
        **_living(letter),
    }  # fmt: skip


def _living(letter: Any) -> dict[str, str]:
    """Pages of where things should live."""
    from archive.boxes.models import Box

    box = Box.objects.get(title__startswith="Photographs of a damp year")
    of_box = {"box": "living_box", "answer": "living_answer_box"}
    return {
        "living": reverse("rooms:living"), "living thing": reverse("rooms:living_thing", args=[letter.public_id]),
        **{f"living {name}": reverse(f"rooms:{route}", args=[box.public_id]) for name, route in of_box.items()},
        "living panel": box.get_absolute_url(),
    }  # fmt: skip


def _on_show(letter: Any, quilt: Any, film: Any) -> dict[str, str]:
    """Places where things are shown, the light of things, putting up and taking down, how to show."""
    from datetime import timedelta

    from django.utils import timezone

    from archive.access.models import Account
    from conservation.on_show.light import actions as light
    from conservation.on_show.spots import actions

    keeper = Account.objects.get(role="keeper")
    answers = {"window_direction": "w", "window_distance": "room", "lamp": "halogen", "curtain": "net"}
    said = {"near": ["kitchen", "passage"], "materials": ["oak", "lining-velvet"], "capacity": 2, "access": "all"}
    spot = actions.save_spot(keeper, None, {"title": "Wall " + "W" * 40, "form": "wall", **answers, **said})
    actions.save_spot(keeper, None, {"title": "Dark shelf", "form": "shelf", "window_direction": "none"})
    for lux, sky in ((120, "sun"), (60, "cloud"), (40, "night")):
        actions.add_reading(keeper, spot, {"lux": lux, "sky": sky, "by_what": "phone"})
    long_ago = timezone.localdate() - timedelta(days=200)
    before = actions.hang(keeper, letter, spot, day=long_ago, as_it_happened=True)
    actions.take_down(keeper, before, day=long_ago + timedelta(days=20))
    now = actions.hang(keeper, letter, spot, day=long_ago + timedelta(days=90), as_it_happened=True)
    actions.hang(keeper, film, spot, is_copy=True)
    light.add_use(keeper, letter, {"what": "digitising", "lxh": 83.3, "words": "Both sides"})
    light.bar(keeper, quilt, spot, "Too near the stove")
    of_spot = ("spot", "edit_spot", "read_spot")
    of_thing = ("thing_light", "say_light", "use_light", "bar", "how")
    return {
        "on show": reverse("on_show:page"), "add spot": reverse("on_show:add_spot"),
        "fade policy": reverse("on_show:policy"),
        **{f"show {name}": reverse(f"on_show:{name}", args=[spot.public_id]) for name in of_spot},
        **{f"show {name}": reverse(f"on_show:{name}", args=[letter.public_id]) for name in of_thing},
        "quilt light": reverse("on_show:thing_light", args=[quilt.public_id]),
        "quilt how": reverse("on_show:how", args=[quilt.public_id]),
        "film how": reverse("on_show:how", args=[film.public_id]),
        "hang which": reverse("on_show:hang", args=[spot.public_id]),
        "hang it": reverse("on_show:hang", args=[spot.public_id]) + f"?thing={quilt.public_id}",
        "take down": reverse("on_show:take_down", args=[now.public_id]),
        "spot history": reverse("access:history", args=["spots", spot.public_id]),
    }  # fmt: skip


def _plans(keeper: Any, letter: Any, quilt: Any) -> dict[str, str]:
    """Days that matter and plans: before, while and after one is worked out, its sheets and captions."""
    from datetime import date, timedelta

    from django.utils import timezone

    from conservation.on_show.occasions.actions import add_own
    from conservation.on_show.plans import actions, assess
    from conservation.on_show.spots.actions import save_spot
    from conservation.science.rotation import work_out

    today = timezone.localdate()
    monday = today - timedelta(days=today.weekday())
    wall = save_spot(keeper, None, {"title": "Wall of the landing", "form": "wall", "window_direction": "none"})
    own = add_own(keeper, {"title": "Fair of a very long name", "day": date(2020, 8, 15), "weight": 3}, [letter])
    plan, empty, busy = (
        actions.add_plan(keeper, {"title": title, "starts_on": monday, "weeks": 20, "change_weeks": [0, 6, 12]})
        for title in ("The walls this year", "Not yet", "Under way")
    )
    actions.wish(keeper, {letter: 5, quilt: 3}, plan, ())
    asked = assess.build(plan, keeper, today)
    actions.take_answer(keeper, plan, asked.stored, work_out(asked.input))
    row = actions.put_in(keeper, plan, letter, wall, 6, 6, is_copy=True, pinned=True)
    actions.send(keeper, busy, asked.stored)
    names = ("plan_settings", "plan_wishes", "plan_put_up")
    return {
        "days that matter": reverse("on_show:occasions") + f"?year={today.year}",
        "add day": reverse("on_show:add_occasion"), "change day": reverse("on_show:occasion", args=[own.public_id]),
        "plans": reverse("on_show:plans"), "add plan": reverse("on_show:add_plan"),
        "plan": plan.get_absolute_url(), "plan before": empty.get_absolute_url(),
        "plan working": busy.get_absolute_url(),
        **{name.replace("_", " "): reverse(f"on_show:{name}", args=[plan.public_id]) for name in names},
        "planned showing": reverse("on_show:plan_showing", args=[plan.public_id, row.public_id]),
        "changeover": reverse("on_show:changeover", args=[plan.public_id, 6]),
        "captions": reverse("on_show:captions", args=[plan.public_id, 6]) + "?for=family",
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


# Controls that a finger must hit, with their height where it is less than 47 px or their width where less than 40.
_SMALL = """() => [...document.querySelectorAll('button, .button, nav a, select, summary, input:not([type=hidden])')]
  .map(e => [e.closest('label.choice, fieldset label') || e, e])
  .map(([box, e]) => [box.getBoundingClientRect(), e.outerHTML])
  .filter(([r]) => r.width > 0 && (r.height < 47 || r.width < 40))
  .map(([r, h]) => r.height + ' ' + h.slice(0, 90))"""


def look_at_pages(chromium: Any, site: Any, keeper: Any, width: int) -> list[str]:
    """Open every page at a width and return what is wrong with it in light and in dark colours; leave a picture.

    A page is loaded once; then its colours are turned and looked at again, since nothing but colours depends on them.
    """
    SHOTS.mkdir(exist_ok=True)
    pages, troubles = addresses(), list[str]()
    context = chromium.new_context(viewport={"width": width, "height": 800}, has_touch=width == PHONE)
    sign_in(context, site.url, keeper)
    page = context.new_page()
    page.on("pageerror", lambda error, found=troubles: found.append(f"script: {error}"))
    for name, address in pages.items():
        page.emulate_media(color_scheme="light")
        page.goto(site.url + address)
        fetch_the_rest(page)
        troubles += [f"{name} {width}: {finding}" for finding in axe(page)]
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        if wide > 0:
            troubles.append(f"{name} {width}: scrolls sideways by {wide}px")
        if page.locator("h1").count() != 1:
            troubles.append(f"{name}: not one h1")
        if page.locator(".do-next:visible").count() > 1:
            troubles.append(f"{name}: more than one thing to do next")
        if width == DESK and name != "sample":  # the sample page shows drawings with their codes
            troubles += [f"{name}: {finding}" for finding in wording(page.locator("main").inner_text())]
        if width == PHONE:
            troubles += [f"{name}: too small for a finger: {each}" for each in page.evaluate(_SMALL)]
        page.screenshot(path=SHOTS / f"{name.replace(' ', '-')}-{width}.png", full_page=True)
        page.emulate_media(color_scheme="dark")
        troubles += [f"{name} {width} dark: {finding}" for finding in colours(page)]
    context.close()
    return troubles
