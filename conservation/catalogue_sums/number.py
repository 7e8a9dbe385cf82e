"""The `number` sum: serial → number, or what a typed number says."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from archive.numbers import number_of, read_typed
from conservation.science.problem import InputError, Problem
from conservation.science.sources import Citation, cited

_SOURCE = Citation("ISO-7064", "MOD 11-2", "confirmed")


class Input(Problem):
    """One of a serial and a typed number."""

    serial: int | None = Field(default=None, ge=1, le=10**12 - 1)
    typed: str | None = Field(default=None, max_length=200)


def work_out(problem: Input) -> dict[str, Any]:
    """Return the number of a serial, or the reading of a typed number with near ones when it is not valid.

    Raises:
        InputError: both fields are given, or neither.
    """
    if (problem.serial is None) == (problem.typed is None):
        given = None if problem.serial is None else problem.serial
        raise InputError("serial", given, "one of serial and typed is accepted")
    sources, notes = cited([_SOURCE]), list[str]()
    if problem.serial is not None:
        number = number_of(problem.serial)
        if number.endswith("X"):
            notes.append("New things skip this serial, because its check character is X.")
        return _answer(number, problem.serial, (), sources, notes)
    read = read_typed(problem.typed or "", surely_a_number=True)
    if read.serial is None:
        notes.append("This is not a number of ours; a number is digits and a check character, such as 0214-6.")
    return _answer(read.number, read.serial, read.near, sources, notes)


def _answer(
    number: str | None,
    serial: int | None,
    near: tuple[str, ...],
    sources: list[dict[str, object]],
    notes: list[str],
) -> dict[str, Any]:
    return {
        "number": number,
        "serial": serial,
        "valid": number is not None,
        "near": list(near),
        "sources": sources,
        "notes": notes,
    }
