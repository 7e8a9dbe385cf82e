"""Display problems drawn at random from a seed: a household's wall, cabinet and landing through a year.

Sizes: things from a postcard to a large frame (100 to 700 mm, log-uniform), spots from 300 to 900 mm. Light: spots of
30 to 150 lx for 4 to 12 hours, a third of them with a summer and a winter. Limits: a third each of high (15,000 lx h),
medium (150,000) and none; a ceiling of 50 or 200 lx with it. Occasions: one for about every two weeks, of one to
three things, weights 1 to 3. Values 1 to 5. A tenth of the things are barred from a spot.
"""

from __future__ import annotations

import math
import random
from typing import Any


def instance(things: int, spots: int, weeks: int, seed: int = 1, *, changes: int | None = None) -> dict[str, Any]:
    """Return one problem as `work_out rotation` reads it."""
    r = random.Random(seed)

    def side(low: float, high: float) -> int:
        return round(math.exp(r.uniform(math.log(low), math.log(high))))

    def lux() -> float | list[float]:
        middle = r.choice([30, 40, 50, 50, 80, 120, 150])
        if r.random() > 1 / 3:
            return middle
        return [round(middle * (1 + 0.4 * math.sin(2 * math.pi * (week - 13) / 52)), 1) for week in range(weeks)]

    places = [
        {
            "id": f"spot-{n}", "capacity": r.choice([1, 1, 1, 2]), "width_mm": side(300, 900),
            "height_mm": side(300, 900), "lux": lux(), "hours_per_day": r.choice([4, 6, 8, 12]),
        }
        for n in range(spots)
    ]  # fmt: skip
    objects = []
    for n in range(things):
        limit, ceiling = r.choice([(15_000, 50), (150_000, 200), (None, None)])
        least = r.choice([2, 2, 3, 4])
        objects.append(
            {
                "id": f"thing-{n}", "width_mm": side(100, 700), "height_mm": side(100, 700), "annual_limit_lxh": limit,
                "used_lxh": 0 if limit is None else r.choice([0, 0, 0.2 * limit]), "lux_ceiling": ceiling,
                "min_weeks": least, "max_weeks": r.choice([8, 13, 13]), "rest_weeks": r.choice([8, 13, 26]),
                "not_before_week": r.choice([0, 0, 0, r.randrange(weeks // 2)]), "value": r.randint(1, 5),
                "barred_spots": [r.choice(places)["id"]] if r.random() < 0.1 else [],
            }
        )  # fmt: skip
    days = [
        {
            "id": f"day-{n}", "week": r.randrange(weeks), "weight": r.randint(1, 3),
            "things": [each["id"] for each in r.sample(objects, r.randint(1, 3))],
        }
        for n in range(weeks // 2)
    ]  # fmt: skip
    problem: dict[str, Any] = {"weeks": weeks, "seed": 1, "spots": places, "things": objects, "occasions": days}
    if changes is not None:
        problem["change_weeks"] = sorted(round(weeks * n / changes) for n in range(changes))
    return problem
