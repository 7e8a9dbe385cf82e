"""Dates as people say them, by the table of words this house has agreed on."""

from __future__ import annotations

import pytest

from archive.dates import read_date

PHRASES = """
about 1930 = 1930~ | c. 1930 = 1930~ | circa 1930 = 1930~ | c1930 = 1930~ | ca. 1930 = 1930~ | 1930 or so = 1930~
maybe 1930 = 1930? | 1930? = 1930? | perhaps about 1930 = 1930% | about 1930? = 1930%
1920s = 192X | the 1920s = 192X | 1920's = 192X | about the 1920s = 192X~
early 1920s = 1920/1923 | mid-1930s = 1934/1936 | mid 1930s = 1934/1936 | the late 1940s = 1947/1949
19th century = 18XX | the nineteenth century = 18XX | late 19th century = 1867/1899
before 1914 = ../1913 | after 1945 = 1946/.. | by 1930 = ../1930 | until 1930 = ../1930 | since 1930 = 1930/..
from 1930 = 1930/.. | 1930 onwards = 1930/.. | 1930 or later = 1930/.. | up to 1930 = ../1930
not before 1930 = 1930/..
before the 1920s = ../1919 | after the 1920s = 1930/.. | before May 1910 = ../1910-04
after 31 December 1910 = 1911-01-01/..
before 12 May 1910 = ../1910-05-11 | after winter 1954 = 1955-03/.. | before about 1930 = ../1929~
by about 1930 = ../1930~
between 1920 and 1930 = 1920/1930 | 1914 to 1918 = 1914/1918 | 1914–1918 = 1914/1918 | 1914-1918 = 1914/1918
1914-18 = 1914/1918 | 1914–18 = 1914/1918
from 1914 to 1918 = 1914/1918 | about 1914-18 = 1914~/1918~
about 1910 to 1920 = 1910~/1920 | between about 1910 and 1920 = 1910~/1920 | 1920s to 1930s = 192X/193X
12 or 13 May 1910 = [1910-05-12,1910-05-13] | May or June 1910 = [1910-05,1910-06] | 1930 or 31 = [1930,1931]
3 to 5 May 1910 = 1910-05-03/1910-05-05 | May to June 1910 = 1910-05/1910-06
12-13 May 1910 = 1910-05-12/1910-05-13
12 May to 3 June 1910 = 1910-05-12/1910-06-03 | May 12 or 13, 1910 = [1910-05-12,1910-05-13]
summer 1954 = 1954-22 | the summer of 1954 = 1954-22 | winter 1954/55 = 1954-24 | winter 1954-55 = 1954-24
fall 1954 = 1954-23
13/4/1951 = 1951-04-13 | 4/13/1951 = 1951-04-13 | 3.3.1951 = 1951-03-03 | 1951/3/4 = 1951-03-04 | 3/1951 = 1951-03
12th May 1910 = 1910-05-12 | May 12, 1910 = 1910-05-12 | Friday 13 May 1910 = 1910-05-13 | Sept. 1910 = 1910-09
in 1930 = 1930 | sometime in 1930 = 1930 | Christmas 1943 = 1943-12-25 | late summer 1954 = 1954-08
1939-41 = 1939-41 | 1905-12 = 1905-12 | 1939/1945 = 1939/1945
1985-13 = - | 31/2/1951 = - | 30 February 1950 = - | 29 Feb 1900 = - | 85 = - | May = -
unknown = - | before the war = -
1998–03 = - | 1950-1940 = - | 1914/18 = -
"""
CASES = [pair.rsplit(" = ", 1) for line in PHRASES.strip().splitlines() for pair in line.split(" | ")]


@pytest.mark.parametrize(("text", "edtf"), CASES, ids=[case[0] for case in CASES])
def test_phrases(text: str, edtf: str) -> None:
    assert read_date(text).edtf == (None if edtf.strip() == "-" else edtf.strip())


def test_two_readings_are_asked_about() -> None:
    read = read_date("3/4/1951")
    assert read.edtf == "[1951-03-04,1951-04-03]" and not read.certain
    assert (read.earliest, read.latest) == ("1951-03-04", "1951-04-03")
    assert read.asked and "3 April 1951" in read.asked and "4 March 1951" in read.asked
    assert read_date("3/4/1951", day_first=True).edtf == "1951-04-03"
    assert read_date("3/4/1951", day_first=False).edtf == "1951-03-04"
    assert read_date("1939-41").asked and not read_date("1939-41").certain


def test_southern_seasons() -> None:
    read = read_date("summer 1954", southern_seasons=True)
    assert (read.edtf, read.earliest, read.latest) == ("1954-30", "1954-12-01", "1955-02-28")
    assert read_date("winter 1955").latest == "1956-02-29"


def test_about_widens_what_is_likely_and_only_there() -> None:
    read = read_date("about 1930")
    assert (read.earliest, read.latest) == ("1930-01-01", "1930-12-31")
    assert read.likely == ("1925-01-01", "1935-12-31") and not read.certain
    assert read_date("1984~/2004-06").likely == ("1979-01-01", "2004-06-30")
    assert read_date("before about 1930").likely == (None, "1934-12-31")
    assert read_date("1930").likely == ("1930-01-01", "1930-12-31") and read_date("1930").certain


@pytest.mark.parametrize(("text", "latest"), [("about February 1931", "1936-02-29"), ("c. winter 1930", "1936-02-29")])
def test_about_a_month_ends_with_its_month(text: str, latest: str) -> None:
    """The Gregorian calendar: 1936 is a leap year, 1931 is none."""
    assert read_date(text).likely[1] == latest


@pytest.mark.parametrize("text", ["１９３０", "١٩٣٠"])
def test_digits_of_other_scripts_become_edtf(text: str) -> None:
    """ISO 8601-2 knows the digits 0 to 9 only."""
    assert read_date(text).edtf == "1930"
