"""The `date` sum: an uncertain date as typed → EDTF, day bounds, words."""

from __future__ import annotations

from typing import Any

from archive.dates import read_date
from conservation.science.problem import Problem
from conservation.science.sources import Citation, cited

_EDTF = Citation("EDTF-2019", "levels 0 to 2", "confirmed")
_OURS = Citation("kistbook", "words of dates, five years of an about, months of the seasons", "our default")


class Input(Problem):
    """A date as somebody typed it."""

    text: str
    day_first: bool | None = None
    southern_seasons: bool | None = None


def work_out(problem: Input) -> dict[str, Any]:
    """Return how the text is understood; a text that means nothing has a null ``edtf`` and a note."""
    read = read_date(problem.text, day_first=problem.day_first, southern_seasons=bool(problem.southern_seasons))
    return {
        "edtf": read.edtf,
        "earliest": read.earliest,
        "latest": read.latest,
        "likely": list(read.likely),
        "words": read.words,
        "certain": read.certain,
        "asked": read.asked,
        "sources": cited([_EDTF, _OURS]),
        "notes": list(read.notes),
    }
