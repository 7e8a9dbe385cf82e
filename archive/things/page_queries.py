"""Everything that is recorded of one thing, for its page, in a fixed number of queries.

People, places, lots and groups are named only where the reader may see that record too. Boxes, stories and advice
come as panels from their own subjects.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import (
    Count,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Prefetch,
    Subquery,
    Value,
    prefetch_related_objects,
)
from django.db.models.functions import Coalesce
from django.http import Http404
from django.utils import timezone

from archive.access.models import Account
from archive.folding import fold
from archive.numbers import number_of
from archive.people.models import Person
from archive.pictures.models import Picture
from archive.places.models import Place
from archive.sorting.models import Group, GroupThing, Lot
from archive.things.models import (
    Inscription,
    Loan,
    Piece,
    PiecePerson,
    Share,
    Standing,
    Thing,
    ThingPerson,
    ThingPlace,
)
from archive.things.shares import trouble_with

PIECES_ON_A_PAGE = 48
GROUPS_AT_MOST = 24
DUE_AT_MOST = 20

# How a page says what somebody or a place has to do with a thing, in the order in which it is said.
PERSON_WORDS = {
    "wrote": "Written or signed by",
    "received": "Received by",
    "made": "Made by",
    "shown": "In it",
    "named": "Named in it",
    "owned": "Had before by",
}
PLACE_WORDS = {
    "made": "Made in",
    "shown": "It shows",
    "used": "Used or worn in",
    "sent-from": "Sent from",
    "sent-to": "Sent to",
    "found": "Found in",
}


@dataclass(frozen=True)
class Mention:
    """Somebody, or a place, named on the page; ``sure`` is false where it is a guess."""

    record: Any
    words: str = ""
    sure: bool = True


@dataclass(frozen=True)
class Role:
    """What some people or places have to do with the thing, in words."""

    words: str
    mentions: list[Mention]


@dataclass
class PieceLine:
    """A piece with its pictures and the people on it."""

    piece: Piece
    number: str
    anchor: str
    asked_for: bool
    people: list[Person] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)


@dataclass
class Whole:
    """All that a reader may see of a thing."""

    thing: Thing
    pictures: list[Picture]
    picture_count: int
    people: list[Role]
    places: list[Role]
    owners: list[Mention]
    pieces: list[PieceLine]
    piece_count: int
    pieces_from: int
    inscriptions: list[Inscription]
    groups: list[Group]
    lot: Lot | None
    came_from: Person | None
    borrowed_from: Person | None
    lent_out: bool
    loan: Loan | None = None
    past_loans: list[Loan] = field(default_factory=list)
    shares_trouble: str = ""
    today: date = field(default_factory=timezone.localdate)

    @property
    def told_how_it_came(self) -> bool:
        thing = self.thing
        return bool(thing.came_how or thing.came_text or thing.came_note or self.came_from)

    @property
    def earlier_pieces(self) -> int | None:
        """Where the page of pieces before this one begins, counted from 0; None where there is none."""
        return max(0, self.pieces_from - PIECES_ON_A_PAGE) if self.pieces_from else None

    @property
    def later_pieces(self) -> int | None:
        following = self.pieces_from + PIECES_ON_A_PAGE
        return following if following < self.piece_count else None

    @property
    def closed(self) -> bool:
        return bool(self.thing.closed_until and self.thing.closed_until > self.today)


def whole_thing(public_id: str, who: Account | None, piece: int | None = None, start: int = 0) -> Whole:
    """Return all of a thing that this reader may see, its pieces from ``start`` on or around the one asked for.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    thing = _thing(public_id, who)
    seen: Any = thing
    # Panels that ask for the thing's pictures find them at hand.
    prefetch_related_objects([thing], Prefetch("pictures", Picture.objects.order_by("position", "pk")))
    pictures: list[Picture] = list(thing.pictures.all())
    lines, start = _pieces(thing, seen.piece_count, piece, start)
    named = _named(thing, [line.piece.pk for line in lines], who)
    by_piece: dict[int, list[Picture]] = {}
    for picture in pictures:
        picture.thing = thing  # its words for those who cannot see it ask for the title
        if picture.piece_id is not None:
            by_piece.setdefault(picture.piece_id, []).append(picture)
    for line in lines:
        line.people = [each.record for each in named.on_pieces.get(line.piece.pk, [])]
        line.pictures = by_piece.get(line.piece.pk, [])
    loans = _loans(thing, who) if seen.ever_lent else []
    keeper = who is not None and who.is_keeper
    return Whole(
        thing=thing,
        pictures=[each for each in pictures if each.piece_id is None],
        picture_count=len(pictures),
        people=_by_role(named.people, PERSON_WORDS),
        places=_by_role(named.places, PLACE_WORDS),
        owners=named.owners,
        pieces=lines,
        piece_count=seen.piece_count,
        pieces_from=start,
        inscriptions=named.inscriptions,
        groups=sorted(named.groups, key=lambda group: fold(group.title))[:GROUPS_AT_MOST],
        lot=thing.lot if seen.lot_seen else None,
        # Who gave it, and whose it is, is a matter of the family.
        came_from=thing.came_from if who is not None and seen.came_from_seen else None,
        borrowed_from=thing.borrowed_from if who is not None and seen.borrowed_from_seen else None,
        lent_out=seen.lent_out,
        loan=next((loan for loan in loans if loan.returned_on is None), None),
        past_loans=[loan for loan in loans if loan.returned_on is not None],
        shares_trouble=trouble_with(each.words for each in named.owners) if keeper else "",
    )


def _thing(public_id: str, who: Account | None) -> Thing:
    people: Any = Person.objects.visible_to(who)
    lots: Any = Lot.objects.visible_to(who).present()
    pieces = Piece.objects.filter(thing=OuterRef("pk")).order_by().values("thing")
    found: Thing | None = (
        Thing.objects.visible_to(who)
        .filter(public_id=public_id)
        .select_related("lot", "came_from", "borrowed_from")
        .annotate(
            lot_seen=Exists(lots.filter(pk=OuterRef("lot"))),
            came_from_seen=Exists(people.filter(pk=OuterRef("came_from"))),
            borrowed_from_seen=Exists(people.filter(pk=OuterRef("borrowed_from"))),
            lent_out=Exists(Loan.objects.filter(thing=OuterRef("pk"), returned_on__isnull=True)),
            ever_lent=Exists(Loan.objects.filter(thing=OuterRef("pk"))),
            piece_count=Coalesce(Subquery(pieces.annotate(n=Count("pk")).values("n")), 0, output_field=IntegerField()),
        )
        .first()
    )
    if found is None:
        raise Http404
    return found


def _pieces(thing: Thing, count: int, asked: int | None, start: int) -> tuple[list[PieceLine], int]:
    if asked is not None:
        start = thing.pieces.filter(order__lt=asked).count()
    start = min(max(start, 0), max(count - 1, 0)) // PIECES_ON_A_PAGE * PIECES_ON_A_PAGE
    rows = list(thing.pieces.all()[start : start + PIECES_ON_A_PAGE]) if count else []
    lines: list[PieceLine] = []
    for piece in rows:
        again = bool(lines) and lines[-1].piece.order == piece.order
        anchor = f"piece-{piece.order}-{piece.side}" if again else f"piece-{piece.order}"
        lines.append(PieceLine(piece, f"{thing.number}/{piece.order}", anchor, piece.order == asked))
    return lines, start


@dataclass
class _Named:
    """Whom and what the thing's rows name, as far as the reader may see it."""

    people: list[Mention] = field(default_factory=list)
    places: list[Mention] = field(default_factory=list)
    owners: list[Mention] = field(default_factory=list)
    inscriptions: list[Inscription] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    on_pieces: dict[int, list[Mention]] = field(default_factory=dict)


def _named(thing: Thing, pieces: list[int], who: Account | None) -> _Named:
    """Return people, owners, places, inscriptions, groups and the people on each piece, by one query."""
    yes, nothing, none = Value(True), Value(""), Value(0, output_field=IntegerField())
    keeper = who is not None and who.is_keeper
    person = ("person__public_id", "person__name", "person__born_text", "person__died_text")

    def named(sort: str, rows: Any, words: Any, sure: Any, columns: Any, piece: Any = none) -> Any:
        return rows.order_by().values_list(Value(sort), "pk", piece, words, sure, *columns)

    of_thing: Any = {"thing": thing}
    # A keeper sees everybody, so that nothing needs to be looked up for them.
    people_seen: Any = {} if keeper else {"person__in": Person.objects.visible_to(who)}
    places_seen: Any = {} if keeper else {"place__in": Place.objects.visible_to(who)}
    shares = Share.objects.filter(**people_seen, **of_thing)
    on_pieces = PiecePerson.objects.filter(piece__in=pieces, **people_seen)
    places = ThingPlace.objects.filter(**places_seen, **of_thing)
    groups = GroupThing.objects.filter(group__in=Group.objects.visible_to(who).present(), **of_thing)
    texts = Inscription.objects.filter(**of_thing)
    people = ThingPerson.objects.filter(**people_seen, **of_thing)
    rows = named("person", people, F("role"), F("sure"), person).union(
        named("owner", shares, F("part"), yes, person),
        named("piece", on_pieces, nothing, yes, person, F("piece_id")),
        named("place", places, F("role"), yes, ("place__public_id", "place__name", nothing, nothing)),
        named("group", groups, nothing, yes, ("group__public_id", "group__title", nothing, nothing)),
        named("text", texts, F("where"), yes, ("public_id", "text", "reading", nothing)),
        all=True,
    )
    found = _Named()
    for sort, _, piece_id, words, sure, public_id, name, born, died in sorted(rows):
        if sort == "group":
            found.groups.append(Group(public_id=public_id, title=name))
        elif sort == "text":
            found.inscriptions.append(Inscription(public_id=public_id, where=words, text=name, reading=born))
        elif sort == "place":
            found.places.append(Mention(Place(public_id=public_id, name=name), words))
        else:
            who_it_is = Person(public_id=public_id, name=name, born_text=born, died_text=died)
            mention = Mention(who_it_is, words, bool(sure))
            if sort == "piece":
                found.on_pieces.setdefault(piece_id, []).append(mention)
            else:
                (found.people if sort == "person" else found.owners).append(mention)
    return found


def _by_role(mentions: list[Mention], words: dict[str, str]) -> list[Role]:
    """Return mentions, whose words are codes of roles, under what a page calls the role."""
    roles: dict[str, list[Mention]] = {}
    for mention in mentions:
        roles.setdefault(mention.words, []).append(mention)
    return [Role(said, roles[code]) for code, said in words.items() if code in roles]


def _loans(thing: Thing, who: Account | None) -> list[Loan]:
    if who is None or not who.is_keeper:
        return []
    return list(thing.loans.select_related("person"))


@dataclass(frozen=True)
class Due:
    """A loan to somebody, or to us, with the day on which the thing goes back."""

    to_us: bool
    thing: str
    public_id: str
    whom: str
    until: date


def due_back(last: date) -> list[Due]:
    """Return what is due back on a day or before, lent by us or to us, the most overdue first; one query."""
    lent = Loan.objects.filter(returned_on__isnull=True, until__lte=last, thing__withdrawn_at__isnull=True)
    ours: Any = Thing.objects.present()
    borrowed = ours.filter(borrowed_until__lte=last, borrowed_from__isnull=False).exclude(standing=Standing.RETURNED)
    rows = (
        lent.order_by()
        .values_list(
            "until", Value(0), "pk", "thing__serial_id", "thing__title", "thing__public_id",
            Coalesce("person__name", "to_text"),
        )
        .union(
            borrowed.order_by().values_list(
                "borrowed_until", Value(1), "pk", "serial_id", "title", "public_id", "borrowed_from__name"
            ),
            all=True,
        )
        .order_by("until")
    )  # fmt: skip
    return [
        Due(bool(to_us), f"{number_of(serial)} {title}", public_id, whom, until)
        for until, to_us, _, serial, title, public_id, whom in rows[:DUE_AT_MOST]
    ]
