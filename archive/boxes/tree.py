"""The storage tree: its shape is kept until something changes; only the boxes that a page shows are read for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from django.db.models import Count, Exists, OuterRef, Q

from archive.access.models import Account
from archive.boxes.models import Box, Level, RoughCount
from archive.search.queries import kept, these
from archive.sorting.models import FirstLook
from archive.things.models import Thing

# Beyond this many a page would be long to draw and longer to read; deeper levels are then on each node's own page.
SHOWN_AT_MOST = 300
LARGE = (Level.HOME, Level.ROOM, Level.FURNITURE)
_LISTED_AT_MOST = 500
_INDENT = "\u2003"
# What a page of the tree shows; reading days and notes of thousands of rows would take longer than all else.
_COLUMNS = (
    "public_id", "serial_id", "level", "title", "inside_id", "position", "withdrawn_at",
    "inner_width_mm", "inner_height_mm", "inner_depth_mm",
)  # fmt: skip


@dataclass
class Node:
    """A box in the tree: what stands in it, its own things, and all things and boxes in it however deep."""

    box: Box
    places: Sequence[int] = ()  # the keys of what stands in it, in their order
    children: list[Node] = field(default_factory=list)  # those of them that the page shows
    own_things: int = 0
    all_things: int = 0
    all_boxes: int = 0
    described: bool = False  # a first look or rough counts tell what is in it

    @property
    def is_empty(self) -> bool:
        """Say whether nothing is known to be in it."""
        return not (self.all_things or self.all_boxes or self.described)

    @property
    def is_open(self) -> bool:
        """Say whether it is shown folded open: rooms and houses are."""
        return self.box.level in (Level.HOME, Level.ROOM)

    @property
    def hidden_children(self) -> int:
        """Return how many are left out of a page for their number, not for access."""
        return len(self.places) - len(self.children)


@dataclass
class _Part:
    """A box in the shape of the tree, as `Node` has it."""

    level: str
    described: bool
    places: list[int] = field(default_factory=list)
    own_things: int = 0
    all_things: int = 0
    all_boxes: int = 0


@dataclass(frozen=True)
class Shape:
    """What stands in what, and how much is in each, for one sort of reader."""

    parts: dict[int, _Part]
    tops: list[int]

    def below(self, tops: Iterable[int], levels: Sequence[str] = ()) -> list[int]:
        """Return some boxes and all that stands in them, in the order of the page; below them of some levels only."""
        found, todo = [], list(tops)[::-1]
        while todo:
            found.append(todo.pop())
            places = self.parts[found[-1]].places if found[-1] in self.parts else []
            todo.extend(key for key in reversed(places) if not levels or self.parts[key].level in levels)
        return found


def shape(reader: Account | None) -> Shape:
    """Return the shape of the tree that this reader may see, read anew after each change of the archive.

    A box in one that the reader may not see stands under the next larger one that they may. Two queries, or three.
    """
    return kept("storage tree", reader, lambda: _shape(reader))


def _shape(reader: Account | None) -> Shape:
    told = Q(Exists(FirstLook.objects.filter(box=OuterRef("pk")))) | Q(
        Exists(RoughCount.objects.filter(box=OuterRef("pk")))
    )
    rows = Box.objects.visible_to(reader).annotate(told=told).values_list("pk", "inside_id", "level", "told")
    parts: dict[int, _Part] = {}
    stands_in: dict[int, int | None] = {}
    for pk, above, level, described in rows:
        parts[pk], stands_in[pk] = _Part(level, described), above
    if any(above is not None and above not in parts for above in stands_in.values()):
        stands_in = dict(Box.objects.order_by().values_list("pk", "inside_id"))
    things = Thing.objects.visible_to(reader).filter(box__isnull=False).order_by()
    for pk, count in things.values_list("box_id").annotate(n=Count("pk")):
        if pk in parts:
            parts[pk].own_things = count
    found = Shape(parts, [])
    for pk in parts:
        above = stands_in.get(pk)
        for _ in range(len(stands_in)):
            if above is None or above in parts:
                break
            above = stands_in.get(above)
        (found.tops if above is None or above not in parts else parts[above].places).append(pk)
    # From the leaves upwards; without recursion, since a tree may be as deep as it likes.
    for pk in reversed(found.below(found.tops)):
        part = parts[pk]
        part.all_things = part.own_things + sum(parts[each].all_things for each in part.places)
        part.all_boxes = len(part.places) + sum(parts[each].all_boxes for each in part.places)
    return found


def node_of(box: Box, reader: Account | None) -> Node:
    """Return the node of a box that is at hand, without those that stand in it."""
    part = shape(reader).parts.get(box.pk)
    return _node(box, part) if part is not None else Node(box)


def _node(box: Box, part: _Part) -> Node:
    return Node(
        box, part.places, own_things=part.own_things, all_things=part.all_things, all_boxes=part.all_boxes,
        described=part.described,
    )  # fmt: skip


def nodes(keys: Sequence[int], reader: Account | None) -> list[Node]:
    """Return the nodes of some boxes in the order of their keys, each with those of them that stand in it; a query."""
    if not keys:
        return []
    parts = shape(reader).parts
    boxes = Box.objects.visible_to(reader).filter(pk__in=these(keys)).order_by().only(*_COLUMNS)
    found = {box.pk: _node(box, parts[box.pk]) for box in boxes if box.pk in parts}
    for node in found.values():
        node.children = [found[key] for key in node.places if key in found]
    return [found[key] for key in keys if key in found]


def tree(reader: Account | None, inside: Box | None = None) -> list[Node]:
    """Return the top nodes of the whole tree that this reader may see; of the part in one box, that box's node alone.

    For pages that need every box: `drawn` shortens what is too long for one.
    """
    tops = shape(reader).tops if inside is None else [inside.pk]
    return _top_nodes(tops, shape(reader).below(tops), reader)


def drawn(tops: Sequence[int], reader: Account | None) -> list[Node]:
    """Return nodes with what stands in them; where that is too much for a page, with rooms and furniture alone."""
    keys: list[int] = []
    for levels in ((), LARGE, LARGE[:2], LARGE[:1]):
        keys = shape(reader).below(tops, levels)
        if len(keys) <= SHOWN_AT_MOST:
            break
    return _top_nodes(tops, keys, reader)


def _top_nodes(tops: Sequence[int], keys: Sequence[int], reader: Account | None) -> list[Node]:
    wanted = set(tops)
    return [node for node in nodes(keys, reader) if node.box.pk in wanted]


def walk(nodes: list[Node]) -> Iterator[tuple[int, Node]]:
    """Walk nodes in the order of the page, each with its depth."""
    todo = [(0, node) for node in reversed(nodes)]
    while todo:
        depth, node = todo.pop()
        yield depth, node
        todo.extend((depth + 1, child) for child in reversed(node.children))


def choices(reader: Account | None) -> list[tuple[str, str]]:
    """Return numbers and indented names to pick from, in the order of the tree; of very many, the large ones only."""
    boxes = Box.objects.visible_to(reader).present().only(*_COLUMNS)
    nodes = {box.pk: Node(box) for box in boxes}
    if len(nodes) > _LISTED_AT_MOST:
        nodes = {pk: node for pk, node in nodes.items() if node.box.level in LARGE}
    tops: list[Node] = []
    for node in nodes.values():
        above = nodes.get(node.box.inside_id) if node.box.inside_id else None
        (above.children if above else tops).append(node)
    rows = list(walk(tops))[:_LISTED_AT_MOST]
    return [(node.box.number, f"{_INDENT * depth}{node.box.title} ({node.box.number})") for depth, node in rows]
