"""What was going on then: bounds, presumed lives, readers, and the strip over the decades."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse

from tests.search.test_filters import made
from tests.search.test_index import person

pytestmark = pytest.mark.django_db


def born(keeper: Any, name: str, first: str, last: str = "", **values: Any) -> Any:
    years = {"born_text": first, "born_earliest": f"{first}-01-01", "born_latest": f"{first}-12-31"} if first else {}
    if last:
        years |= {"died_text": last, "died_earliest": f"{last}-01-01", "died_latest": f"{last}-12-31"}
    return person(keeper, name, **years, **values)


def shown(client: Any, year: str) -> str:
    page = client.get(reverse("search:timeline"), {"year": year}).content.decode()
    return page.split("<main", 1)[1].split("</main>")[0]


def test_a_year_shows_things_people_and_stories_of_it(
    as_keeper: Any, as_relative: Any, keeper: Any, make_thing: Any
) -> None:
    from archive.stories.models import Story

    make_thing("Ration book", made_text="1944")
    make_thing("Wide bowl", made_text="1920s to 1950s")
    make_thing("Secret map", made_text="1944", access="keeper")
    make_thing("Later lamp", made_text="1946")
    for name, first, last in (
        ("Lived Through", "1902", "1971"), ("Died Before", "1850", "1943"), ("Born After", "1945", ""),
        ("Died In It", "1870", "1944"), ("No Death Known", "1860", ""), ("Still Young", "1920", ""),
        ("Too Long Ago", "1820", ""),
    ):  # fmt: skip
        born(keeper, name, first, last)
    person(keeper, "No Years At All")
    made(keeper, Story, title="The cold winter", body="Ice on the ferry.", about_text="1944",
         about_earliest="1944-01-01", about_latest="1944-12-31")  # fmt: skip
    page = shown(as_keeper, "1944")
    for words in (
        "Ration book",
        "Wide bowl",
        "Secret map",
        "Lived Through",
        "Died In It",
        "No Death Known",
        "The cold",
    ):
        assert words in page, words
    for words in ("Later lamp", "Died Before", "Born After", "Too Long Ago", "No Years At All"):
        assert words not in page, words
    assert page.index("Ration book") < page.index("Wide bowl")  # what lies wholly within goes first
    doubted = re.findall(r"<bdi>([^<]+)</bdi></a>[^\n]*\(perhaps\)</span></li>", page.replace("<li>", "\n<li>"))
    assert doubted == ["No Death Known"]
    assert "?year=1943" in page and "?year=1945" in page
    page = shown(as_relative, "1944")
    assert "Ration book" in page and "Secret map" not in page
    assert re.search(r'1940s</a></th><td data-label="Things">2<', page)  # without the keeper's own
    assert "?year=1930s" in shown(as_keeper, "1940s") and "about%201943" in shown(as_keeper, "about 1944")
    assert "No time was found" in shown(as_keeper, "when the pear tree fell")


def test_the_strip_counts_what_is_there_now(as_keeper: Any, make_thing: Any) -> None:
    def figures() -> list[tuple[str, str]]:
        return re.findall(r'(\d{4}s)</a></th><td data-label="Things">(\d+)<', shown(as_keeper, ""))

    assert figures() == []
    make_thing("One", made_text="1931")
    assert figures() == [("1930s", "1")]
    make_thing("Two", made_text="1950s")
    assert figures() == [("1930s", "1"), ("1940s", "0"), ("1950s", "1")]
