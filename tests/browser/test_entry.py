"""Recording many things in a browser: with a keyboard, without JavaScript, on a phone; the pages between are sound."""

from __future__ import annotations

import subprocess
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NODE, SHOTS, axe, sign_in, takes_keys
from tests.conftest import jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ROWS = (
    "Title\tKind\tMade\tSize (cm)\tPeople\tMy own column\n"
    "Letter from Elsbeth\tLetter\t3/4/1910\t16 × 20,5\tElsbeth Aldermoor; Somebody New\tx\n"
    "Tobias at the rope\tFotograf\t1910\tabout 9\tTobias Aldermoor\t\n"
    + "W" * 150 + " مرحبا 🎻\tWooden object\t\t\t\t\n"
)  # fmt: skip


def _photographs(folder: Path) -> list[Path]:
    from PIL import Image

    paths = []
    for n, at in enumerate(("19:00", "19:01", "19:09"), 1):
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = f"2026:11:02 {at}:00"
        paths.append(folder / f"IMG_{n}.jpg")
        paths[-1].write_bytes(jpeg((400, 300), seed=n, exif=exif.tobytes()))
    (folder / "clip.mp4").write_bytes(b"\0\0\0\x20ftypisom" + b"\0" * 99)
    return [*paths, folder / "clip.mp4"]


def _to_names(page: Any, url: str, files: list[Path]) -> None:
    page.goto(f"{url}/entry/pictures/")
    page.locator("#id_pictures").set_input_files(files)
    page.get_by_label("By the time between them").check()
    page.get_by_role("button", name="Send them").click()
    page.get_by_role("heading", name="Name the pictures").wait_for()


def _to_rows(page: Any, url: str) -> None:
    page.goto(f"{url}/moving/paste/")
    page.locator("#id_text").fill(ROWS)
    page.get_by_role("button", name="Look at them").click()
    page.get_by_role("heading", name="Look at your rows").wait_for()


def _to_fields(page: Any, url: str) -> None:
    page.goto(f"{url}/entry/batch/")
    page.get_by_role("button", name="Go on with all on this page").click()
    page.get_by_role("button", name="Look at what will change").wait_for()


def _look(page: Any, troubles: list[str], dress: str, name: str) -> None:
    """Note what axe finds, what scrolls sideways, and controls that a finger would miss."""
    troubles.extend(f"{name} {dress}: {finding}" for finding in axe(page))
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    if wide > 0:
        troubles.append(f"{name} {dress}: scrolls sideways by {wide}px")
    small = page.evaluate(
        """() => [...document.querySelectorAll('main button, main .button, main select, main summary,'
        + ' main input:not([type=hidden])')].map(e => [e.closest('label.choice') || e, e.outerHTML])
        .map(([e, h]) => [e.getBoundingClientRect(), h])
        .filter(([r]) => r.width > 0 && (r.height < 47 || r.width < 40)).map(([r, h]) => h.slice(0, 90))"""
    )
    troubles.extend(f"{name} {dress}: too small {each}" for each in small)
    page.screenshot(path=SHOTS / f"{name}-{dress}.png", full_page=True)


def test_the_pages_between_are_sound(chromium: Any, site: Any, keeper: Any, tmp_path: Path) -> None:
    SHOTS.mkdir(exist_ok=True)
    files = _photographs(tmp_path)
    troubles: list[str] = []
    for width, scheme in ((360, "light"), (1280, "dark")):
        context = chromium.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
        sign_in(context, site.url, keeper)
        page = context.new_page()
        page.on("pageerror", lambda error, found=troubles: found.append(f"script: {error}"))

        look = partial(_look, page, troubles, f"{width}-{scheme}")
        page.goto(f"{site.url}/entry/")
        page.locator("#id_box").fill("nowhere")
        page.get_by_role("button", name="Save and next").click()
        page.locator(".error-summary").wait_for()
        look("quick-with-errors")
        _to_names(page, site.url, files)
        look("name-pictures")
        page.get_by_role("button", name="Save 2 things").click()
        page.get_by_text("It needs a title").first.wait_for()
        look("name-pictures-with-errors")
        _to_rows(page, site.url)
        look("look-at-rows")
        _to_fields(page, site.url)
        look("batch-fields")
        page.locator("#id_kind").fill("Letter")
        page.get_by_role("button", name="Look at what will change").click()
        page.get_by_role("heading", name="Look before it changes").wait_for()
        look("batch-look")
        context.close()
    assert troubles == [], "\n".join(troubles)


def test_the_pages_between_are_valid_html(as_keeper: Any, site: Any, tmp_path: Path) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.things.models import Thing

    ids = " ".join(Thing.objects.values_list("public_id", flat=True))
    photographs = [SimpleUploadedFile(path.name, path.read_bytes()) for path in _photographs(tmp_path)]
    bodies: dict[str, tuple[str, dict[str, Any]]] = {
        "names": ("/entry/pictures/names/", {"pictures": photographs}),
        "quick": ("/entry/", {"title": "", "kind": "zzz", "access": "all"}),
        "rows": ("/moving/paste/", {"text": ROWS}),
        "fields": ("/entry/batch/", {"chosen": ids, "do": "choose"}),
        "look": ("/entry/batch/", {"chosen": ids, "do": "preview", "kind": "letter", "add_group": "Spring"}),
        "done": ("/entry/batch/", {"chosen": ids, "do": "apply", "kind": "letter", "add_group": "Spring"}),
        "sitting": ("/entry/", {"title": "One", "keep": "title"}),
    }
    files = []
    for name, (address, body) in bodies.items():
        path = tmp_path / f"{name}.html"
        path.write_bytes(as_keeper.post(address, body, follow=True).content)
        files.append(str(path))
    jar = next((NODE / "vnu-jar").glob("**/vnu.jar"))
    run = subprocess.run(["java", "-jar", str(jar), "--errors-only", *files], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr[:4000]


def test_a_carton_by_keyboard_alone(chromium: Any, live_server: Any, keeper: Any) -> None:
    """Ten photographs typed one after the other; what stays the same is typed once. The presses are counted."""
    from archive.things.models import Thing

    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    presses = 0

    def press(key: str, times: int = 1) -> None:
        nonlocal presses
        for _ in range(times):
            page.keyboard.press(key)
            presses += 1

    page.goto(f"{live_server.url}/entry/")
    takes_keys(page)
    assert page.evaluate("document.activeElement.id") == "id_title"
    page.keyboard.type("Photograph 1")
    press("Tab")
    page.keyboard.type("Black-and-white print")
    for _ in range(40):  # on to the tick “kind” under “Keep for the next one”
        press("Tab")
        if page.evaluate("document.activeElement.value") == "kind":
            break
    press("Space")
    press("Enter")
    page.locator(".just-saved").wait_for()
    takes_keys(page)
    first, presses = presses, 0
    for n in range(2, 11):
        page.keyboard.type(f"Photograph {n}")
        press("Enter")
        page.get_by_text(f"{n} in this sitting").wait_for()
        takes_keys(page)
    assert presses == 9 and first < 40  # beside the title itself, one press for each further thing
    assert Thing.objects.filter(kind_code="silver-gelatin-print").count() == 10
    context.close()


def test_enter_in_a_sheet_with_a_picture_saves_and_goes_on(
    chromium: Any, live_server: Any, keeper: Any, tmp_path: Path
) -> None:
    """Files are sent by script, which must still say which button was pressed."""
    context = chromium.new_context()
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    for button, heading in (("Save and next", "Quick entry"), ("Save and finish", "By the river")):
        page.goto(f"{live_server.url}/entry/")
        page.locator("#id_title").fill("By the river")
        page.locator("#id_pictures").set_input_files(_photographs(tmp_path)[:1])
        page.get_by_role("button", name=button).click()
        page.locator(".just-saved, .messages").first.wait_for()
        expect(page.locator("h1")).to_contain_text(heading)
    context.close()


def test_many_without_javascript_on_a_phone(chromium: Any, site: Any, keeper: Any, tmp_path: Path) -> None:
    from archive.things.models import Thing

    before = Thing.objects.count()
    context = chromium.new_context(viewport={"width": 360, "height": 740}, java_script_enabled=False)
    sign_in(context, site.url, keeper)
    page = context.new_page()
    _to_names(page, site.url, _photographs(tmp_path))
    expect(page.get_by_text("clip.mp4")).to_be_visible()
    page.get_by_role("button", name="Each a thing").click()
    page.get_by_text("Thing 3 of 3").wait_for()
    page.get_by_label("Title", exact=True).nth(0).fill("The ferry")
    page.get_by_label("Title", exact=True).nth(2).fill("The landing")
    page.get_by_label("Begins a thing (picture 2)").uncheck()
    page.get_by_role("button", name="As ticked below").click()
    page.get_by_text("Thing 2 of 2").wait_for()
    page.get_by_role("button", name="Save 2 things").click()
    page.get_by_role("heading", name="2 things recorded with their pictures").wait_for()
    assert Thing.objects.get(title="The ferry").pictures.count() == 2
    _to_rows(page, site.url)
    page.get_by_role("button", name="Record 2 things").click()
    page.get_by_text("2 cells are bad").wait_for()
    page.locator("#mend-3-1").fill("Colour print")
    page.locator("#mend-3-3").fill("9 × 13")
    page.get_by_label("The day (3/4 is 3 April)").check()
    page.get_by_role("button", name="Mend and look again").click()
    page.get_by_role("button", name="Record 3 things").click()
    page.get_by_role("heading", name="3 things recorded from your rows").wait_for()
    assert Thing.objects.get(title="Letter from Elsbeth").made_edtf == "1910-04-03"
    assert Thing.objects.count() == before + 5
    _to_fields(page, site.url)
    page.locator("#id_made_text").fill("summer 1931")
    page.get_by_role("button", name="Look at what will change").click()
    page.get_by_role("button", name="Change them").click()
    page.get_by_role("button", name="Undo all of it").click()
    page.get_by_text("This was undone").wait_for()
    assert Thing.objects.get(title="Letter from Elsbeth").made_edtf == "1910-04-03"
    context.close()


def test_eighty_photographs_dropped_as_a_folder_and_named_by_keyboard(
    chromium: Any, live_server: Any, keeper: Any, tmp_path: Path
) -> None:
    """A carton in an evening: besides the words themselves one press for each thing, and four requests for all."""
    import base64

    from archive.things.models import Thing

    data = [base64.b64encode(jpeg((60, 40), seed=n)).decode() for n in range(80)]
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    sign_in(context, live_server.url, keeper)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/entry/" in request.url else None)
    page.goto(f"{live_server.url}/entry/pictures/")
    # A browser's own entries of a dropped folder cannot be made by a script; these behave as its standard says.
    page.evaluate(
        """data => {
        const file = (name, text) => ({isFile: true, isDirectory: false, file: done => done(new File(
          [Uint8Array.from(atob(text), c => c.charCodeAt(0))], name, {type: "image/jpeg"}))});
        const inside = data.map((text, n) => file(`IMG_${n}.jpg`, text));
        const parts = [inside.slice(0, 50), inside.slice(50), []];
        const deeper = {isFile: false, isDirectory: true,
          createReader: () => ({readEntries: done => done(parts.shift())})};
        const outer = [[deeper, file(".hidden", "")], []];
        const folder = {isFile: false, isDirectory: true,
          createReader: () => ({readEntries: done => done(outer.shift())})};
        const event = new Event("drop", {bubbles: true, cancelable: true});
        Object.defineProperty(event, "dataTransfer", {value: {items: [{webkitGetAsEntry: () => folder}], files: []}});
        document.querySelector(".drop").dispatchEvent(event);
        }""",
        data,
    )
    page.wait_for_function("document.getElementById('id_pictures').files.length === 80")
    page.get_by_role("button", name="Send them").click()
    page.get_by_text("80 pictures are in, put together as 80 things").wait_for()
    takes_keys(page)
    page.locator(".naming input[name^=title-]").first.focus()
    for n in range(80):
        page.keyboard.type(f"Photograph {n}")
        page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.value") == "save"
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="80 things recorded with their pictures").wait_for()
    titles = list(Thing.objects.order_by("serial_id").values_list("title", flat=True))
    assert titles == [f"Photograph {n}" for n in range(80)]
    pages = [url for url in asked if "/static/" not in url]
    assert len(pages) == 4, pages
    context.close()
