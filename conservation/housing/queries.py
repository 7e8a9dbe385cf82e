"""Reading what housing needs of things and boxes."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.db.models import (
    Case,
    Count,
    Exists,
    ExpressionWrapper,
    F,
    FloatField,
    OuterRef,
    Q,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from archive.access.models import Account
from archive.boxes.models import Box, RoughCount
from archive.boxes.queries import below_sql
from archive.sorting.models import Lot
from archive.things.models import Standing, Thing
from conservation.housing.models import HousingDecision, StandingPlace


def _here(reader: Account | None) -> Any:
    """Return things that are neither withdrawn nor gone from the house."""
    return Thing.objects.visible_to(reader).present().filter(standing__in=[Standing.KEPT, Standing.UNDECIDED])


def unknown_kinds(reader: Account | None, how_many: int) -> list[Thing]:
    """Return things whose kind nobody has told yet, the oldest record first."""
    return list(_here(reader).filter(kind_code="unknown").order_by("created_at")[:how_many])


def decision_on(thing: Thing) -> HousingDecision | None:
    """Return the decision on a thing's housing that holds."""
    return HousingDecision.objects.filter(thing=thing).first()


def decisions_on(thing: Thing) -> list[HousingDecision]:
    """Return all decisions on a thing's housing, the latest first."""
    return list(HousingDecision.objects.filter(thing=thing))


def undone(reader: Account | None, how_many: int) -> list[HousingDecision]:
    """Return decisions that hold and are not carried out yet, the oldest first."""
    later = HousingDecision.objects.filter(
        Q(decided_on__gt=OuterRef("decided_on")) | Q(decided_on=OuterRef("decided_on"), pk__gt=OuterRef("pk")),
        thing=OuterRef("thing"),
    )
    # Asked of each decision in turn, so that the first few are found along their index.
    here = _here(reader).filter(pk=OuterRef("thing"))
    rows = HousingDecision.objects.filter(~Exists(later), Exists(here), done_on__isnull=True)
    return list(rows.select_related("thing").order_by("decided_on", "pk")[:how_many])


# What deciding and naming a danger needs of a thing.
_DANGER_COLUMNS = (
    "pk", "public_id", "serial_id", "title", "kind_code", "states", "parts", "made_earliest", "film_base", "weight_g",
    "significance",
)  # fmt: skip
# All lists of states that are there, by leaps along their index: few, however many things there are.
_STATE_LISTS = """
WITH RECURSIVE lists(states) AS (
  SELECT MIN(states) FROM archive_thing
  UNION ALL
  SELECT (SELECT MIN(states) FROM archive_thing WHERE states > lists.states) FROM lists WHERE lists.states IS NOT NULL
)
SELECT states FROM lists WHERE states IS NOT NULL
"""

_HERE = "withdrawn_at IS NULL AND standing IN ('kept', 'undecided')"
_UNHOUSED = (
    "NOT EXISTS (SELECT 1 FROM conservation_housingdecision AS decided "
    "WHERE decided.thing_id = archive_thing.id AND decided.done_on IS NOT NULL)"
)
_WITH_STATES = f"""
SELECT id FROM archive_thing WHERE states IN ({{wanted}}) AND {_HERE} AND {_UNHOUSED} ORDER BY id DESC LIMIT %s
"""  # noqa: S608 - our own tables only
_OF_KIND = f"""
SELECT * FROM (SELECT id FROM archive_thing WHERE kind_code = %s AND {_HERE}{{unhoused}}
ORDER BY created_at DESC, id DESC LIMIT %s)
"""  # noqa: S608


def dangerous(
    reader: Account | None, bringers: tuple[Sequence[str], Sequence[str], Sequence[str]], how_many: int
) -> list[Thing]:
    """Return things whose kind or state may bring a hazard and that are here, with nothing done about their housing.

    ``bringers`` are the kinds and the states in question, and the kinds that no box makes safe. At most ``how_many`` of
    each kind, the latest first, and as many for their states; all by indexes, in a few queries.
    """
    kinds, states, never_safe = bringers
    parts = [_OF_KIND.format(unhoused="" if code in never_safe else f" AND {_UNHOUSED}") for code in kinds]
    values = [value for code in kinds for value in (code, how_many)]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), values)
        found = {pk for (pk,) in cursor.fetchall()} | set(_ids_with_states(states, how_many))
    things = Thing.objects.visible_to(reader).filter(pk__in=found).only(*_DANGER_COLUMNS)
    return list(things.order_by("pk"))


def _ids_with_states(states: Sequence[str], how_many: int) -> list[int]:
    """Return unhoused things that have one of some states, the latest first; by the index of states."""
    wanted = set(states)
    with connection.cursor() as cursor:
        cursor.execute(_STATE_LISTS)
        lists = [text for (text,) in cursor.fetchall() if wanted & set(json.loads(text))]
        if not lists:
            return []
        cursor.execute(_WITH_STATES.format(wanted=", ".join(["%s"] * len(lists))), [*lists, how_many])
        return [pk for (pk,) in cursor.fetchall()]


def undecided(reader: Account | None, how_many: int) -> list[Thing]:
    """Return things that matter much (4 or 5 of 5) and have no housing decided, those that matter most first."""
    decided = HousingDecision.objects.filter(thing=OuterRef("pk"))
    return list(_here(reader).filter(~Exists(decided), significance__gte=4).order_by("-significance", "-pk")[:how_many])


def place_of(box: Box) -> StandingPlace | None:
    """Return what is said of this very node, not of what it stands in."""
    return StandingPlace.objects.filter(box=box).first()


def said_of(box: Box) -> tuple[str, str]:
    """Return furniture and location as said of this very node, not of what it stands in."""
    row = place_of(box)
    return (row.furniture, row.location) if row else ("", "")


@dataclass(frozen=True)
class Contents:
    """What lies in a box or lot: how many of each kind in all, and of each family directly in the box itself."""

    kinds: Counter[str]
    families: Counter[str]


def contents_of_box(box: Box, reader: Account | None) -> Contents:
    """Return what is in a box and below it: things recorded, and rough counts; one query, counted in SQL.

    A rough count of a kind is taken where it is larger than the number of things recorded of that kind.
    """
    places = below_sql(box)
    visible = Box.objects.visible_to(reader).present().filter(pk__in=places).order_by().values("pk")
    return _contents(Q(box__in=places), Q(box__in=visible), reader, box.pk)


def contents_of_lot(lot: Lot, reader: Account | None) -> Contents:
    """Return what is in a lot, as `contents_of_box` does for a box."""
    boxes = Box.objects.visible_to(reader).present().filter(lot=lot).order_by().values("pk")
    return _contents(Q(lot=lot) | Q(box__in=boxes), Q(box__in=boxes), reader, None)


def _contents(things: Q, boxes: Q, reader: Account | None, here: int | None) -> Contents:
    from archive.kinds import kind

    found = Thing.objects.visible_to(reader).present().filter(things).order_by()
    directly = Case(When(box_id=here, then=Value(True)), default=Value(False))
    recorded: Counter[str] = Counter()
    families: Counter[str] = Counter()
    columns, sums = ("is_rough", "kind_code", "directly"), {"pieces": Sum("count"), "things": Count("pk")}
    rows = found.annotate(is_rough=Value(False), directly=directly).values_list(*columns).annotate(**sums)
    counts = RoughCount.objects.filter(boxes).order_by().annotate(is_rough=Value(True), directly=Value(False))
    both = rows.union(counts.values_list(*columns).annotate(**sums), all=True)
    rough: Counter[str] = Counter()
    for is_rough, code, in_itself, pieces, count in both:
        (rough if is_rough else recorded)[code] += pieces
        if in_itself and here is not None:
            families[kind(code).family] += count
    kinds = Counter({code: max(recorded[code], rough[code]) for code in {*recorded, *rough}})
    return Contents(kinds, families)


def ranked_needs(
    reader: Account | None, vulnerability: Mapping[float, Sequence[str]], figures: Mapping[str, float]
) -> Any:
    """Return things still to be housed, the most pressing first, as a queryset with ``need``.

    ``vulnerability`` gives the kinds of each value; ``figures`` holds ``unknown`` (significance), ``damaged``,
    ``nothing`` and ``decided`` (factors). Things that are done, gone or withdrawn are left out.
    """
    latest = HousingDecision.objects.filter(thing=OuterRef("pk")).order_by("-decided_on", "-pk")
    vulnerable = Case(
        *(When(kind_code__in=list(codes), then=Value(value)) for value, codes in vulnerability.items()),
        default=Value(2.0),
        output_field=FloatField(),
    )
    things = (
        _here(reader)
        .annotate(is_decided=Exists(latest), done=Subquery(latest.values("done_on")[:1]))
        .filter(done__isnull=True)
    )
    need = (
        Coalesce(F("significance"), Value(figures["unknown"]), output_field=FloatField())
        * vulnerable
        * Case(When(states=[], then=Value(1.0)), default=Value(figures["damaged"]), output_field=FloatField())
        * Case(
            When(is_decided=True, then=Value(figures["decided"])),
            default=Value(figures["nothing"]),
            output_field=FloatField(),
        )
    )
    return things.annotate(need=ExpressionWrapper(need, output_field=FloatField())).order_by("-need", "pk")


@dataclass(frozen=True)
class AirThere:
    """The air of the room where something lies, nine tenths of the time: °C and % RH, each from low to high."""

    temperature_c: tuple[float, float]
    relative_humidity_pct: tuple[float, float]


def air_where(thing: Thing) -> AirThere | None:
    """Return the air in which a thing lies, nine tenths of the year; None where nobody measures it.

    That of the shelf or cupboard, where it has a sensor of its own, else of the room. Three queries, none for a thing
    that lies nowhere.
    """
    from conservation.rooms.readings import queries as readings

    air = readings.air_where([thing.box_id]).get(thing.box_id or 0)
    if air is None:
        return None
    warm, damp = air.temperature, air.humidity
    return AirThere((warm.p05, warm.p95), (damp.p05, damp.p95))
