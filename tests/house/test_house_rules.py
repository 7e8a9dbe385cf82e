"""Rules of the house that a program can check."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from archive.kinds import FAMILIES, KIND_CODES, STATE_CODES, kinds, states

ROOT = Path(__file__).resolve().parent.parent.parent
WRITES = re.compile(r"(?<!super\(\))\.(save|create|bulk_create|update_or_create|get_or_create|bulk_update|delete)\(")
# The keeping of the archive has no history and no change sets; undo and change sets are what actions are made of.
MAY_WRITE = (
    "actions.py",
    "archive/keeping/",
    "archive/access/changes.py",
    "archive/access/undo.py",
    "archive/access/bulk.py",
    "archive/access/uniting.py",
)
# Files and folders have these methods too, and so have sessions.
NOT_THE_DATABASE = (
    "archive/demo/__init__.py",
    "archive/demo/drawings.py",
    "archive/pictures/thumbnails.py",
    "archive/labels/sheet.py",
)

# Parts of a subject that others may use though they are no reads, writes or tables: pure sums, and form fields.
PURE = ("layouts", "sheet", "addresses", "decoding", "thumbnails", "file_names", "units", "fields", "texts")


def test_writes_stand_only_in_actions() -> None:
    for path in [*ROOT.glob("archive/**/*.py"), *ROOT.glob("conservation/**/*.py")]:
        name = path.relative_to(ROOT).as_posix()
        if "/migrations/" in name or name.endswith(MAY_WRITE[0]) or name.startswith(MAY_WRITE[1:]):
            continue
        if name in NOT_THE_DATABASE or name.startswith("conservation/science/"):
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            assert not WRITES.search(line), f"{name}:{number} writes outside actions.py: {line.strip()}"


def test_subjects_reach_each_other_through_queries_actions_or_models() -> None:
    subjects = {p.name for p in (ROOT / "archive").iterdir() if p.is_dir() and (p / "models.py").exists()}
    shared = {"access", "keeping", "kinds", "sharing"}
    for path in (ROOT / "archive").glob("*/*.py"):
        own = path.parent.name
        if own not in subjects:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("archive."):
                parts = (node.module or "").split(".")
                if len(parts) < 3 or parts[1] not in subjects - {own} - shared:
                    continue
                pure = parts[2] in PURE
                assert pure or parts[2] in ("queries", "actions", "models"), f"{path.name} imports {node.module}"


def test_files_are_short_enough_to_know() -> None:
    for path in [*ROOT.glob("archive/**/*.py"), *ROOT.glob("conservation/**/*.py")]:
        if "migrations" in path.parts:
            continue
        limit = 600 if "science" in path.parts else 400
        assert len(path.read_text(encoding="utf-8").splitlines()) <= limit, path


def test_kinds_and_states_are_complete() -> None:
    assert len(KIND_CODES) == 117 and len(STATE_CODES) == 37
    for kind in kinds():
        assert kind.name and kind.line and kind.marking.do and kind.marking.never and min(kind.size_mm) > 0
        assert kind.family in {family.code for family in FAMILIES}
    for state in states():
        assert state.name and state.line and state.group in ("condition", "smell", "hazard")


def _work_out(*arguments: str, text: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", "work_out", *arguments], input=text, capture_output=True, text=True, cwd=ROOT,
        env={"PATH": "/usr/bin:/bin", "HOME": "/nonexistent", "LANG": "C.UTF-8"}, timeout=60,
    )  # fmt: skip


def test_work_out_on_the_command_line() -> None:
    """No archive folder, no database: a home that does not exist is good enough."""
    topics = _work_out("--list").stdout.split()
    assert {"number", "date", "housing", "file_name"} <= set(topics)
    for topic in topics:
        schema = json.loads(_work_out(topic, "--schema").stdout)
        assert schema["type"] == "object" and schema["additionalProperties"] is False
    good = _work_out("number", text='{"serial": 214}')
    assert good.returncode == 0 and json.loads(good.stdout)["number"] == "0214-6" and good.stderr == ""


@pytest.mark.parametrize(
    ("topic", "text", "path"),
    [
        ("housing", '{"kind": "letter", "room": {"temperature_c": "warm"}}', "room.temperature_c"),
        ("housing", '{"kind": "letter", "parts": ["letter", "lettre"]}', "parts[1]"),
        ("housing", '{"kind": "letter", "width_mm": NaN}', "NaN"),
        ("number", '{"serial": 1e999}', "1e999"),
        ("number", "[1]", "object"),
        ("number", "{", "object"),
        ("date", '{"text": 1930}', "text"),
        ("nothing", "{}", "nothing"),
    ],
)
def test_errors_are_one_line_with_a_path_and_exit_2(topic: str, text: str, path: str) -> None:
    bad = _work_out(topic, text=text)
    assert bad.returncode == 2 and bad.stdout == "" and path in bad.stderr
    assert len(bad.stderr.strip().splitlines()) == 1
