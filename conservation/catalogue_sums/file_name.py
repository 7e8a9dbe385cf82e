"""The `file_name` sum."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from archive.numbers import read_typed
from archive.pictures.file_names import file_name
from conservation.science.problem import InputError, Problem
from conservation.science.sources import Citation, cited

_SOURCES = [
    Citation("NARA-RE", "25 to 35 signs, no spaces, leading zeros", "confirmed"),
    Citation("kistbook", "file names, their parts and order", "our default"),
]


class Input(Problem):
    """What a file shows, and in which version."""

    number: str = Field(max_length=40)
    piece: int | None = Field(default=None, ge=1, le=999_999)
    of: int | None = Field(default=None, ge=1, le=999_999)
    side: Literal["front", "back"] | None = None
    version: Literal["keep", "share"]
    words: str | None = Field(default=None, max_length=100_000)
    extension: str = Field(pattern=r"^[a-z0-9]{1,8}$")


def work_out(problem: Input) -> dict[str, Any]:
    """Return the file's name.

    Raises:
        InputError: the number's check character does not fit, or the piece is beyond the pieces there are.
    """
    read = read_typed(problem.number, surely_a_number=True)
    if read.serial is None:
        near = f", such as {', '.join(read.near[:3])}" if read.near else ""
        raise InputError("number", problem.number, f"a number whose check character fits is accepted{near}")
    piece = problem.piece or 1
    of = problem.of or piece
    if piece > of:
        raise InputError("piece", piece, f"a piece from 1 to {of} is accepted")
    name = file_name(
        read.serial,
        piece=piece,
        of=of,
        side=problem.side,
        version=problem.version,
        words=problem.words or "",
        extension=problem.extension,
    )
    return {"name": name, "sources": cited(_SOURCES), "notes": []}
