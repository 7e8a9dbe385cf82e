"""A small drawn tree of one person's nearest: grandparents over parents over the person, children below.

Two columns with a trunk between them, so that names stay readable on a telephone. Lengths are units of the drawing,
which is 340 wide; pages show it at about one pixel a unit or larger.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from archive.people.family import Family
from archive.people.models import Person

WIDTH, COLUMN, TALL, GAP = 340, 154, 62, 14
TRUNK = WIDTH // 2
_LEFT, _RIGHT = 1, WIDTH - 1 - COLUMN
_LINE = 16  # signs of a name that fit into a box's line at size 14
_YEARS = 21  # and of the years, at size 13


@dataclass(frozen=True)
class Box:
    """A person in the drawing: its corner, at most two lines of the name, and the years."""

    x: int
    y: int
    lines: tuple[str, ...]
    years: str
    self: bool = False

    @property
    def text_rows(self) -> list[tuple[int, str, str]]:
        """Return the rows of text with their base line within the box and their class."""
        rows = [(line, "tree-name") for line in self.lines] + ([(self.years, "tree-years")] if self.years else [])
        top = TALL // 2 - 9 * len(rows) + 14
        return [(top + 18 * n, css, words) for n, (words, css) in enumerate(rows)]


@dataclass
class Tree:
    """Boxes and lines of a drawing, ready for its template."""

    boxes: list[Box] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    height: int = 0
    width: int = WIDTH
    column: int = COLUMN
    tall: int = TALL
    middle: int = COLUMN // 2


def draw(family: Family) -> Tree:
    """Lay out a family's tree."""
    tree = Tree()
    y = _parents(tree, family)
    y = _person(tree, family, y)
    y = _children(tree, family, y)
    tree.height = y - GAP + 2
    return tree


def _parents(tree: Tree, family: Family) -> int:
    """Draw the parents two by two, each under their own parents; return where the next row begins."""
    y = 1
    above: list[int] = []
    for start in range(0, len(family.parents), 2):
        pair = family.parents[start : start + 2]
        grands = [family.grandparents.get(each.person.pk, []) for each in pair]
        depth = max(len(each) for each in grands)
        bottom = y + depth * (TALL + GAP)
        for column, (parent, ancestors) in enumerate(zip(pair, grands, strict=True)):
            x = (_LEFT, _RIGHT)[column]
            for n, each in enumerate(ancestors):
                tree.boxes.append(_box(each.person, x, bottom - (len(ancestors) - n) * (TALL + GAP)))
            if ancestors:
                _climb(tree, x, bottom, len(ancestors), column)
            tree.boxes.append(_box(parent.person, x, bottom))
            stub = _LEFT + COLUMN if column == 0 else _RIGHT
            tree.lines.append(f"M{stub} {bottom + TALL // 2}H{TRUNK}")
            above.append(bottom + TALL // 2)
        y = bottom + TALL + GAP
    if above:
        middle = _LEFT + COLUMN // 2
        tree.lines.append(f"M{TRUNK} {above[0]}V{y}H{middle}V{y + GAP}")
        y += GAP
    return y


def _climb(tree: Tree, x: int, bottom: int, how_many: int, column: int) -> None:
    """Join a parent to their own parents above by a line in the gutter beside the trunk."""
    gutter = x + COLUMN + 4 if column == 0 else x - 4
    edge = x + COLUMN if column == 0 else x
    for n in range(how_many):
        tree.lines.append(f"M{edge} {bottom - (n + 1) * (TALL + GAP) + TALL // 2}H{gutter}")
    top = bottom - how_many * (TALL + GAP) + TALL // 2
    into = x + COLUMN - 20 if column == 0 else x + 20
    tree.lines.append(f"M{gutter} {top}V{bottom - GAP // 2}H{into}V{bottom}")


def _person(tree: Tree, family: Family, y: int) -> int:
    """Draw the person on the left with the partners on the right."""
    tree.boxes.append(_box(family.person, _LEFT, y, self=True))
    for n, partner in enumerate(family.partners):
        top = y + n * (TALL + GAP)
        tree.boxes.append(_box(partner.person, _RIGHT, top))
        for shift in (-2, 2):
            start = _LEFT + COLUMN if n == 0 else TRUNK
            tree.lines.append(f"M{start} {top + TALL // 2 + shift}H{_RIGHT}")
    rows = max(1, len(family.partners))
    if len(family.partners) > 1:
        tree.lines.append(f"M{TRUNK} {y + TALL // 2}V{y + (rows - 1) * (TALL + GAP) + TALL // 2}")
    if family.children:
        if family.partners:
            tree.lines.append(f"M{TRUNK} {y + TALL // 2}V{y + rows * (TALL + GAP)}")
        else:
            tree.lines.append(f"M{_LEFT + COLUMN // 2} {y + TALL}V{y + TALL + GAP // 2}H{TRUNK}V{y + TALL + GAP}")
    return y + rows * (TALL + GAP)


def _children(tree: Tree, family: Family, y: int) -> int:
    """Draw the children two by two, joined to the trunk."""
    start, last = y - GAP, y
    for n, child in enumerate(family.children):
        top = y + (n // 2) * (TALL + GAP)
        x = (_LEFT, _RIGHT)[n % 2]
        tree.boxes.append(_box(child.person, x, top))
        last = top + TALL // 2
        tree.lines.append(f"M{_LEFT + COLUMN if n % 2 == 0 else _RIGHT} {last}H{TRUNK}")
    if not family.children:
        return y
    tree.lines.append(f"M{TRUNK} {start}V{last}")
    return y + ((len(family.children) + 1) // 2) * (TALL + GAP)


def _box(person: Person, x: int, y: int, *, self: bool = False) -> Box:
    return Box(x, y, _lines(person.name), _short(_years(person), _YEARS), self)


def _years(person: Person) -> str:
    """Return the life years, each as a plain year where it is known to the year, else as it was typed."""
    born = _year(person.born_text, person.born_earliest, person.born_latest)
    died = _year(person.died_text, person.died_earliest, person.died_latest)
    if born and died:
        said = f"{born}–{died}" if len(born) == len(died) == 4 else f"{born} – {died}"
        if len(said) <= _YEARS:
            return said
        return f"{_about(born, person.born_earliest)}–{_about(died, person.died_earliest)}"
    return f"born {born}" if born else f"died {died}" if died else ""


def _year(typed: str, earliest: str, latest: str) -> str:
    known = earliest and earliest[0] != "-" and earliest[:4] == latest[:4]
    return earliest[:4] if known else typed.strip()


def _about(words: str, earliest: str) -> str:
    """Return a year for words that are too long for the box, with a question mark; the words where no year is known."""
    return words if len(words) == 4 or not earliest[:4].isdigit() else f"{earliest[:4]}?"


def _lines(name: str) -> tuple[str, ...]:
    """Break a name into at most two lines, cut at a word, with an ellipsis where something is left out."""
    words = name.split()
    lines = [""]
    for position, word in enumerate(words):
        tried = f"{lines[-1]} {word}".strip()
        if len(tried) <= _LINE:
            lines[-1] = tried
        elif len(lines) == 1 and lines[0]:
            lines.append(_short(word, _LINE))
        else:
            rest = " ".join([lines[-1], *words[position:]]).strip()
            lines[-1] = _short(rest, _LINE)
            break
    return tuple(line for line in lines if line)


def _short(text: str, longest: int) -> str:
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
