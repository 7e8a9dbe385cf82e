"""The errand that works a plan out: one search in a process of its own, and the best so far kept as it comes."""

from __future__ import annotations

import time
from typing import Any

from archive.keeping.errands import child
from archive.keeping.errands.registry import register
from archive.keeping.errands.worker import Stopped, Task
from archive.keeping.models import Errand
from conservation.on_show.models import DisplayPlan
from conservation.on_show.plans import actions
from conservation.on_show.plans.queries import KIND, NO_PLAN

_USUAL_SECONDS = 20.0
_GRACE_SECONDS = 30.0  # for starting the process and reading the problem, beside the search itself


def work_out_plan(task: Task) -> None:
    """Work out the plan named in the payload; Stop keeps the best found so far."""
    payload = task.payload
    plan = DisplayPlan.objects.filter(public_id=payload["plan"]).first()
    if plan is None:
        task.end_with("The plan is no longer there.")
        return
    task.leads_to(plan.get_absolute_url())
    stored = payload["stored"]
    best: dict[str, Any] | None = payload.get("best")
    seconds = float(stored["input"].get("limit_s") or _USUAL_SECONDS)
    began = time.monotonic()

    def keep(found: dict[str, Any]) -> None:
        nonlocal best
        best = better(best, found)
        task.checkpoint(best=best)

    def should_stop() -> bool:
        task.progress(int(min(time.monotonic() - began, seconds)), max(1, int(seconds)) + 1, "Searching")
        return task.should_stop()

    try:
        keep(
            child.work_out(
                "rotation", stored["input"], seconds=seconds * 1.2 + _GRACE_SECONDS,
                should_stop=should_stop, so_far=keep,
            )
        )  # fmt: skip
    except (child.SumStopped, Stopped):
        if best is not None and Errand.objects.filter(pk=task.errand.pk, stop_asked=True).exists():
            _keep(task, plan, stored, best)
        raise Stopped from None
    except child.SumFailed as error:
        if best is None:
            task.end_with(f"{NO_PLAN}: {error}.")
            return
    if best is not None:
        _keep(task, plan, stored, best)


def better(one: dict[str, Any] | None, other: dict[str, Any]) -> dict[str, Any]:
    """Return the answer with the higher score, with the lower of both bounds, which holds for either."""
    if one is None or one["status"] == "infeasible" or other["status"] == "infeasible":
        return other
    best = one if one["score"] > other["score"] else other
    bound = min(one["bound"], other["bound"])
    optimal = bound <= best["score"]
    gap = 0.0 if optimal else 100 * (bound - best["score"]) / best["score"] if best["score"] > 0 else None
    return {**best, "bound": bound, "status": "optimal" if optimal else "feasible", "gap_pct": gap}


def _keep(task: Task, plan: DisplayPlan, stored: dict[str, Any], best: dict[str, Any]) -> None:
    actions.take_answer(task.errand.created_by, plan, stored, best)
    if best["status"] == "infeasible":
        task.end_with("What is pinned cannot stand together.")
    elif best["status"] == "optimal":
        task.end_with(f"The best plan there is: {best['score']:,} points.")
    else:
        task.end_with(f"Best found: {best['score']:,}. No plan can score above {best['bound']:,}.")


register(KIND, work_out_plan)
