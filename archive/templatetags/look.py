"""Small drawn parts of pages: the tag that every thing carries, and drawings by code."""

from __future__ import annotations

import re
from typing import Any

from django import template
from django.template.exceptions import TemplateDoesNotExist
from django.template.loader import get_template
from django.utils.safestring import SafeString

register = template.Library()

_LINE, _LINES = 24, 2  # signs a title's line holds at size 16 in the tag
_TAG_OR_NUMBER = re.compile(r"<[^>]*>|(?<![\w-])\d{4,}-[\dX](?![\w-])")


@register.inclusion_tag("look/tag.svg.html")
def tag(number: str, title: str) -> dict[str, Any]:
    """Draw the tie-on tag of a thing: number and title, cut at a word."""
    return {"number": number, "lines": title_lines(title), "title": title}


def title_lines(title: str) -> list[str]:
    """Break a title into at most two lines of a tag, cut at a word with an ellipsis."""
    words, lines = title.split(), [""]
    for word in words:
        tried = f"{lines[-1]} {word}".strip()
        if len(tried) <= _LINE:
            lines[-1] = tried
        elif len(lines) == _LINES or (len(word) > _LINE and not lines[-1]):
            lines[-1] = (f"{lines[-1]} {word}".strip())[: _LINE - 1].rpartition(" ")[0] or word[: _LINE - 1]
            lines[-1] += " …"
            break
        else:
            lines.append(word[:_LINE])
    return [line for line in lines if line]


@register.simple_tag
def drawing(name: str) -> SafeString | str:
    """Draw the small line picture of a code, such as ``form-four-flap``; nothing where there is none."""
    try:
        return get_template(f"look/drawings/{name}.svg.html").render({})
    except TemplateDoesNotExist:
        return ""


@register.filter(is_safe=True)
def whole_numbers(html: str) -> str:
    """Keep each number, such as ``0214-6``, on one line of rendered HTML: a browser may break at its hyphen.

    What comes in safe goes out safe, and nothing else: text that was not rendered is escaped as ever.
    """
    return _TAG_OR_NUMBER.sub(lambda m: m[0] if m[0][0] == "<" else f'<span class="one-number">{m[0]}</span>', html)
