"""The one seam: what other subjects add to the catalogue's pages, without the catalogue knowing them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from archive.access.models import Account
    from archive.boxes.models import Box
    from archive.sorting.models import Lot
    from archive.things.models import Thing


@dataclass(frozen=True)
class Panel:
    """A section of a thing's page: the template that draws it and what it needs."""

    heading: str
    template: str
    context: Mapping[str, Any]
    order: int = 50
    first: bool = False  # a hazard: drawn above everything else on the page
    brief: Sequence[str] = ()  # its few most needed lines, for a slip of paper that goes with the thing


@dataclass(frozen=True)
class Flag:
    """A short mark beside a thing in a list: ``level`` is ``stop``, ``care`` or ``note``."""

    level: str
    words: str


@dataclass(frozen=True)
class Job:
    """Something to do: minutes of work, perhaps a due day, and where to go for it.

    ``key`` names this very job for good (``rounds.round/kitchen``), so that it can be put off or ticked off; ``sort``
    names its kind (``rounds.round``), whose minutes are learnt from how long it took before. What is at stake is
    ``matters`` (1 to 5) × ``vulnerable`` (1 to 3) × ``exposed`` (1 to 3); where any is given, they count in place of
    ``benefit``. A job that its own page does not end has ``tick``, and comes back ``again_days`` after it was done.
    """

    words: str
    url: str
    minutes: int
    due: date | None = None
    tier: int = 4  # 1 people in danger, 2 running clocks, 3 what only the living can tell, 4 the rest
    benefit: float = 1.0
    why: str = ""
    key: str = ""
    sort: str = ""
    first: str = ""  # what to do in the first ten minutes, when there is no time for more
    matters: float | None = None
    vulnerable: float | None = None
    exposed: float | None = None
    things: int = 1  # how many things it is done for, at once
    tick: bool = False
    again_days: int | None = None


@dataclass(frozen=True)
class Extension:
    """What one subject registers; every part is optional."""

    subject: str
    panels: Callable[[Thing, Account | None], Iterable[Panel]] | None = None
    flags: Callable[[Sequence[Thing], Account | None], Mapping[int, Sequence[Flag]]] | None = None
    box_panels: Callable[[Box, Account | None], Iterable[Panel]] | None = None
    lot_panels: Callable[[Lot, Account | None], Iterable[Panel]] | None = None
    jobs: Callable[[Account | None], Iterable[Job]] | None = None
    upkeep: Callable[[], Iterable[tuple[str, Callable[[], None]]]] | None = None
    routes: Mapping[str, str] = field(default_factory=dict)
    urls: str | None = None  # module of the subject's addresses, mounted under its name
    menu: tuple[str, str] | None = None  # the menu's word and the route it leads to
    export_tables: Callable[[], Iterable[Any]] | None = None
    # Records its part of the demo household: the tables of ``fixtures/demo*.toml``, the keeper, and a function that
    # draws a picture by name, seed and title and takes it in. What is there already stays as it is.
    demo: Callable[[Mapping[str, Any], Account, Callable[[str, int, str], Any]], None] | None = None
    home: str | None = None  # the route that the address / shows to whoever may open it


_extensions: dict[str, Extension] = {}


def register(extension: Extension) -> None:
    """Add a subject. Registering a subject twice replaces it, so that tests may reload."""
    _extensions[extension.subject] = extension


def extensions() -> list[Extension]:
    """Return all registered subjects, in the order they came."""
    return list(_extensions.values())


def panels(thing: Thing, user: Account | None) -> list[Panel]:
    """Return the sections that subjects add to a thing's page, in their order."""
    found = [panel for each in extensions() if each.panels for panel in each.panels(thing, user)]
    return sorted(found, key=lambda panel: (not panel.first, panel.order))


def box_panels(box: Box, user: Account | None, *, but: str = "") -> list[Panel]:
    """Return the sections that subjects add to the page of a node of the storage tree; those of ``but`` left out."""
    found = [
        panel
        for each in extensions()
        if each.box_panels and each.subject != but
        for panel in each.box_panels(box, user)
    ]
    return sorted(found, key=lambda panel: (not panel.first, panel.order))


def lot_panels(lot: Lot, user: Account | None) -> list[Panel]:
    """Return the sections that subjects add to the page of a lot."""
    found = [panel for each in extensions() if each.lot_panels for panel in each.lot_panels(lot, user)]
    return sorted(found, key=lambda panel: (not panel.first, panel.order))


def flags(things: Sequence[Thing], user: Account | None) -> dict[int, list[Flag]]:
    """Return the marks of many things by key; subjects ask the database once for a whole list, or for nothing more."""
    found: dict[int, list[Flag]] = {}
    for each in extensions() if things else ():
        if each.flags:
            for thing_id, marks in each.flags(things, user).items():
                found.setdefault(thing_id, []).extend(marks)
    return found


def jobs(user: Account | None) -> list[Job]:
    """Return what there is to do, the most pressing first."""
    found = [job for each in extensions() if each.jobs for job in each.jobs(user)]
    return sorted(found, key=lambda job: (job.tier, job.due or date.max, -job.benefit / max(job.minutes, 1)))


def routes() -> dict[str, str]:
    """Return the route → role rows of all subjects."""
    return {name: role for each in extensions() for name, role in each.routes.items()}


def home_route() -> str | None:
    """Return the route that a subject offers as the first page; of several the one registered last."""
    return next((each.home for each in reversed(extensions()) if each.home), None)


def upkeep() -> list[tuple[str, Callable[[], None]]]:
    """Return the due work that subjects want done when the computer is idle."""
    return [row for each in extensions() if each.upkeep for row in each.upkeep()]
