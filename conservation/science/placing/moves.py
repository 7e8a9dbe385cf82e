"""Choosing the few moves that help most, each box once and no shelf over-full."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from conservation.science.placing.tables import weight

_STEPS = 20_000  # so many steps of the search, then the best so far stands


@dataclass(frozen=True, slots=True)
class Candidate:
    """One move that would help: which load, into which node, how much, and the room it takes there [mm³], if known."""

    load: int
    node: int
    benefit: float
    takes_mm3: float | None = None


def room_left(inner_mm: Sequence[float | None], held_mm3: Sequence[float]) -> float | None:
    """Return how much of a shelf is free [mm³], leaving a tenth as air; None where its size is not known.

    Parameters
    ----------
    inner_mm : width, height and depth inside [mm]
    held_mm3 : what the boxes that stand there take [mm³]

    Returns
    -------
    number [mm³] or None
    """
    sides = [side for side in inner_mm if side]
    if len(sides) < 3:
        return None
    whole = sides[0] * sides[1] * sides[2] * weight("fill")
    return max(0.0, whole - sum(held_mm3))


def goes_in(box_mm: Sequence[float | None], shelf_mm: Sequence[float | None]) -> bool | None:
    """Say whether a box goes into a shelf as it stands, turned about its height if need be; None if not known [mm]."""
    width, height, depth = box_mm
    shelf_width, shelf_height, shelf_depth = shelf_mm
    if height and shelf_height and height > shelf_height:
        return False
    if width and depth and shelf_width and shelf_depth:
        floor, shelf = sorted((width, depth)), sorted((shelf_width, shelf_depth))
        return (
            None if not (height and shelf_height) and floor <= shelf else floor[0] <= shelf[0] and floor[1] <= shelf[1]
        )
    return None


def choose(candidates: Sequence[Candidate], how_many: int, room_mm3: Mapping[int, float | None]) -> list[Candidate]:
    """Return the moves that help most together.

    Parameters
    ----------
    candidates : moves that would help; several for one load are alternatives
    how_many : at most so many moves
    room_mm3 : free room of each node [mm³]; None or missing is not known, and takes anything

    Returns
    -------
    list of Candidate, the most helpful first

    Notes
    -----
    A search over the loads in falling order of what each could gain, cut off where even the best of what is left could
    not win any more: exact, unless it takes more than 20,000 steps; then the best found by then. With few moves and
    shelves that are seldom full it ends within a few steps.
    """
    by_load: dict[int, list[Candidate]] = {}
    for each in sorted(candidates, key=lambda c: (-c.benefit, c.load)):  # of equals the first given stays first
        by_load.setdefault(each.load, []).append(each)
    # Of one load's alternatives no more can be taken away than there are other moves.
    groups = [group[: how_many * 4] for group in by_load.values()]
    best: list[Candidate] = []
    best_sum, steps = 0.0, 0
    left = {node: free for node, free in room_mm3.items() if free is not None}

    def search(start: int, chosen: list[Candidate], total: float) -> None:
        nonlocal best, best_sum, steps
        if total > best_sum:
            best, best_sum = list(chosen), total
        open_ = how_many - len(chosen)
        if not open_:
            return
        for position in range(start, len(groups)):
            steps += 1
            most = sum(group[0].benefit for group in groups[position : position + open_])
            if total + most <= best_sum or steps > _STEPS:
                return
            for each in groups[position]:
                takes = each.takes_mm3 or 0.0
                if each.node in left and takes > left[each.node]:
                    continue
                if each.node in left:
                    left[each.node] -= takes
                chosen.append(each)
                search(position + 1, chosen, total + each.benefit)
                chosen.pop()
                if each.node in left:
                    left[each.node] += takes

    search(0, [], 0.0)
    return sorted(best, key=lambda c: (-c.benefit, c.load))
