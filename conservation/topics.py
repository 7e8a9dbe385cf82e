"""The table of sums: topic → where its input model and its function are. Nothing heavy is imported until asked for."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, Protocol

from conservation.science.problem import InputError, Problem, parse_json, read_problem

# topic → module that has `Input` (a Problem) and `work_out(Input) -> dict`
TOPICS: dict[str, str] = {
    "number": "conservation.catalogue_sums.number",
    "date": "conservation.catalogue_sums.date",
    "file_name": "conservation.catalogue_sums.file_name",
    "housing": "conservation.science.housing",
    "air": "conservation.science.air",
    "climate": "conservation.science.climate",
    "light": "conservation.science.light",
    "rotation": "conservation.science.rotation",
}


TELLING = frozenset({"rotation"})  # whose `work_out` also takes `so_far`, and tells of better answers on the way


class Topic(Protocol):
    """What a topic's module offers."""

    Input: type[Problem]

    def work_out(self, problem: Any, **more: Any) -> dict[str, Any]: ...


def topic(name: str) -> Topic:
    """Load a topic's module.

    Raises:
        InputError: there is no such topic.
    """
    if name not in TOPICS:
        raise InputError("TOPIC", name, f"one of {', '.join(TOPICS)} is accepted")
    return import_module(TOPICS[name])


def answer(name: str, text: str, so_far: Callable[[dict[str, Any]], None] | None = None) -> dict[str, Any]:
    """Work out one topic from the text of a JSON object, as pages and the command line both do.

    ``so_far`` hears of better answers on the way, of the topics that have such.

    Raises:
        InputError: the input cannot be used.
    """
    module = topic(name)
    problem = read_problem(module.Input, parse_json(text))
    if so_far is not None and name in TELLING:
        return module.work_out(problem, so_far=so_far)
    return module.work_out(problem)
