"""Marking people and looking closely in a browser: by dragging, by taps, by keys, and without JavaScript."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from playwright.sync_api import expect

from tests.browser.conftest import NODE, SHOTS, axe, sign_in, takes_keys
from tests.conftest import jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def picture(live_server: Any, make_thing: Any) -> Any:
    from archive.pictures.actions import attach, take_in

    thing = make_thing("At the ferry", access="all")
    taken, _ = take_in([SimpleUploadedFile("a.jpg", jpeg((3000, 2000)))])
    (row,) = attach(None, thing, taken)
    return row


def _open(chromium: Any, live_server: Any, keeper: Any, address: str, **options: Any) -> tuple[Any, Any, list[str]]:
    context = chromium.new_context(**{"viewport": {"width": 1100, "height": 900}, **options})
    sign_in(context, live_server.url, keeper)
    page, troubles = context.new_page(), []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda line: troubles.append(line.text) if line.type == "error" else None)
    page.goto(live_server.url + address)
    return context, page, troubles


def test_dragging_over_a_face_fills_the_fields(chromium: Any, live_server: Any, keeper: Any, picture: Any) -> None:
    from archive.pictures.models import PersonMark

    address = reverse("pictures:mark", args=[picture.public_id])
    context, page, troubles = _open(chromium, live_server, keeper, address)
    image = page.locator(".tap-stage input")
    image.scroll_into_view_if_needed()
    box = image.bounding_box()
    assert box["width"] > 500  # with a script the picture is larger than the one for taps
    page.mouse.move(box["x"] + box["width"] * 0.25, box["y"] + box["height"] * 0.25)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.4, box["y"] + box["height"] * 0.4, steps=4)
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + box["height"] * 0.5, steps=4)
    page.mouse.up()
    values = [float(page.locator(f"#id_{name}").input_value()) for name in ("left", "top", "width", "height")]
    assert values == pytest.approx([25, 25, 50, 25], abs=0.5)
    # The name is asked for next; Enter saves.
    assert page.evaluate("document.activeElement.name") == "person"
    page.keyboard.type("Elsbeth")
    page.screenshot(path=SHOTS / "mark-drag.png")
    page.keyboard.press("Enter")
    page.get_by_text("Elsbeth is marked").wait_for()
    mark = PersonMark.objects.get()
    assert [mark.left, mark.top, mark.width, mark.height] == pytest.approx([2500, 2500, 5000, 2500], abs=50)
    assert troubles == []
    context.close()


def test_arrow_keys_move_and_size_the_rectangle(chromium: Any, live_server: Any, keeper: Any, picture: Any) -> None:
    address = reverse("pictures:mark", args=[picture.public_id])
    context, page, troubles = _open(chromium, live_server, keeper, address)
    takes_keys(page)
    page.locator(".tap-stage input").focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowUp", "Shift+ArrowRight", "Shift+ArrowDown", "Shift+ArrowDown"):
        page.keyboard.press(key)
    values = [page.locator(f"#id_{name}").input_value() for name in ("left", "top", "width", "height")]
    assert values == ["41", "39", "21", "22"]
    expect(page.locator("#live")).to_contain_text("width 21")
    assert troubles == []
    context.close()


def test_two_taps_on_a_phone_without_javascript(chromium: Any, live_server: Any, keeper: Any, picture: Any) -> None:
    from archive.pictures.models import PersonMark

    address = reverse("pictures:mark", args=[picture.public_id])
    phone = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "java_script_enabled": False}
    context, page, _ = _open(chromium, live_server, keeper, address, **phone)
    page.get_by_label("Who is it?").fill("Tobias")
    image = page.locator(".tap-stage input")
    assert image.bounding_box()["width"] == 320
    image.tap(position={"x": 32, "y": 32})
    page.get_by_text("That is one corner").wait_for()
    image = page.locator(".tap-stage input")
    image.tap(position={"x": 160, "y": 128})
    page.get_by_text("The rectangle is drawn").wait_for()
    page.screenshot(path=SHOTS / "mark-taps-360.png", full_page=True)
    page.get_by_role("button", name="Save the mark").click()
    page.get_by_text("Tobias is marked").wait_for()
    mark = PersonMark.objects.get()
    # 32 and 160 of 320 wide, 32 and 128 of 213 high.
    assert [mark.left, mark.width] == pytest.approx([1000, 4000], abs=40)
    assert [mark.top, mark.height] == pytest.approx([1502, 4507], abs=80)
    context.close()


def test_looking_closely_by_keys_wheel_and_double_click(
    chromium: Any, live_server: Any, keeper: Any, picture: Any
) -> None:
    from archive.people.queries import NewName
    from archive.pictures.actions import mark_person

    mark_person(
        keeper, picture, NewName("Ragna"), {"left": 2500, "top": 2500, "width": 2000, "height": 3000, "sure": True}
    )
    address = reverse("pictures:zoom", args=[picture.public_id])
    context, page, troubles = _open(chromium, live_server, keeper, address)
    pane, stage = page.locator(".zoom-pane"), page.locator(".zoom-pane .stage")

    def width() -> float:
        return float(stage.bounding_box()["width"])

    def becomes(wanted: float, rel: float = 0.02) -> None:
        """Wait until the picture has a width; a busy computer draws a moment later."""
        page.wait_for_function(
            "([w, part]) => Math.abs(document.querySelector('.zoom-pane .stage').getBoundingClientRect().width - w)"
            " <= w * part",
            arg=[wanted, rel],
            timeout=10_000,
        )

    takes_keys(page)
    fits = width()
    assert fits <= pane.bounding_box()["width"] + 1 and stage.bounding_box()["height"] <= 900 * 0.8
    pane.focus()
    page.keyboard.press("+")
    becomes(fits * 1.25)
    page.keyboard.press("-")
    becomes(fits)
    middle = pane.bounding_box()
    page.mouse.move(middle["x"] + middle["width"] / 2, middle["y"] + 200)
    page.mouse.wheel(0, -600)
    page.wait_for_function("w => document.querySelector('.zoom-pane .stage').clientWidth > w * 2", arg=fits)
    # A larger file is fetched when the one at hand has fewer pixels than are shown.
    page.wait_for_function("() => document.querySelector('.zoom-pane img').currentSrc.includes('/2560/')")
    before = pane.evaluate("e => e.scrollLeft")
    page.mouse.down()
    page.mouse.move(middle["x"] + middle["width"] / 2 - 120, middle["y"] + 200, steps=5)
    page.mouse.up()
    assert pane.evaluate("e => e.scrollLeft") == pytest.approx(before + 120, abs=3)
    page.keyboard.press("0")
    becomes(fits)
    page.mouse.dblclick(middle["x"] + middle["width"] / 2, middle["y"] + 200)
    becomes(fits * 2.5, 0.03)
    # The mark lies over the same part of the picture at every size.
    rect, drawn = page.locator(".mark-line").bounding_box(), stage.bounding_box()
    assert (rect["x"] - drawn["x"]) / drawn["width"] == pytest.approx(0.25, abs=0.01)
    assert rect["height"] / drawn["height"] == pytest.approx(0.30, abs=0.01)
    expect(page.locator(".marks")).to_be_visible()
    page.get_by_label("Show who is who").uncheck()
    expect(page.locator(".marks")).to_be_hidden()
    assert troubles == []
    context.close()


def test_pages_of_pictures_in_four_dresses(
    chromium: Any, live_server: Any, keeper: Any, picture: Any, make_thing: Any
) -> None:
    from archive.people.queries import NewName
    from archive.pictures.actions import attach, mark_person, take_in

    SHOTS.mkdir(exist_ok=True)
    for n, name in enumerate(("Elsbeth Aldermoor", "مرحبا 🎻", "W" * 90)):
        box = {"left": 1000 + n * 2500, "top": 2000, "width": 2000, "height": 3000, "sure": n != 1}
        mark = mark_person(keeper, picture, NewName(name), box)
    other = make_thing("The same again, in a frame " + "W" * 60)
    taken, _ = take_in([SimpleUploadedFile("b.jpg", jpeg((3000, 2000)))])
    attach(None, other, taken)
    one = [picture.public_id]
    pages = {
        "zoom": reverse("pictures:zoom", args=one), "zoom large": reverse("pictures:zoom", args=one) + "?size=large",
        "mark": reverse("pictures:mark", args=one),
        "change mark": reverse("pictures:change_mark", args=[mark.public_id]),
        "alike": reverse("pictures:alike", args=one), "twins": reverse("pictures:twins"),
        "edit picture": reverse("pictures:edit", args=one),
        "add to thing": reverse("pictures:add", args=["things", other.public_id]),
        "thing with twin": other.get_absolute_url(),
    }  # fmt: skip
    troubles: list[str] = []
    for scripts in (True, False):
        for width, scheme in ((360, "light"), (1280, "dark")):
            context = chromium.new_context(
                viewport={"width": width, "height": 800}, color_scheme=scheme, java_script_enabled=scripts
            )
            sign_in(context, live_server.url, keeper)
            page = context.new_page()
            for name, address in pages.items():
                page.goto(live_server.url + address)
                page.screenshot(path=SHOTS / f"pic-{name.replace(' ', '-')}-{width}-{scripts}.png", full_page=True)
                if scripts:
                    troubles += [f"{name} {width}: {finding}" for finding in axe(page)]
                wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                if wide > 0:
                    troubles.append(f"{name} {width} scripts {scripts}: scrolls sideways by {wide}px")
            context.close()
    assert troubles == [], "\n".join(troubles)


def test_the_html_is_valid(keeper: Any, picture: Any, make_thing: Any, tmp_path: Path) -> None:
    """The Nu HTML checker on pages with marks and a look-alike."""
    from django.test import Client

    from archive.people.queries import NewName
    from archive.pictures.actions import attach, mark_person, take_in

    mark = mark_person(
        keeper, picture, NewName("A & <b>"), {"left": 1, "top": 2, "width": 3, "height": 4, "sure": False}
    )
    taken, _ = take_in([SimpleUploadedFile("b.jpg", jpeg((3000, 2000)))])
    attach(None, make_thing("again"), taken)
    client = Client()
    client.force_login(keeper, backend="django.contrib.auth.backends.ModelBackend")
    names = {name: [picture.public_id] for name in ("zoom", "mark", "alike", "edit")}
    files = []
    for name, args in {**names, "change_mark": [mark.public_id], "twins": [], "add": ["things", "0"]}.items():
        args = ["things", picture.thing.public_id] if name == "add" else args
        path = tmp_path / f"{name}.html"
        answer = client.get(reverse(f"pictures:{name}", args=args))
        assert answer.status_code == 200
        path.write_bytes(answer.content)
        files.append(str(path))
    (tmp_path / "thing.html").write_bytes(client.get(picture.thing.get_absolute_url()).content)
    jar = next((NODE / "vnu-jar").glob("**/vnu.jar"))
    run = subprocess.run(
        ["java", "-jar", str(jar), "--errors-only", *files, str(tmp_path / "thing.html")],
        capture_output=True,
        text=True,
    )
    assert run.returncode == 0, run.stderr[:4000]
