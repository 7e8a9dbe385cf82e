"""One day of change in words: how each thing is handled, where it rests, and what its caption says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.urls import reverse

from archive.access.models import Account
from archive.boxes.models import Box
from archive.boxes.queries import paths_of
from archive.dates.words import in_words
from archive.labels.addresses import address_may_change
from archive.preferences.queries import preferences
from archive.stories.models import Story
from archive.things.models import Thing
from conservation.housing.assess import advise
from conservation.housing.assess_whole import Carrying, carry
from conservation.on_show.models import PlannedShowing
from conservation.on_show.plans import sheet_queries
from conservation.on_show.spots.queries import not_here

_STORY_SIGNS = 120  # about two lines of a caption
_QUIET = 4


@dataclass(frozen=True)
class Line:
    """One showing on a sheet: how to handle its thing, what is dangerous about it, and where it rests."""

    row: PlannedShowing
    carrying: Carrying | None
    hazard: str
    grave: bool  # the hazard is more than a matter of care
    path: list[Box]
    gone: str  # why it cannot go up though it was planned: withdrawn, gone or lent since

    def is_done(self, week: int) -> bool:
        """Say whether what the sheet of a week asks for has been ticked."""
        showing = self.row.showing
        if self.row.from_week == week:
            return showing is not None
        return showing is not None and showing.came_down is not None


def lines_of(rows: Sequence[PlannedShowing], reader: Account) -> dict[int, Line]:
    """Return the lines of showings by their ids; two queries, for where things rest and for what is no longer here."""
    units = preferences().units
    gone = not_here([row.thing for row in rows if row.showing is None])
    rests = {
        row.pk: (row.showing.goes_back_to_id if row.showing is not None else None) or row.thing.box_id for row in rows
    }
    paths = paths_of(rests.values(), reader)
    found = {}
    for row in rows:
        advice = advise(row.thing, units)
        stop = advice.answer["stop"]
        hazard = f"{advice.stop_words}: {advice.hazard_words}. {stop['say']}" if stop else ""
        carrying = None if row.is_copy or advice.leave else carry(row.thing, advice)
        box = rests[row.pk]
        found[row.pk] = Line(
            row,
            carrying,
            "" if row.is_copy else hazard,
            advice.blocked,
            paths.get(box, []) if box else [],
            "" if row.is_copy else gone.get(row.thing_id, ""),
        )
    return found


# -- captions ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Caption:
    """A card beside a thing: what it is, when, who, two lines of its story, and a code that leads to the rest."""

    thing: Thing
    date: str
    people: str
    story: str
    is_copy: bool
    url: str
    leads_to: str
    code: str
    side: int


@dataclass
class Captions:
    """The captions of a day, and what was left out of them and why."""

    captions: list[Caption] = field(default_factory=list)
    left_out: list[tuple[Thing, str]] = field(default_factory=list)
    may_change: bool = False


def captions(rows: Sequence[PlannedShowing], keeper: Account, base: str, *, for_family: bool) -> Captions:
    """Return the captions for showings.

    A caption hangs on a wall, where guests read it. So it says only what any guest of the home network may see; with
    ``for_family`` what relatives may see. Who may be living is named for relatives only, unless the keeper opened it.
    """
    audience = Account(role="relative") if for_family else None
    ids = [row.thing_id for row in rows]
    told, seen = sheet_queries.told_of(ids, keeper, audience), sheet_queries.visible_things(ids, audience)
    found = Captions(may_change=address_may_change(base))
    for row in rows:
        thing, about = row.thing, told[row.thing_id]
        if thing.withdrawn_at is not None:
            found.left_out.append((thing, "It is withdrawn: no caption."))
            continue
        if not thing.show_home:
            found.left_out.append((thing, "You said that it may not be shown at home: no caption."))
            continue
        hidden = thing.pk not in seen
        if hidden:
            found.left_out.append((thing, "Its page is not open to whoever reads this: only its title stands here."))
        if about.people_left_out:
            found.left_out.append((thing, "Somebody who may be living, or whose page is not open, is not named."))
        if about.stories_left_out and about.story is None:
            found.left_out.append((thing, "It has a story that is not open to whoever reads this."))
        story = None if hidden else about.story
        url = base.rstrip("/") + _address(thing, story)
        code, side = qr_path(url)
        found.captions.append(
            Caption(
                thing,
                "" if hidden else _made(thing),
                "" if hidden else _and(about.people),
                two_lines(story.body) if story else "",
                row.is_copy,
                url,
                "the story" if story else "its page",
                code,
                side,
            )
        )
    return found


def _made(thing: Thing) -> str:
    return in_words(thing.made_edtf) or thing.made_text if thing.made_edtf else thing.made_text


def _address(thing: Thing, story: Story | None) -> str:
    return reverse("stories:page", args=[story.public_id]) if story else reverse("tag", args=[thing.number])


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def two_lines(text: str) -> str:
    """Return the opening of a story: whole sentences as far as they fit into two lines, else cut at a word."""
    words = " ".join(text.split())
    if len(words) <= _STORY_SIGNS:
        return words
    head = words[:_STORY_SIGNS]
    ends = [match.end() for match in re.finditer(r"[.!?…][”’\"')]*(?=\s)", head)]
    if ends and ends[-1] >= _STORY_SIGNS // 2:
        return head[: ends[-1]]
    return head.rpartition(" ")[0] + " …"


def qr_path(text: str) -> tuple[str, int]:
    """Return a code as one SVG path of unit squares, and the side of its square with the quiet zone round it."""
    import segno

    matrix = segno.make(text, error="m", micro=False, boost_error=False).matrix
    parts = []
    for y, cells in enumerate(matrix):
        x = 0
        while x < len(cells):
            run = x
            while run < len(cells) and cells[run]:
                run += 1
            if run > x:
                parts.append(f"M{x + _QUIET} {y + _QUIET}h{run - x}v1h-{run - x}z")
            x = max(run, x + 1)
    return "".join(parts), len(matrix) + 2 * _QUIET
