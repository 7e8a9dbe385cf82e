"""Groups that could be made, proposed from what is known: same lot, people, dates, kind, look-alike pictures.

One narrow row of each thing is read, in a number of queries that does not grow; of each sort of reason only so many
are kept, so that what is compared afterwards stays bounded. Nothing is stored: proposals are worked out anew, and what
was refused is left out by its key.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from django.db.models import QuerySet

from archive.access.models import Account
from archive.kinds import KIND_CODES, kind
from archive.people.models import Person
from archive.pictures.models import Picture
from archive.sorting.models import GONE, Group, GroupThing, Lot, RefusedProposal
from archive.sorting.texts import limit
from archive.things.models import Thing, ThingPerson

_BITS = 64
# What holds a proposed group together, the most telling first; the sort is what a group made of it is called.
SORTS = {
    "alike": Group.Sort.OTHER,
    "person": Group.Sort.PERSON,
    "lot": Group.Sort.OTHER,
    "year-kind": Group.Sort.EVENT,
    "year": Group.Sort.EVENT,
    "decade-kind": Group.Sort.KIND,
    "decade": Group.Sort.OTHER,
    "kind": Group.Sort.KIND,
}


@dataclass(frozen=True)
class Proposal:
    """Things that could be a group: the keys of all reasons that found just these, the most telling first."""

    keys: tuple[str, ...]
    things: frozenset[int]

    @property
    def key(self) -> str:
        return self.keys[0]


@dataclass(frozen=True)
class Told:
    """What a key says in words, and what a group made of it could be called."""

    reason: str
    title: str
    sort: str


def sort_of(key: str) -> str:
    """Return what sort of reason a key names."""
    return key.partition(":")[0]


def here(reader: Account | None) -> QuerySet[Thing]:
    """Return the things that may be proposed: those the reader sees that are neither withdrawn nor gone."""
    things: QuerySet[Thing] = Thing.objects.visible_to(reader).present().exclude(standing__in=GONE)
    return things


def proposals(reader: Account | None) -> list[Proposal]:
    """Return the groups that could be made, the most telling first, without those refused or made already."""
    refused = set(RefusedProposal.objects.values_list("key", flat=True))
    keys: dict[frozenset[int], list[str]] = defaultdict(list)
    for key, things in _buckets(reader):
        if key not in refused:
            keys[things].append(key)
    together = _groups()
    ranks = list(SORTS)
    found = [
        Proposal(tuple(sorted(names, key=lambda key: (ranks.index(sort_of(key)), key))), things)
        for things, names in keys.items()
        if not _is_together(things, together)
    ]
    found.sort(key=lambda each: (ranks.index(sort_of(each.key)), -len(each.keys), -len(each.things), each.key))
    return found


def find_proposal(key: str, reader: Account | None) -> Proposal | None:
    """Return the proposal that has a key among its reasons; None when it is no longer one."""
    return next((each for each in proposals(reader) if key in each.keys), None)


def _groups() -> dict[int, list[frozenset[int]]]:
    """Return for each thing the groups it is in, as sets of things."""
    members: dict[int, set[int]] = defaultdict(set)
    rows = GroupThing.objects.filter(group__withdrawn_at__isnull=True).order_by()
    for group, thing in rows.values_list("group_id", "thing_id"):
        members[group].add(thing)
    found: dict[int, list[frozenset[int]]] = defaultdict(list)
    for things in map(frozenset, members.values()):
        for thing in things:
            found[thing].append(things)
    return found


def _is_together(things: frozenset[int], groups: dict[int, list[frozenset[int]]]) -> bool:
    return any(things <= group for group in groups.get(next(iter(things)), ()))


def _buckets(reader: Account | None) -> Iterable[tuple[str, frozenset[int]]]:
    """Return each reason's key with the things that share it, of a size between the fewest and the most."""
    things = here(reader).order_by()
    lots = dict(Lot.objects.visible_to(reader).present().order_by().values_list("pk", "public_id"))
    by: dict[str, dict[str, set[int]]] = {sort: defaultdict(set) for sort in SORTS}
    kinds: dict[int, str] = {}
    for pk, lot, code, first, last in things.values_list("pk", "lot", "kind_code", "made_earliest", "made_latest"):
        kinds[pk] = code
        if lot in lots:
            by["lot"][lots[lot]].add(pk)
        if code != "unknown":
            by["kind"][code].add(pk)
        # Days are ISO text; those that begin with a digit are of the years 0 to 9999.
        if first[:4].isdecimal() and first[:3] == last[:3]:
            by["decade"][first[:3]].add(pk)
            if first[:4] == last[:4]:
                by["year"][first[:4]].add(pk)
    for name in ("year", "decade"):
        _part_heaps(by[name], by[f"{name}-kind"], kinds)
    people = dict(Person.objects.visible_to(reader).present().order_by().values_list("pk", "public_id"))
    for person, thing in ThingPerson.objects.order_by().values_list("person_id", "thing_id"):
        if person in people and thing in kinds:
            by["person"][people[person]].add(thing)
    for sort, buckets in by.items():
        yield from _of_a_size(sort, buckets)
    yield from _alike(things)


def _part_heaps(buckets: dict[str, set[int]], parted: dict[str, set[int]], kinds: dict[int, str]) -> None:
    """Part a year or decade with too many things to be a group by kind."""
    for span, members in buckets.items():
        if len(members) > limit("most_things"):
            for pk in members:
                if kinds[pk] != "unknown":
                    parted[f"{span}:{kinds[pk]}"].add(pk)


def _of_a_size(sort: str, buckets: dict[str, set[int]]) -> list[tuple[str, frozenset[int]]]:
    """Return the buckets that are large enough and not too large, the largest first, no more than a page can bear."""
    few, many = limit("fewest_things"), limit("most_things")
    useful = sorted((-len(members), name) for name, members in buckets.items() if few <= len(members) <= many)
    return [(f"{sort}:{name}", frozenset(buckets[name])) for _, name in useful[: limit("most_of_a_sort")]]


def _alike(things: QuerySet[Thing]) -> Iterable[tuple[str, frozenset[int]]]:
    """Return the chains of things whose pictures look alike, keyed by the oldest of them."""
    pictures = Picture.objects.filter(thing__in=things).exclude(fingerprint="")
    newest = pictures.order_by("-pk")[: limit("most_pictures")]
    rows = [(int(print_of_it, 16), thing) for print_of_it, thing in newest.values_list("fingerprint", "thing_id")]
    # A blank sheet has hardly a mark in its fingerprint; all blank sheets would look alike.
    least = limit("fewest_marks")
    rows = [row for row in rows if least <= row[0].bit_count() <= _BITS - least]
    by_print: dict[int, list[int]] = defaultdict(list)
    for print_of_it, thing in rows:
        by_print[print_of_it].append(thing)
    prints = sorted(by_print)
    joined = _Chains()
    for twins in by_print.values():
        for other in twins[1:]:
            joined.join(twins[0], other)
    for one, other in near_pairs(prints, limit("alike_bits")):
        joined.join(by_print[prints[one]][0], by_print[prints[other]][0])
    chains = [members for members in joined.chains() if limit("fewest_things") <= len(members) <= limit("most_things")]
    chains = sorted(chains, key=lambda members: (-len(members), min(members)))[: limit("most_of_a_sort")]
    oldest = Thing.objects.filter(pk__in=[min(members) for members in chains]).in_bulk()
    for members in chains:
        yield f"alike:{oldest[min(members)].public_id}", frozenset(members)


class _Chains:
    """Sets of things that are joined one to the next."""

    def __init__(self) -> None:
        self.parent: dict[int, int] = {}

    def _root(self, one: int) -> int:
        self.parent.setdefault(one, one)
        while self.parent[one] != one:
            self.parent[one] = self.parent[self.parent[one]]
            one = self.parent[one]
        return one

    def join(self, one: int, other: int) -> None:
        self.parent[self._root(one)] = self._root(other)

    def chains(self) -> list[set[int]]:
        found: dict[int, set[int]] = defaultdict(set)
        for one in self.parent:
            found[self._root(one)].add(one)
        return list(found.values())


def near_pairs(prints: Sequence[int], bits: int) -> list[tuple[int, int]]:
    """Return the pairs (by index) of fingerprints that differ in at most some of their 64 bits.

    Fingerprints are cut into one band more than bits may differ, so that every such pair is equal in some band; only
    those equal in a band are compared (the pigeonhole principle).
    """
    if len(prints) < 2:
        return []
    import numpy as np

    values = np.array(prints, dtype=np.uint64)
    cuts = [round(n * _BITS / (bits + 1)) for n in range(bits + 2)]
    pairs: set[tuple[int, int]] = set()
    for low, high in pairwise(cuts):
        band = (values >> np.uint64(low)) & np.uint64((1 << (high - low)) - 1)
        order = np.argsort(band, kind="stable")
        band, sorted_values = band[order], values[order]
        step = 1
        while True:
            same = band[step:] == band[:-step]
            if not same.any():
                break
            near = same & (np.bitwise_count(sorted_values[step:] ^ sorted_values[:-step]) <= bits)
            for at in np.flatnonzero(near):
                one, other = int(order[at]), int(order[at + step])
                pairs.add((min(one, other), max(one, other)))
            step += 1
            if step >= len(values):
                break
    return sorted(pairs)


def told(keys: Iterable[str], reader: Account | None) -> dict[str, Told]:
    """Return in words what keys say, in a constant number of queries; a record that is gone is named as such."""
    wanted: dict[str, list[str]] = defaultdict(list)
    for key in keys:
        sort, _, rest = key.partition(":")
        if sort in SORTS and rest:
            wanted[sort].append(rest)
    lots = _named(Lot, wanted["lot"], reader)
    people = _named(Person, wanted["person"], reader)
    alike = _named(Thing, wanted["alike"], reader)
    found = {}
    for sort, rests in wanted.items():
        for rest in rests:
            found[f"{sort}:{rest}"] = _in_words(sort, rest, lots, people, alike)
    return found


def _named(model: Any, public_ids: list[str], reader: Account | None) -> dict[str, Any]:
    if not public_ids:
        return {}
    return {each.public_id: each for each in model.objects.visible_to(reader).filter(public_id__in=public_ids)}


def _in_words(sort: str, rest: str, lots: dict[str, Any], people: dict[str, Any], alike: dict[str, Any]) -> Told:
    code = SORTS[sort]
    if sort == "lot":
        lot = lots.get(rest)
        return Told(f"They arrived together: {lot or 'a lot that is gone'}.", lot.title if lot else "", code)
    if sort == "person":
        person = people.get(rest)
        name = person.label if person else "somebody who is gone"
        return Told(f"All have to do with {name}.", person.name if person else "", code)
    if sort == "alike":
        thing = alike.get(rest)
        return Told(
            f"Their pictures look alike, beginning with {thing or 'one that is gone'}.",
            thing.title if thing else "",
            code,
        )
    span, _, kind_code = rest.partition(":")
    if sort == "kind":
        name = _kind(rest)
        return Told(f"All are of one kind: {name}.", name, code)
    when = f"the {span}0s" if sort.startswith("decade") else span
    if kind_code:
        name = _kind(kind_code)
        return Told(f"All are of one kind, {name}, and made in {when}.", f"{name}, {when}", code)
    return Told(f"All were made in {when}.", when[0].upper() + when[1:], code)


def _kind(code: str) -> str:
    return kind(code).name if code in KIND_CODES else code


def refused_keys() -> list[RefusedProposal]:
    """Return what is not proposed any more, the latest first."""
    return list(RefusedProposal.objects.order_by("-at", "-pk")[:200])
