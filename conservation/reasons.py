"""Why something is said: in plain words, from which source, and how well that is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from conservation.science.sources import Citation, register


@dataclass(frozen=True)
class Reason:
    """One reason: the words, the source as a reader would ask for it, and the status."""

    words: str
    source: str
    status: str


def reason(words: str, citation: Citation) -> Reason:
    """Return a reason in words with its source named."""
    between = ", " if citation.key in ("kistbook", "readings") else "; "
    return Reason(words, f"{register()[citation.key].named}{between}{citation.locator}", citation.status)


def sources(citations: Iterable[Citation]) -> tuple[Reason, ...]:
    """Return sources without words of their own, each once."""
    return tuple(dict.fromkeys(reason("", each) for each in citations))
