"""The storage tree in memory: nodes with what stands in them and how many things, in a constant number of queries."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from django.db.models import Count, Exists, OuterRef, Q

from archive.access.models import Account
from archive.boxes.models import Box, Level, RoughCount
from archive.boxes.queries import below_sql
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
    children: list[Node] = field(default_factory=list)
    own_things: int = 0
    all_things: int = 0
    all_boxes: int = 0
    hidden_children: int = 0  # left out of a page for their number, not for access
    described: bool = False  # a first look or rough counts tell what is in it

    @property
    def is_empty(self) -> bool:
        """Say whether nothing is known to be in it."""
        return not (self.all_things or self.all_boxes or self.described)

    @property
    def is_open(self) -> bool:
        """Say whether it is shown folded open: rooms and houses are."""
        return self.box.level in (Level.HOME, Level.ROOM)


def tree(reader: Account | None, inside: Box | None = None) -> list[Node]:
    """Return the top nodes of the tree that this reader may see; of the part in one box, that box's node alone.

    A box in one that the reader may not see stands under the next larger one that they may. Two queries, or three.
    """
    told = Q(Exists(FirstLook.objects.filter(box=OuterRef("pk")))) | Q(
        Exists(RoughCount.objects.filter(box=OuterRef("pk")))
    )
    boxes = Box.objects.visible_to(reader).only(*_COLUMNS).annotate(told=told)
    things = Thing.objects.visible_to(reader)
    parents = Box.objects.order_by()
    if inside is not None:
        boxes, parents = boxes.filter(pk__in=below_sql(inside)), parents.filter(pk__in=below_sql(inside))
        things = things.filter(box_id__in=below_sql(inside))
    nodes = {box.pk: Node(box, described=box.told) for box in boxes}
    stands_in: dict[int, int | None] = {pk: node.box.inside_id for pk, node in nodes.items()}
    top = inside.pk if inside is not None else None
    if any(parent is not None and parent not in nodes and pk != top for pk, parent in stands_in.items()):
        stands_in = dict(parents.values_list("pk", "inside_id"))
    counted = things.filter(box__isnull=False).order_by().values_list("box_id").annotate(n=Count("pk"))
    for box_id, count in counted:
        if box_id in nodes:
            nodes[box_id].own_things = count
    tops = []
    for pk, node in nodes.items():
        above = stands_in.get(pk)
        for _ in range(len(stands_in)):
            if above is None or above in nodes:
                break
            above = stands_in.get(above)
        if above is not None and above in nodes and pk != top:
            nodes[above].children.append(node)
        else:
            tops.append(node)
    for node in tops:
        _sum_up(node)
    return tops


def _sum_up(top: Node) -> None:
    """Add up things and boxes from the leaves; without recursion, since a tree may be as deep as it likes."""
    order, todo = [], [top]
    while todo:
        node = todo.pop()
        order.append(node)
        todo.extend(node.children)
    for node in reversed(order):
        node.all_things = node.own_things + sum(child.all_things for child in node.children)
        node.all_boxes = len(node.children) + sum(child.all_boxes for child in node.children)


def walk(nodes: list[Node]) -> Iterator[tuple[int, Node]]:
    """Walk nodes in the order of the page, each with its depth."""
    todo = [(0, node) for node in reversed(nodes)]
    while todo:
        depth, node = todo.pop()
        yield depth, node
        todo.extend((depth + 1, child) for child in reversed(node.children))


def cut(tops: list[Node]) -> bool:
    """Shorten a tree of too many nodes to its rooms and furniture; say whether anything was left out."""
    left_out = False
    for levels in (LARGE, LARGE[:2], LARGE[:1]):
        if sum(1 + top.all_boxes - _left_out(top) for top in tops) <= SHOWN_AT_MOST:
            break
        for _, node in list(walk(tops)):
            kept = [child for child in node.children if child.box.level in levels]
            node.hidden_children += len(node.children) - len(kept)
            left_out |= len(kept) < len(node.children)
            node.children = kept
    return left_out


def _left_out(top: Node) -> int:
    return top.all_boxes - (sum(1 for _ in walk([top])) - 1)


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
