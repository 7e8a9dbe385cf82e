"""Where labels lie on a sheet, in millimetres from its top left corner (pure; no Django)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

_SMALLEST_MM = 12.0


class BadLayout(ValueError):
    """A sheet of the keeper's own does not work; the sentence says which measure to change."""


@dataclass(frozen=True)
class Layout:
    """One kind of sheet: page, grid and label sizes in millimetres."""

    code: str
    name: str
    page_mm: tuple[float, float]
    columns: int
    rows: int
    label_mm: tuple[float, float]
    margin_mm: tuple[float, float]
    step_mm: tuple[float, float]
    cut_marks: bool
    source: str
    status: str

    @property
    def per_page(self) -> int:
        return self.columns * self.rows

    def place(self, index: int) -> tuple[int, float, float]:
        """Return page, and left and top edge in millimetres, of the label with this index (0, 1, …), row by row."""
        page, here = divmod(index, self.per_page)
        row, column = divmod(here, self.columns)
        return page, self.margin_mm[0] + column * self.step_mm[0], self.margin_mm[1] + row * self.step_mm[1]


@cache
def _all() -> dict[str, Layout]:
    with (Path(__file__).parent / "layouts.toml").open("rb") as file:
        table = tomllib.load(file)
    return {code: _layout(code, row) for code, row in table.items()}


def _layout(code: str, row: dict[str, object]) -> Layout:
    def pair(name: str) -> tuple[float, float]:
        values: Any = row[name]
        return float(values[0]), float(values[1])

    return checked(
        Layout(
            code,
            str(row["name"]),
            pair("page_mm"),
            int(str(row["columns"])),
            int(str(row["rows"])),
            pair("label_mm"),
            pair("margin_mm"),
            pair("step_mm"),
            bool(row.get("cut_marks", False)),
            str(row["source"]),
            str(row["status"]),
        )
    )


def checked(layout: Layout) -> Layout:
    """Return a layout whose labels are on the page and not on each other.

    Raises:
        BadLayout: they are not; the sentence names the measure.
    """
    for axis, (name, count) in enumerate((("width", layout.columns), ("height", layout.rows))):
        size, step, page = layout.label_mm[axis], layout.step_mm[axis], layout.page_mm[axis]
        if size < _SMALLEST_MM:
            raise BadLayout(f"A label’s {name} of {size:g} mm is too small; {_SMALLEST_MM:g} mm or more works.")
        if count > 1 and step < size - 1e-6:
            raise BadLayout(f"Labels would overlap: the step of {step:g} mm is less than the {name} of {size:g} mm.")
        used = layout.margin_mm[axis] + (count - 1) * step + size
        if used > page + 0.01:
            raise BadLayout(f"The labels need {used:.1f} mm of the page’s {name}, which is {page:g} mm.")
    return layout


def layouts() -> list[Layout]:
    """Return all sheets, in the order they are offered."""
    return list(_all().values())


def usual_layout(paper: str) -> str:
    """Return the code of the sheet offered first for a paper, ``a4`` or ``letter``."""
    return "letter-3x10" if paper == "letter" else "a4-3x7"


def layout(code: str) -> Layout:
    """Return one sheet.

    Raises:
        KeyError: there is no such sheet.
    """
    return _all()[code]
