"""The files of figures: every row sourced, nothing unread, nothing unknown."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from conservation.science import figures as module
from conservation.science.figures import check_row, figures
from conservation.science.sources import DATA, STATUSES, register

FILES = ("air", "moisture", "ageing", "mould", "fluctuation", "readings", "insects", "metals")
TABLES = ("acetate_1993.csv", "mould_classes_2010.csv", "control_classes_2015.csv")


@pytest.mark.parametrize("name", FILES)
def test_every_row_has_a_value_a_unit_and_a_known_source(name: str) -> None:
    rows = tomllib.loads((DATA / f"{name}.toml").read_text(encoding="utf-8"))
    assert set(figures(name)) == set(rows)
    assert all(figure.citation.locator for figure in figures(name).values())


@pytest.mark.parametrize("name", TABLES)
def test_every_table_names_its_source_and_status(name: str) -> None:
    head = (DATA / name).read_text(encoding="utf-8")
    found = re.search(r"# source: ([\w-]+); locator: [^;]+; status: ([\w -]+?)[.(\s]*(?:$|[.(])", head, re.MULTILINE)
    assert found is not None
    assert found[1] in register() and found[2] in STATUSES


@pytest.mark.parametrize(
    "change",
    [{"status": "sure"}, {"source": "nobody"}, {"unit": "furlong"}, {"remark": "new"}],
)
def test_a_row_with_a_fault_stops_the_program(change: dict[str, object]) -> None:
    row: dict[str, object] = {
        "value": 1, "unit": "%", "source": "kistbook", "locator": "here", "status": "our default",
    }  # fmt: skip
    check_row("test", "row", row)
    with pytest.raises(ValueError, match="test: row"):
        check_row("test", "row", {**row, **change})


def test_a_value_that_is_no_number_stops_the_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    row = 'unit = "%"\nsource = "kistbook"\nlocator = "here"\nstatus = "our default"\n'
    for number, value in enumerate(('"ten"', "true")):
        (tmp_path / f"bad{number}.toml").write_text(f"[row]\nvalue = {value}\n{row}")
        monkeypatch.setattr(module, "DATA", tmp_path)
        with pytest.raises(ValueError, match="no number"):
            figures(f"bad{number}")
