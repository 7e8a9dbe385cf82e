"""What stands in a column, said as people say it: for pages that tell what a record was before."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from django import forms
from django.utils import timezone

from archive.access.merging import Conflict
from archive.dates.words import in_words
from archive.kinds import KIND_CODES, STATE_CODES, kind, state

_CODE = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)+")


def told(names: set[str], name: str) -> bool:
    """Say whether a changed column is told, given all that changed: not what follows from another."""
    stem, _, end = name.rpartition("_")
    if end in ("folded", "earliest", "latest"):
        return False
    return not (end == "edtf" and f"{stem}_text" in names)


def said(name: str, value: Any) -> str:
    """Return a column's value in words; dates and times by the home's clock."""
    if value is None or value in ("", [], {}):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        at = timezone.localtime(value)
        return f"{at.day} {at:%B %Y, %H:%M}"
    if isinstance(value, date):
        return f"{value.day} {value:%B} {value.year}"
    if isinstance(value, dict):
        return "data of a sum"
    if isinstance(value, list):
        return ", ".join(_code(name, str(each)) for each in value)
    if isinstance(value, float):
        return f"{value:g}"
    return _code(name, str(value)) if name.endswith(("_edtf", "_code")) else str(value)


def _code(name: str, value: str) -> str:
    if name.endswith("_edtf"):
        return in_words(value)
    if name in ("kind_code", "parts") and value in KIND_CODES:
        return kind(value).name
    if name == "states" and value in STATE_CODES:
        return state(value).name
    return value.replace("-", " ") if _CODE.fullmatch(value) else value


def shown(conflicts: Iterable[Conflict], form: forms.BaseForm) -> list[Conflict]:
    """Return conflicts with their three values as the form shows them."""
    return [
        replace(each, **{side: _shown(form, each.name, getattr(each, side)) for side in ("base", "theirs", "mine")})
        for each in conflicts
    ]


def _shown(form: forms.BaseForm, name: str, value: Any) -> str:
    if value is None or value in ("", []):
        return ""
    if (choices := getattr(form.fields.get(name), "choices", None)) is not None:
        told = {str(code): str(words) for code, words in _flat(choices)}
        return ", ".join(told.get(str(each), str(each)) for each in (value if isinstance(value, list) else [value]))
    return str(getattr(value, "label", None) or getattr(value, "name", None) or said(name, value))


def _flat(choices: Iterable[Any]) -> Iterator[tuple[Any, Any]]:
    for code, words in choices:
        if isinstance(words, list | tuple):
            yield from words
        else:
            yield code, words


def with_article(words: str) -> str:
    """Return words with ``a`` or ``an`` before them."""
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"
