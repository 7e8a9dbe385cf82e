"""Reading pasted tables, against Python’s csv module as the writer, and against what a clipboard carries."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archive.moving.columns import columns_of, fields, has_headings, recognise
from archive.moving.sizes import NoMeasure, read_length, read_size, read_weight
from archive.moving.table import NotText, decode, letters, read_table, separator_of, write_table

# Any text, with the signs that matter to a table many times over.
CELL = st.text(st.one_of(st.sampled_from('"\t;,\r\n =x'), st.characters(exclude_categories=["Cs"])), max_size=12)
TABLE = st.lists(st.lists(CELL, min_size=1, max_size=5), min_size=1, max_size=6)


def _csv(rows: list[list[str]], separator: str, **options: object) -> str:
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=separator, **options).writerows(rows)  # type: ignore[arg-type]
    return file.getvalue()


@settings(max_examples=500, deadline=None)
@given(TABLE, st.sampled_from("\t;,"), st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
def test_any_table_written_by_csv_reads_back_equal(rows: list[list[str]], separator: str, quoting: int) -> None:
    assert read_table(_csv(rows, separator, quoting=quoting), separator) == rows
    # With bare line feeds the writer leaves a lone carriage return unquoted, so all is quoted there.
    text = _csv(rows, separator, quoting=csv.QUOTE_ALL, lineterminator="\n")
    assert read_table(text, separator) == rows


@settings(max_examples=300, deadline=None)
@given(TABLE)
def test_what_the_page_carries_reads_back_equal(rows: list[list[str]]) -> None:
    carried = write_table(rows)
    assert read_table(carried, "\t") == rows
    # A browser sends every line break of a form as CR LF; cells keep their lines.
    sent = carried.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\r\n")
    plain = [[cell.replace("\r\n", "\n").replace("\r", "\n") for cell in row] for row in rows]
    assert [[cell.replace("\r\n", "\n") for cell in row] for row in read_table(sent, "\t")] == plain


WORD = st.text(st.characters(categories=["L"]), min_size=1, max_size=8)


@settings(max_examples=200, deadline=None)
@given(st.integers(2, 6).flatmap(lambda n: st.lists(st.lists(WORD, min_size=n, max_size=n), min_size=2, max_size=8)))
def test_the_separator_is_found(rows: list[list[str]]) -> None:
    for separator in "\t;,":
        assert separator_of(_csv(rows, separator)) == separator


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("Title\tMade\nLetter, from Elsbeth; torn\t1910\n", "\t"),
        ("Title;Note\nLetter;torn, stained, and more, so\n", ";"),
        ("Letter from the ferry house\nAlbum\n", "\t"),
        ('Title,Made\n"Letter, from Elsbeth",1910\nAlbum,1920\n', ","),
    ],
)
def test_sentences_with_commas_do_not_mislead(text: str, separator: str) -> None:
    assert separator_of(text) == separator


def test_quotes_that_do_not_close_are_ordinary_signs() -> None:
    """A clipboard carries a cell such as ``"Ferry" song`` as it is, unlike a CSV file."""
    text = '"Ferry" song\t12" disc\n"tall\tq\n"two\nlines"\tHe said "no"\n'
    assert read_table(text, "\t") == [['"Ferry" song', '12" disc'], ['"tall', "q"], ["two\nlines", 'He said "no"']]


@settings(max_examples=300, deadline=None)
@given(st.text(st.sampled_from('"",;\t\n\rab'), max_size=60))
def test_any_text_is_read_and_nothing_is_lost(text: str) -> None:
    signs = sum(text.count(sign) for sign in "ab")
    for separator in "\t;,":
        assert sum(cell.count("a") + cell.count("b") for row in read_table(text, separator) for cell in row) == signs


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_files_of_every_encoding(encoding: str) -> None:
    text = "Titel;Größe\r\nTruhe für Łódź 🎻;9 × 13 cm\r\n" + "Brief;ä\r\n" * 40
    assert decode(text.encode(encoding))[0] == text


def test_windows_files_and_files_that_are_no_text() -> None:
    assert decode("Café;5 €\n".encode("cp1252")) == ("Café;5 €\n", "Windows (1252)")
    for data in (b"PK\x03\x04rest", b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01", b"\xff\xfeab\x00"):
        with pytest.raises(NotText):
            decode(data)


def test_headings_are_recognised() -> None:
    wanted = {
        "Title": "title", "NAME": "title", "Width (cm)": "width", "Photographer": "maker", "Descripton": "note",
        "Who may see it": "access", "Dimensions": "size", "From whom": "came-from", "Signature no. of shelf 3": None,
    }  # fmt: skip
    assert {word: getattr(recognise(word), "code", None) for word in wanted} == wanted
    words = [word for each in fields().values() for word in each.words]
    assert len(words) == len(set(words))  # no heading means two things
    rows = [["Name", "Year", "Shelfmark", "Notes", "Remarks"], ["Letter", "1910", "A 3", "torn", "blue"]]
    assert has_headings(rows)
    codes = [column.field and column.field.code for column in columns_of(rows, True)]
    assert codes == ["title", "made", "to-note", "note", "note"]
    assert not has_headings([["Letter from the ferry house", "1910"], ["Album", "1920"]])


@pytest.mark.parametrize(
    ("typed", "unit", "millimetres"),
    [("120", "mm", 120), ("12 cm", "mm", 120), ("12,5", "cm", 125), ("4½ in", "mm", 114.3), ('4 1/2"', "mm", 114.3),
     ("1 ft", "mm", 304.8), ("0.2m", "mm", 200), ("¾", "in", 19.05), ("3 inches", "mm", 76.2)],
)  # fmt: skip
def test_lengths(typed: str, unit: str, millimetres: float) -> None:
    assert read_length(typed, unit) == pytest.approx(millimetres)


def test_sizes_and_weights() -> None:
    assert read_size("9 x 13 cm") == [90, 130] and read_size("9 cm by 13 mm") == [90, 13]
    assert read_size("90×130×2") == [90, 130, 2] and read_size('3" x 5"') == pytest.approx([76.2, 127])
    assert read_weight("1 lb") == pytest.approx(453.59237) and read_weight("1,5 kg") == 1500
    for bad in ("about 12", "12 kg", "", "1/0", "12 hands", "-3", "1e5", "0"):
        with pytest.raises(NoMeasure):
            read_length(bad)
    with pytest.raises(NoMeasure):
        read_size("12 cm")


def test_columns_have_the_names_of_spreadsheets() -> None:
    assert [letters(n) for n in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]
