"""The sums that pages show, on the command line: one JSON object in, one JSON object out."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from conservation.science.problem import InputError
from conservation.topics import TOPICS, answer, topic


class Command(BaseCommand):
    help = "Work out one topic: reads one JSON object, prints one JSON object. See --list and --schema."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("topic", nargs="?")
        parser.add_argument("--in", dest="file", metavar="FILE.json")
        parser.add_argument("--list", action="store_true", help="print the topics")
        parser.add_argument("--so-far", metavar="FILE.json", help="keep the best answer so far there (rotation)")
        parser.add_argument("--schema", action="store_true", help="print a JSON Schema of the topic's input")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            text = self._text(options)
        except InputError as error:
            print(" ".join(str(error).split()), file=sys.stderr)
            sys.exit(2)
        print(text)

    def _text(self, options: dict[str, Any]) -> str:
        if options["list"]:
            return "\n".join(TOPICS)
        name = options["topic"] or ""
        if options["schema"]:
            return json.dumps(topic(name).Input.model_json_schema(), ensure_ascii=False, indent=2)
        topic(name)  # an unknown topic is said before anything is waited for on stdin
        return json.dumps(
            answer(name, _read(options["file"]), _keeper(options["so_far"])), ensure_ascii=False, allow_nan=False
        )


def _keeper(file: str | None) -> Callable[[dict[str, Any]], None] | None:
    """Return what keeps an answer in a file, whole at any moment; a file that cannot be written stops nothing."""
    if file is None:
        return None
    kept, new = Path(file), Path(f"{file}.new")

    def keep(found: dict[str, Any]) -> None:
        with suppress(OSError):
            new.write_text(json.dumps(found, ensure_ascii=False, allow_nan=False), encoding="utf-8")
            new.replace(kept)

    return keep


def _read(file: str | None) -> str:
    try:
        raw = Path(file).read_bytes() if file else sys.stdin.buffer.read()
    except OSError as error:
        raise InputError("--in", file, f"a readable file is accepted ({error.strerror})") from None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError("--in" if file else "stdin", "bytes", "UTF-8 text is accepted") from None
