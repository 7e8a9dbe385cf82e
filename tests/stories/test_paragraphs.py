"""A story's text: what is typed is what is shown, whatever is typed."""

from __future__ import annotations

import html.parser
import time

from hypothesis import given
from hypothesis import strategies as st

from archive.stories.paragraphs import first_lines, paragraphs, title_of

ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=300)
STORY = st.lists(
    st.sampled_from(["https://a.example/x_(y)", "http://", "(", ")", ".", "\n", "\n\n", " ", "<b>", "é", "شجرة"])
)


class Reader(html.parser.HTMLParser):
    """Reads drawn paragraphs back as a browser would: their text, their tags and their links."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags, self.links = "", set[str](), list[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.text += {"p": "\n\n", "br": "\n"}.get(tag, "")
        self.links += [value or "" for name, value in attrs if name == "href"]

    def handle_data(self, data: str) -> None:
        self.text += data


def drawn(body: str) -> Reader:
    from django.template.loader import render_to_string

    reader = Reader()
    reader.feed(render_to_string("stories/_body.html", {"paragraphs": paragraphs(body)}))
    reader.close()
    return reader


@given(st.one_of(ANY_TEXT, STORY.map("".join)))
def test_the_page_says_what_was_typed_and_holds_no_markup_of_the_teller(body: str) -> None:
    """Read back by Python's own HTML parser, the drawn story has the typed words and no tags but p, br and a."""
    page = drawn(body)
    assert page.text.split() == body.split()
    assert page.tags <= {"p", "br", "a"}
    assert all(link.startswith(("http://", "https://")) for link in page.links)


def test_only_whole_addresses_become_links() -> None:
    body = (
        "See https://example.org/mill_(old), or (http://example.org/a?b=1&c=2).\n"
        "javascript:alert(1) www.example.org <a href='https://evil.example'>x</a> HTTPS://EXAMPLE.ORG."
    )
    page = drawn(body)
    assert page.links == [
        "https://example.org/mill_(old)", "http://example.org/a?b=1&c=2", "https://evil.example", "HTTPS://EXAMPLE.ORG",
    ]  # fmt: skip
    assert "<a href=" in page.text  # typed tags are shown as typed


def test_empty_lines_part_paragraphs_and_single_ones_break_lines() -> None:
    shape = [[["".join(part.text for part in line)] for line in block] for block in paragraphs("a\r\nb\n \t\n\n\nc\n")]
    assert shape == [[["a"], ["b"]], [["c"]]]
    assert paragraphs(" \n\n ") == []


def test_a_very_long_story_is_drawn_at_once() -> None:
    for unit in ("https://", "(((", "http://a)))) ", "\n \n", "a" * 50 + "\n\n"):
        began = time.perf_counter()
        paragraphs(unit * (200_000 // len(unit)))
        assert time.perf_counter() - began < 2, unit


@given(ANY_TEXT)
def test_first_lines_are_how_it_begins(text: str) -> None:
    found = first_lines(text, 60)
    assert "\n" not in found and len(found) <= 62
    assert " ".join(text.split()).startswith(found.removesuffix(" …"))


def test_a_title_is_the_first_sentence_or_the_first_words() -> None:
    assert title_of("The ice broke at two. You could hear it.") == "The ice broke at two"
    assert title_of("Is it true that she sang? Nobody knows.") == "Is it true that she sang?"
    long = title_of("word " * 100)
    assert long.startswith("word word") and long.endswith(" …") and len(long) <= 72
    assert title_of("Line one\nline two") == "Line one"
    assert title_of("W" * 500) == "W" * 70 + " …"
