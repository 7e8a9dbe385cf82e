"""The demo household, built when its folder is empty: invented things with pictures drawn in code."""

from __future__ import annotations

import io
import tomllib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from django.conf import settings

from archive import extend

_QUALITY = 88
_BUILT = "built"


def build_if_missing(say: Callable[[str], None]) -> None:
    """Build the demo in an empty archive; one that is there stays as it is."""
    settings.DATA_FOLDER.demo_marker.touch()
    if settings.DATA_FOLDER.demo_marker.read_text() == _BUILT:
        return
    household = read_household()
    say(f"Building the demo household “{household['home_name']}” …")
    build(household, say)
    settings.DATA_FOLDER.demo_marker.write_text(_BUILT)


def read_household() -> dict[str, Any]:
    """Return the demo household as the files in ``fixtures/`` describe it: tables of rows, those of one name joined."""
    household: dict[str, Any] = {}
    for path in sorted((settings.BASE_DIR / "fixtures").glob("demo*.toml")):
        with path.open("rb") as file:
            for name, value in tomllib.load(file).items():
                household[name] = [*household[name], *value] if name in household else value
    return household


def build(household: dict[str, Any], say: Callable[[str], None]) -> None:
    """Record a household: its accounts, settings and things. What an interrupted build left is gone on from."""
    from archive.demo.boxes import add_storage
    from archive.demo.people import add_people_and_places, tie_to_things
    from archive.demo.pictures import settle_likenesses
    from archive.demo.sorting import add_sorting
    from archive.demo.stories import add_stories
    from archive.demo.things import add_details
    from archive.preferences.actions import begin_with
    from archive.things.actions import add_thing
    from archive.things.models import Thing

    keeper = _account(household["keeper"], "keeper")
    relatives = [_account(relative, "relative") for relative in household["relatives"]]
    kept = begin_with({"home_name": household["home_name"], "visitors_allowed": True})
    rows = household["thing"]
    there = set(Thing.objects.values_list("title", flat=True))
    # Drawing takes the longest and asks no database, so that two at once halve the wait.
    with ThreadPoolExecutor(2) as pool:
        drawn = {
            row["title"]: [pool.submit(_picture, name, position, row["title"]) for name in row.get("picture", [])]
            for position, row in enumerate(rows, 1)
            if row["title"] not in there
        }
        for position, row in enumerate(rows, 1):
            if row["title"] in drawn:
                pictures = [each.result() for each in drawn[row["title"]]]
                add_thing(keeper, _values(row), pictures, kept)
            if position % 6 == 0 or position == len(rows):
                say(f"  {position} of {len(rows)} things")
    add_storage(keeper, household["box"])
    add_people_and_places(household, keeper, kept, say)
    tie_to_things(household["tie"], keeper)
    add_details(household["detail"], keeper)
    add_sorting(household, keeper, _picture)
    # Last, so that everything a story tells of is there.
    add_stories(household["story"], [keeper, *relatives], kept, _picture)
    settle_likenesses(keeper)
    for each in extend.extensions():
        if each.demo:
            each.demo(household, keeper, _picture)
            say(f"  {each.subject.rpartition('.')[2].replace('_', ' ')}")


def _account(row: dict[str, str], role: str) -> Any:
    import secrets

    from archive.access.actions import make_account
    from archive.access.models import Account

    found = Account.objects.filter(username=row["username"]).first()
    return found or make_account(**row, password=secrets.token_urlsafe(20), role=role)


def _values(row: dict[str, Any]) -> dict[str, Any]:
    width, height, depth = (float(side) for side in row["size"]) if "size" in row else (None, None, None)
    return {
        "title": row["title"],
        "kind_code": row["kind"],
        "states": row.get("states", []),
        "parts": row.get("parts", []),
        "made_text": row.get("made", ""),
        "width_mm": width,
        "height_mm": height,
        "depth_mm": depth,
        "weight_g": row.get("weight"),
        "count": row.get("count", 1),
        "use": row.get("use", "rare"),
        "strip_level": row.get("strip_level", ""),
        "note": row.get("note", ""),
        "access": row.get("access", "relatives"),
    }


def _picture(name: str, seed: int, title: str) -> Any:
    """Draw a picture and take it in as if it had been uploaded."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.demo.drawings import draw
    from archive.pictures.actions import take_in

    file = io.BytesIO()
    draw(name, seed).save(file, format="JPEG", quality=_QUALITY)
    taken, refused = take_in([SimpleUploadedFile(f"{name}.jpg", file.getvalue(), content_type="image/jpeg")])
    if refused:
        raise RuntimeError(f"the drawn picture of {title} was refused: {refused[0].why}")
    return taken[0]
