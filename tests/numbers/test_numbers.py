"""Numbers against python-stdnum's ISO 7064 MOD 11-2, an independent implementation."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_11_2

from archive.numbers import check_character, is_given_out, number_of, read_piece, read_typed
from conservation.science.problem import InputError
from conservation.topics import answer

SERIALS = st.integers(1, 10**9)


@given(SERIALS)
def test_check_characters_are_those_of_iso_7064(serial: int) -> None:
    number = number_of(serial).replace("-", "")
    assert mod_11_2.is_valid(number)
    assert check_character(number[:-1]) == mod_11_2.calc_check_digit(number[:-1])
    assert read_typed(number_of(serial)).serial == serial
    assert read_typed(f" {number.lower()} ").serial == serial


@given(st.integers(1, 99_999), st.data())
def test_one_wrong_digit_is_found_and_the_right_number_offered(serial: int, data: Any) -> None:
    number = number_of(serial).replace("-", "")
    place = data.draw(st.integers(0, len(number) - 2))
    digit = data.draw(st.sampled_from([d for d in "0123456789" if d != number[place]]))
    read = read_typed(number[:place] + digit + number[place + 1 :], exists=lambda s: s == serial)
    assert read.serial is None and read.near[0] == number_of(serial) and len(read.near) <= 10
    for near in read.near:
        assert mod_11_2.is_valid(near.replace("-", ""))


def test_worked_example() -> None:
    assert answer("number", '{"serial": 214}')["number"] == "0214-6"
    typed = answer("number", '{"typed": "02146"}')
    assert (typed["number"], typed["serial"], typed["valid"], typed["near"]) == ("0214-6", 214, True, [])
    for short in ("214-6", "2146", " 00214 6 "):  # leading zeros do not change an ISO 7064 check
        assert answer("number", json.dumps({"typed": short}))["number"] == "0214-6"
    assert answer("number", '{"typed": "1x"}')["number"] == "0001-X"
    assert read_typed("214 – 6").serial == 214 and read_typed("2146").serial is None  # on pages it may be a year
    wrong = answer("number", '{"typed": "0214-7"}')
    assert wrong["number"] is None and "0214-6" in wrong["near"]
    assert read_piece("0214-6/12") == (214, 12) and read_piece("0214-7/12") is None


def test_serials_with_x_are_skipped() -> None:
    skipped = [serial for serial in range(1, 200) if not is_given_out(serial)]
    assert skipped and all(number_of(serial).endswith("X") for serial in skipped)


@pytest.mark.parametrize(
    "problem", [{}, {"serial": 0}, {"serial": 1, "typed": "0001"}, {"serial": True}, {"serial": 1.5}, {"typed": 5}]
)
def test_unusable_input(problem: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        answer("number", json.dumps(problem))


@pytest.mark.parametrize(
    ("problem", "name"),
    [
        ({"piece": 1, "of": 3, "side": "front", "version": "keep", "words": "Kitchen window", "extension": "tif"},
         "0214-6_001f_keep_kitchen-window.tif"),
        ({"version": "share", "extension": "jpg"}, "0214-6_001_share.jpg"),
        ({"piece": 12, "of": 1200, "side": "back", "version": "keep", "words": "", "extension": "png"},
         "0214-6_0012b_keep.png"),
        ({"version": "keep", "words": "Łódź, Straße & Ærø: the very long way home", "extension": "tif"},
         "0214-6_001_keep_lodz-strasse-aero.tif"),
    ],
)  # fmt: skip
def test_file_names(problem: dict[str, Any], name: str) -> None:
    found = answer("file_name", json.dumps({"number": "0214-6", **problem}))["name"]
    assert found == name and len(found.rpartition(".")[0]) <= 35


def test_a_wrong_number_gives_no_file_name() -> None:
    with pytest.raises(InputError, match="number"):
        answer("file_name", '{"number": "0214-7", "version": "keep", "extension": "tif"}')


def test_a_piece_with_more_digits_than_python_reads_is_none() -> None:
    from archive.numbers import read_piece

    assert read_piece("0214-6/12") == (214, 12) and read_piece("0214-6 / 012") == (214, 12)
    for tail in ("9" * 5000, "9" * 10, "0", "-1", "12b", ""):
        assert read_piece(f"0214-6/{tail}") is None
