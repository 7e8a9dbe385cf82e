"""Every subject's tables, so that Django finds them."""

from __future__ import annotations

from archive.access.models import Account, ActedForm, ChangeSet, Invitation, Tombstone
from archive.boxes.models import Box, RoughCount
from archive.keeping.models import *  # noqa: F403
from archive.labels.models import PrintedSheet
from archive.people.models import Parentage, Partnership, Person, PersonName
from archive.pictures.models import Likeness, PersonMark, Picture
from archive.places.models import Place, PlaceName
from archive.preferences.models import Preferences
from archive.search.models import SearchEntry, SearchIndex
from archive.sorting.models import FirstLook, Group, GroupThing, Lot, RefusedProposal
from archive.stories.models import Story, StoryPerson, StoryPlace, StoryThing
from archive.things.models import (
    Inscription,
    IssuedNumber,
    Loan,
    Piece,
    PiecePerson,
    Share,
    Thing,
    ThingPerson,
    ThingPlace,
)

__all__ = [
    "Account",
    "ActedForm",
    "Box",
    "ChangeSet",
    "FirstLook",
    "Group",
    "GroupThing",
    "Inscription",
    "Invitation",
    "IssuedNumber",
    "Likeness",
    "Loan",
    "Lot",
    "Parentage",
    "Partnership",
    "Person",
    "PersonMark",
    "PersonName",
    "Picture",
    "Piece",
    "PiecePerson",
    "Place",
    "PlaceName",
    "Preferences",
    "PrintedSheet",
    "RefusedProposal",
    "RoughCount",
    "SearchEntry",
    "SearchIndex",
    "Share",
    "Story",
    "StoryPerson",
    "StoryPlace",
    "StoryThing",
    "Thing",
    "ThingPerson",
    "ThingPlace",
    "Tombstone",
]
