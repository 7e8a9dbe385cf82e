"""Where figures come from, over all data files: what no text says cannot be confirmed, and how a source is named."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

from conservation.science.sources import DATA, STATUSES, register


def _cited(value: Any, where: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(value, dict):
        if isinstance(value.get("source"), str) and "status" in value:
            yield where, value
        for name, each in value.items():
            yield from _cited(each, f"{where}.{name}")
    elif isinstance(value, list):
        for number, each in enumerate(value):
            yield from _cited(each, f"{where}.{number}")


def test_what_no_single_text_says_is_neither_confirmed_nor_second_hand() -> None:
    found = []
    for path in sorted(DATA.glob("*.toml")):
        if path.name != "sources.toml":
            found += list(_cited(tomllib.loads(path.read_text(encoding="utf-8")), path.stem))
    assert len(found) > 500
    assert [where for where, row in found if row["source"] not in register() or row["status"] not in STATUSES] == []
    weak = {"trade": {"common practice", "from memory", "our default"}, "kistbook": {"our default", "from memory"}}
    assert [where for where, row in found if row["status"] not in weak.get(row["source"], set(STATUSES))] == []


def test_a_source_that_nobody_wrote_is_named_by_its_title() -> None:
    assert register()["trade"].named == "Common practice of the trade, no single text"
    assert register()["kistbook"].named == "Our own defaults"
    assert register()["COG-3/6"].named == "US NPS, Conserve O Gram 3/6 Freezing process, 1994"
