"""Which jobs a keeper does in the time there is: what a job is worth, how long it takes, and the best set that fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from conservation.science.figures import figures
from conservation.science.sources import Citation

# Points are added up as whole thousandths, so that the best set is exact and the same everywhere.
POINT = 1000


@dataclass(frozen=True, slots=True)
class Offer:
    """A job that may be chosen: minutes, whole thousandths of points, and whether it goes before all that do not."""

    key: str
    minutes: int
    points: int
    before: bool = False


@dataclass(frozen=True, slots=True)
class Picked:
    """The best set: its keys in the order offered, minutes in all, and thousandths of points (first class, second)."""

    keys: tuple[str, ...]
    minutes: int
    points: tuple[int, int]


def pick(offers: Sequence[Offer], minutes: int) -> Picked:
    """Return the set of jobs worth most in the time, exactly (a knapsack solved over the minutes).

    Parameters
    ----------
    offers : jobs; minutes of at least 1, points of at least 0
    minutes : time there is [minute], 0 or more

    Returns
    -------
    Picked

    Notes
    -----
    The points of jobs that go ``before`` are made as many as can be, then those of the others. Of sets worth the same
    the shorter is taken, and then the one with the job that was offered earlier. Time and room grow with the number
    of jobs times the minutes.

    Raises
    ------
    ValueError
        A job takes no time or is worth less than nothing, or there is less than no time.
    """
    if minutes < 0 or any(each.minutes < 1 or each.points < 0 for each in offers):
        raise ValueError("a job takes at least a minute and is worth at least nothing; time is not below nothing")
    # One whole number for each job, by which sets compare: first class, second class, then the shorter.
    short = sum(each.minutes for each in offers) + 1
    second = short * (sum(each.points for each in offers if not each.before) + 1)
    worth = [each.points * (second if each.before else short) - each.minutes for each in offers]
    best = [[0] * (minutes + 1)]
    for each, value in zip(reversed(offers), reversed(worth), strict=True):
        after = best[-1]
        row = after[:]
        for time in range(each.minutes, minutes + 1):
            row[time] = max(row[time], after[time - each.minutes] + value)
        best.append(row)
    best.reverse()  # best[n][t]: the most that the jobs from n on are worth in t minutes
    left, chosen = minutes, []
    for n, each in enumerate(offers):
        fits = each.minutes <= left
        if fits and best[n + 1][left - each.minutes] + worth[n] >= best[n + 1][left] and worth[n] >= 0:
            chosen.append(each)
            left -= each.minutes
    return Picked(
        tuple(each.key for each in chosen),
        minutes - left,
        (sum(each.points for each in chosen if each.before), sum(each.points for each in chosen if not each.before)),
    )


@dataclass(frozen=True, slots=True)
class Stake:
    """What a job is worth and what made it so; factors that nobody said stand at their default."""

    points: int  # thousandths
    matters: float
    vulnerable: float
    exposed: float
    many: float
    late: float


def worth(
    matters: float | None,
    vulnerable: float | None,
    exposed: float | None,
    *,
    things: int = 1,
    days_left: int | None = None,
    benefit: float | None = None,
) -> Stake:
    """Return what doing a job is worth: significance × vulnerability × exposure, for how many, and how late it is.

    Parameters
    ----------
    matters : 1 to 5, how much the things matter; None where nobody said
    vulnerable, exposed : 1 to 3
    things : how many it is done for at once
    days_left : days until it is due, below 0 when it is late; None without a day
    benefit : stands in for the product where none of the three is known

    Returns
    -------
    Stake

    Notes
    -----
    All factors are our defaults (``data/week.toml``).
    """
    table = figures("week")
    m, v, e = (
        table.value(f"{name}_unknown") if given is None else given
        for name, given in (("matters", matters), ("vulnerable", vulnerable), ("exposed", exposed))
    )
    product = m * v * e
    if benefit is not None and matters is None and vulnerable is None and exposed is None:
        product = benefit
    many = sqrt(min(max(things, 1), table.value("many_at_most")))
    late = 1.0
    if days_left is not None:
        late = table.value("overdue" if days_left < 0 else "due_soon" if days_left <= table.value("soon") else "later")
    return Stake(max(round(product * many * late * POINT), 0), m, v, e, many, late)


@dataclass(frozen=True, slots=True)
class Learnt:
    """How many minutes a job will take, and from how many times it was measured."""

    minutes: int
    factor: float
    times: int


def learn(expected: float, times: Sequence[tuple[float, float]]) -> Learnt:
    """Return the minutes of a job, corrected by how long such jobs took before.

    Parameters
    ----------
    expected : what the job would take by our figures [minute]
    times : (expected then, taken) of earlier jobs of its kind [minute], the latest first

    Returns
    -------
    Learnt

    Notes
    -----
    The factor is the geometric mean of taken ÷ expected, drawn towards 1 as if two jobs had taken just as long as
    expected, so that one odd day does not decide. Our default, like the bounds (``data/week.toml``).
    """
    table = figures("week")
    kept = [(max(a, 1.0), max(b, 1.0)) for a, b in times[: int(table.value("times_counted"))]]
    if not kept:
        return Learnt(max(round(expected), 1), 1.0, 0)
    mean = sum(log(taken / before) for before, taken in kept) / (len(kept) + table.value("times_drawn_to_ours"))
    factor = min(max(exp(mean), table.value("factor_least")), table.value("factor_most"))
    return Learnt(max(round(expected * factor), 1), factor, len(kept))


def minutes_of(sort: str) -> int | None:
    """Return the minutes that a kind of job takes by ``data/jobs.toml``; None where its subject says it each time."""
    table = figures("jobs")
    return round(table.value(sort)) if sort in table else None


def citation_of(sort: str) -> Citation:
    """Return where the minutes of a kind of job come from."""
    table = figures("jobs")
    return table[sort].citation if sort in table else Citation("kistbook", "minutes of jobs", "our default")


def rule(name: str) -> int:
    """Return a whole figure of ``data/week.toml``, in the unit its row names."""
    return round(figures("week").value(name))
