"""The errands of readings: looking at a large file, importing it, working out what readings mean."""

from __future__ import annotations

from archive.keeping.errands.registry import register
from archive.keeping.errands.worker import Task


def _look(task: Task) -> None:
    from conservation.rooms.readings.import_actions import look_errand

    look_errand(task)


def _import(task: Task) -> None:
    from conservation.rooms.readings.import_actions import import_errand

    import_errand(task)


def _sum_up(task: Task) -> None:
    from conservation.rooms.readings.import_actions import sum_up_errand

    sum_up_errand(task)


def register_all() -> None:
    """Make the errands known to the worker."""
    register("readings.look", _look)
    register("readings.import", _import)
    register("readings.sum_up", _sum_up)
