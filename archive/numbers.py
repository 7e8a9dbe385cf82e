"""Numbers of things, boxes and lots: digits and a check character by ISO 7064 MOD 11-2 (pure; no Django).

A number is its serial in four digits or more, a hyphen and the check character: ``0214-6``. The check finds every
single wrong digit and every swap of two neighbours (ISO 7064:2003).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

_DIGITS = 4
_CHECKS = "0123456789X"
_TYPED = re.compile(r"[0-9]+[0-9X]")
_SHORT = re.compile(r"[0-9]+\s*[-‐‑‒–—]\s*[0-9X]")
_SPACES = re.compile(r"[\s\-‐‑‒–—_.]+")
# Nobody has a trillion things; a longer string is a slip of the keyboard.
_LONGEST = 13
_LONGEST_PIECE = 9
NEAR_AT_MOST = 10


@dataclass(frozen=True)
class NumberReading:
    """How a typed number was read: its serial, or numbers near it when its check character does not fit."""

    typed: str
    serial: int | None
    near: tuple[str, ...] = ()

    @property
    def number(self) -> str | None:
        return None if self.serial is None else number_of(self.serial)


def check_character(digits: str) -> str:
    """Return the ISO 7064 MOD 11-2 check character of a string of digits, ``0``-``9`` or ``X``."""
    remainder = 0
    for digit in digits:
        remainder = (remainder + int(digit)) * 2 % 11
    return _CHECKS[(12 - remainder) % 11]


def number_of(serial: int) -> str:
    """Return the number of a serial, such as ``0214-6`` for 214.

    Raises:
        ValueError: the serial is below 1.
    """
    if serial < 1:
        raise ValueError("a serial of 1 or more is accepted")
    digits = f"{serial:0{_DIGITS}d}"
    return f"{digits}-{check_character(digits)}"


def is_given_out(serial: int) -> bool:
    """Say whether a new thing may get this serial: those whose check character is X are skipped."""
    return not number_of(serial).endswith("X")


def read_typed(
    typed: str, exists: Callable[[int], bool] | None = None, *, surely_a_number: bool = False
) -> NumberReading:
    """Read a number as a person types it, with or without hyphen, spaces, capitals or leading zeros.

    The last sign is the check character, whatever comes before it (``214-6`` is 0214-6: leading zeros do not change
    the check). Without the hyphen a short one is read only where the text is `surely_a_number`: 1944 is mostly a
    year. ``exists`` says of a serial whether it is in use; near numbers in use come first.
    """
    compact = _SPACES.sub("", typed).upper()
    if not re.fullmatch(r"[0-9X]{2,}", compact) or len(compact) > _LONGEST:
        return NumberReading(typed, None)
    if len(compact) <= _DIGITS and not surely_a_number and not _SHORT.fullmatch(typed.strip().upper()):
        return NumberReading(typed, None)
    compact = compact.rjust(_DIGITS + 1, "0")
    serial = int(compact[:-1]) if _TYPED.fullmatch(compact) else 0
    if serial and check_character(compact[:-1]) == compact[-1]:
        return NumberReading(typed, serial)
    return NumberReading(typed, None, _near(compact, exists))


def read_piece(typed: str) -> tuple[int, int] | None:
    """Read the number of a piece, ``0214-6/12``, as serial and piece; None when it is not one."""
    head, slash, tail = typed.partition("/")
    read = read_typed(head)
    tail = tail.strip()
    if not slash or read.serial is None or not tail.isdecimal() or len(tail) > _LONGEST_PIECE or int(tail) < 1:
        return None
    return read.serial, int(tail)


def _near(compact: str, exists: Callable[[int], bool] | None) -> tuple[str, ...]:
    """Return valid numbers one changed sign or one swap of neighbours away from what was typed."""
    found: dict[int, None] = {}
    for candidate in _variants(compact):
        body, check = candidate[:-1], candidate[-1]
        if body.isdigit() and _is_spelling(body) and check_character(body) == check:
            found[int(body)] = None
    serials = sorted(found, key=lambda serial: (not (exists and exists(serial)), serial))
    return tuple(number_of(serial) for serial in serials[:NEAR_AT_MOST])


def _is_spelling(digits: str) -> bool:
    """Say whether digits are a serial as we write it: a leading zero too many would be a second spelling."""
    return int(digits) >= 1 and len(str(int(digits)).rjust(_DIGITS, "0")) == len(digits)


def _variants(text: str) -> list[str]:
    last = len(text) - 1
    changed = [
        text[:i] + sign + text[i + 1 :]
        for i in range(len(text))
        for sign in (_CHECKS if i == last else _CHECKS[:10])
        if sign != text[i]
    ]
    swapped = [text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(last) if text[i] != text[i + 1]]
    return changed + swapped
