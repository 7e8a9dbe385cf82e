"""EDTF against the specification's own examples, with two independent packages as second opinions.

The table is of the Library of Congress EDTF specification (4 February 2019; ISO 8601-2:2019), day bounds added.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from edtf import parse_edtf
from edtf_validate.valid_edtf import is_valid
from hypothesis import example, given, settings
from hypothesis import strategies as st

from archive.dates import read_date
from archive.dates.edtf import NotEDTF, span

TABLE = list(csv.DictReader((Path(__file__).parent / "edtf_table.csv").open(encoding="utf-8")))
# The package `edtf` 5.0.2 departs from the specification here (unknown ends, winter, significant digits, 1X months).
OTHERWISE = ("1985-04-12/", "1985/", "/1985-04", "/1985", "2001-24", "1950S2", "1984-1X")


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row["edtf"])
def test_examples_of_the_specification(row: dict[str, str]) -> None:
    read = read_date(row["edtf"])
    assert read.edtf == row["edtf"] and is_valid(row["edtf"])
    for found, expected in ((read.earliest, row["earliest"]), (read.latest, row["latest"])):
        assert found == (None if expected in ("open", "beyond") else expected)
    assert bool(read.notes) == ("beyond" in row.values())
    assert read.certain is not any(mark in row["edtf"] for mark in "?~%") or read.asked
    assert read.words


CLOSED = [row for row in TABLE if "open" not in row.values() and "beyond" not in row.values()]


@pytest.mark.parametrize("row", CLOSED, ids=lambda row: row["edtf"])
def test_the_edtf_package_agrees_where_it_follows_the_text(row: dict[str, str]) -> None:
    if row["edtf"] in OTHERWISE:
        assert read_date(row["edtf"]).edtf  # read here all the same
        return
    other = parse_edtf(row["edtf"])
    low, high = other.lower_strict(), other.upper_strict()
    if row["edtf"].startswith(("-", "XXXX")):
        assert (low.tm_year, high.tm_year) == (int(row["earliest"][:-6]), int(row["latest"][:-6]))
        return
    ours = (read_date(row["edtf"]).earliest, read_date(row["edtf"]).latest)
    theirs = tuple(f"{t.tm_year:04d}-{t.tm_mon:02d}-{t.tm_mday:02d}" for t in (low, high))
    assert ours == theirs


@pytest.mark.parametrize(
    "text",
    [
        "1985-02-30",
        "1985-13",
        "85",
        "1984u",
        "2001-20",
        "2001-42",
        "1984?~",
        "2012-10-10/unknown",
        "/",
        "../..",
        "2005/2004",
    ],
)
def test_what_is_not_edtf(text: str) -> None:
    with pytest.raises(NotEDTF):
        span(text)


@settings(max_examples=500, deadline=None)
@given(st.text("0123456789-/.,X~?%[]{}YES abcdefmy", max_size=24) | st.text(max_size=30))
@example("[..1984,1990..]")
@example("Y" + "9" * 30)
@example("1930" * 60)
def test_any_text_is_answered_and_reads_back(text: str) -> None:
    read = read_date(text)
    if read.edtf is None:
        assert read.notes and read.earliest is read.latest is None
        return
    again = read_date(read.edtf)
    assert (again.edtf, again.earliest, again.latest) == (read.edtf, read.earliest, read.latest)
    if read.earliest and read.latest and not read.earliest.startswith("-"):
        assert read.earliest <= read.latest
        assert read.likely[0] is None or read.likely[0] <= read.earliest or read.likely[0].startswith("-")


def test_a_day_that_no_month_has_is_refused_at_once() -> None:
    import time

    began = time.process_time()
    for text in ("XXXX-XX-32", "XXXX-13-XX", "XXXX-XX-4X", "[XXXX-XX-99]"):
        with pytest.raises(NotEDTF):
            span(text)
    assert time.process_time() - began < 0.5  # going through every day of ten thousand years takes many seconds


@pytest.mark.parametrize(("typed", "edtf"), [("١٩٤٤", "1944"), ("about १९३०", "1930~"), ("１９１４-１８", "1914/1918")])
def test_the_digits_of_any_writing_are_read(typed: str, edtf: str) -> None:
    assert read_date(typed).edtf == edtf
