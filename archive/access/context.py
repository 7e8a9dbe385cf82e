"""What every page's shell needs: the home's name, the menu, the version, a fresh form id."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from archive import extend
from archive.access import permissions
from archive.access.middleware import new_form_id
from archive.preferences.queries import preferences

# The menu's words in their order; a word shows once its subject exists.
MENU: tuple[tuple[str, str], ...] = (
    ("This week", "this_week:page"),
    ("Things", "things:list"),
    ("People", "people:list"),
    ("Places", "places:list"),
    ("Stories", "stories:list"),
    ("Boxes", "boxes:tree"),
    ("Rooms", "rooms:list"),
    ("On show", "on_show:page"),
    ("Copies", "copies:page"),
    ("Rescue", "rescue:page"),
)
FOOT_MENU: tuple[tuple[str, str], ...] = (
    ("This week", "this_week:page"),
    ("Things", "things:list"),
    ("Add", "things:add"),
    ("Stories", "stories:list"),
)


@dataclass(frozen=True)
class MenuWord:
    """One word of the menu."""

    word: str
    url: str
    current: bool


def shell(request: HttpRequest) -> dict[str, Any]:
    """Return the context of the page shell."""
    kept = preferences()
    return {
        "home_name": kept.home_name,
        "theme": kept.theme,
        "kistbook_version": settings.KISTBOOK_VERSION,
        "demo": settings.DEMO,
        "menu": _menu(request, MENU),
        "foot_menu": _menu(request, FOOT_MENU),
        "role": permissions.role_of(request.user) if hasattr(request, "user") else "anyone",
        "preferences": kept,
        "new_form_id": new_form_id(),
        "upload_limit_mb": settings.UPLOAD_LIMIT_BYTES // 1_048_576,
        "extensions": [each.subject for each in extend.extensions()],
    }


def _menu(request: HttpRequest, rows: tuple[tuple[str, str], ...]) -> list[MenuWord]:
    here = request.resolver_match.namespace if request.resolver_match else ""
    words = []
    for word, route in rows:
        if not hasattr(request, "user") or not permissions.may_open(request.user, route):
            continue
        try:
            url = reverse(route)
        except NoReverseMatch:
            continue
        words.append(MenuWord(word, url, bool(here) and route.startswith(f"{here}:")))
    return words
