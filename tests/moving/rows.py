"""Invented rows of a spreadsheet, with and without bad cells; the bench uses them too."""

from __future__ import annotations

HEADINGS = "Title\tKind\tMade\tPeople\tWidth\tWeight\tBox\tNotes"
# Row and column of each bad cell → what stands there and a part of what the page must say.
BAD_CELLS: dict[tuple[int, int], tuple[str, str]] = {
    (2, 0): ("", "A title is missing"),
    (100, 1): ("Leter", "Near it: Letter"),
    (500, 1): ("Zzzz", "not in the list"),
    (900, 3): ("Anna Aldermoor", "More than one person"),
    (1200, 3): ("N" * 301, "at most 300 signs"),
    (1500, 4): ("twelve", "no number with a unit"),
    (1501, 4): ("12 kg", "no unit that is known"),
    (2000, 5): ("-3", "no number with a unit"),
    (2500, 6): ("0001-8", "not one of our numbers"),
    (3001, 0): ("T" * 301, "up to 300 are kept"),
}


def good_row(n: int) -> list[str]:
    """Return an ordinary row: one in ten names somebody, of forty people."""
    return [
        f"Photograph {n} of the ferry", ("Letter", "Black-and-white print", "book")[n % 3], f"about {1850 + n % 120}",
        f"Person {n % 40}" if n % 10 == 0 else "", f"{90 + n % 50} mm", "12 g", "", f"In layer {n % 7}, torn; blue",
    ]  # fmt: skip


def rows(how_many: int) -> list[list[str]]:
    """Return rows without a bad cell."""
    return [good_row(n) for n in range(how_many)]


def as_text(table: list[list[str]]) -> str:
    """Return rows as a clipboard has them."""
    return HEADINGS + "\n" + "".join("\t".join(row) + "\n" for row in table)


def three_thousand() -> str:
    """Return 3,000 rows of which ten have a bad cell."""
    table = rows(3_000)
    for (line, column), (typed, _) in BAD_CELLS.items():
        table[line - 2][column] = typed
    return as_text(table)
