"""A story's plain text as paragraphs and links, its first lines, and a title made of its first words (pure)."""

from __future__ import annotations

import re
from dataclasses import dataclass

# Only addresses that were written out in full become links; nothing else in a story means anything but itself.
_ADDRESS = re.compile(r"https?://[^\s<>\"“”„]+", re.IGNORECASE)
_AFTER_AN_ADDRESS = ".,;:!?'’)]}…"
_LONGEST_ADDRESS = 2000
_TITLE_SIGNS = 70
_SENTENCE = re.compile(rf"(.{{12,{_TITLE_SIGNS - 1}}}?[.!?])(?=\s|$)")


@dataclass(frozen=True)
class Part:
    """Some signs of a line; with an address they are a link."""

    text: str
    address: str = ""


def paragraphs(body: str) -> list[list[list[Part]]]:
    """Return a story as paragraphs of lines of parts; an empty line parts two paragraphs.

    The parts of a line joined are the line; whoever draws them escapes them.
    """
    blocks = re.split(r"\n[^\S\n]*\n\s*", _plain(body).strip())
    return [[_parts(line) for line in block.split("\n")] for block in blocks if block.strip()]


def _plain(body: str) -> str:
    return body.replace("\r\n", "\n").replace("\r", "\n")


def _parts(line: str) -> list[Part]:
    found: list[Part] = []
    end = 0
    for match in _ADDRESS.finditer(line):
        address = _without_what_follows(match[0])
        if len(address) > _LONGEST_ADDRESS or address.partition("://")[2] == "":
            continue
        if match.start() > end:
            found.append(Part(line[end : match.start()]))
        found.append(Part(address, address))
        end = match.start() + len(address)
    if end < len(line):
        found.append(Part(line[end:]))
    return found


def _without_what_follows(address: str) -> str:
    """Leave off the full stop or bracket that belongs to the sentence, not to the address."""
    while address and address[-1] in _AFTER_AN_ADDRESS:
        if address[-1] == ")" and address.count("(") >= address.count(")"):
            break
        address = address[:-1]
    return address


def first_lines(text: str, signs: int = 220) -> str:
    """Return how a text begins, in one line, cut at a word."""
    line = " ".join(text.split())
    if len(line) <= signs:
        return line
    cut = line[: signs + 1].rpartition(" ")[0]
    # A text without spaces (or one endless word) is cut between two signs.
    return f"{cut if len(cut) > signs // 2 else line[:signs]} …"


def title_of(body: str) -> str:
    """Return a title made of a story's first words: its first sentence where that is short."""
    first = _plain(body).strip().split("\n")[0]
    sentence = _SENTENCE.match(first)
    return sentence[1].rstrip(".") if sentence else first_lines(first, _TITLE_SIGNS)
