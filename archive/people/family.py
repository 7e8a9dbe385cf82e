"""Who belongs to whom: the family of one person in a few questions, loops, and dates that cannot be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Q

from archive.access.models import Account
from archive.dates import read_date
from archive.people.models import Parentage, Partnership, Person


@dataclass(frozen=True)
class Parent:
    """A parent or child of somebody, with the row that says so."""

    person: Person
    row: Parentage

    @property
    def words(self) -> str:
        """Return how, where it is not by birth."""
        return "" if self.row.sort == Parentage.Sort.BIRTH else self.row.get_sort_display()


@dataclass(frozen=True)
class Partner:
    """A partner, with the row that says so."""

    person: Person
    row: Partnership

    @property
    def words(self) -> str:
        """Return how and when, such as ``married since 1874``."""
        said = [self.row.get_sort_display()]
        said += [f"since {self.row.since_text}"] if self.row.since_text else []
        said += [f"until {self.row.until_text}"] if self.row.until_text else []
        return " ".join(said)


@dataclass
class Family:
    """The people around one person whom this reader may see; whoever they may not see is not there at all."""

    person: Person
    parents: list[Parent] = field(default_factory=list)
    grandparents: dict[int, list[Parent]] = field(default_factory=dict)  # by the parent's pk
    partners: list[Partner] = field(default_factory=list)
    children: list[Parent] = field(default_factory=list)
    siblings: list[Person] = field(default_factory=list)
    other_parents: dict[int, list[Person]] = field(default_factory=dict)  # by the child's pk

    @property
    def anybody(self) -> bool:
        return bool(self.parents or self.partners or self.children or self.siblings)

    @property
    def all_grandparents(self) -> list[tuple[Parent, Parent]]:
        """Return each grandparent with the parent whose parent they are."""
        return [(grand, parent) for parent in self.parents for grand in self.grandparents.get(parent.person.pk, [])]

    @property
    def children_with_parents(self) -> list[tuple[Parent, list[Person]]]:
        return [(child, self.other_parents.get(child.person.pk, [])) for child in self.children]


def family_of(person: Person, reader: Account | None) -> Family:
    """Return the parents, grandparents, partners, children and siblings of a person, in four queries.

    Nobody is reached through somebody whom the reader may not see: a gap in the line would tell of them.
    """
    own = list(Parentage.objects.filter(Q(child=person) | Q(parent=person)).order_by("pk"))
    parent_ids = [row.parent_id for row in own if row.child_id == person.pk]
    child_ids = [row.child_id for row in own if row.parent_id == person.pk]
    around = list(
        Parentage.objects.filter(Q(child__in=parent_ids) | Q(parent__in=parent_ids) | Q(child__in=child_ids)).order_by(
            "pk"
        )
    )
    together = list(Partnership.objects.filter(Q(one=person) | Q(other=person)).order_by("since_earliest", "pk"))
    ids = {i for row in (*own, *around) for i in (row.child_id, row.parent_id)}
    ids |= {i for row in together for i in (row.one_id, row.other_id)}
    seen = Person.objects.visible_to(reader).present().filter(pk__in=ids - {person.pk}).in_bulk()
    return _put_together(person, own, around, together, seen)


def _put_together(
    person: Person,
    own: list[Parentage],
    around: list[Parentage],
    together: list[Partnership],
    seen: dict[int, Person],
) -> Family:
    family = Family(person)
    for row in own:
        if row.child_id == person.pk and row.parent_id in seen:
            family.parents.append(Parent(seen[row.parent_id], row))
        if row.parent_id == person.pk and row.child_id in seen:
            family.children.append(Parent(seen[row.child_id], row))
    for tie in together:
        other = tie.other_id if tie.one_id == person.pk else tie.one_id
        if other in seen:
            family.partners.append(Partner(seen[other], tie))
    parents, children = ({each.person.pk for each in side} for side in (family.parents, family.children))
    siblings: dict[int, Person] = {}
    for row in around:
        if row.child_id in parents and row.parent_id in seen:
            family.grandparents.setdefault(row.child_id, []).append(Parent(seen[row.parent_id], row))
        if row.parent_id in parents and row.child_id in seen:
            siblings[row.child_id] = seen[row.child_id]
        if row.child_id in children and row.parent_id in seen:
            family.other_parents.setdefault(row.child_id, []).append(seen[row.parent_id])
    family.siblings = sorted(siblings.values(), key=_by_birth)
    family.children.sort(key=lambda child: _by_birth(child.person))
    return family


def _by_birth(person: Person) -> tuple[str, str, int]:
    return person.born_earliest or "9999", person.sort_folded, person.pk


# -- loops ------------------------------------------------------------------------------------------------------------


def line_up(start: int, goal: int) -> list[int] | None:
    """Return the line from one person up to an ancestor, each one's parent following, or None when it is none."""
    came_from: dict[int, int] = {}
    level, known = {start}, {start}
    while level:
        above: set[int] = set()
        for child, parent in Parentage.objects.filter(child__in=level).values_list("child_id", "parent_id"):
            if parent not in known:
                came_from[parent] = child
                above.add(parent)
                known.add(parent)
        if goal in above:
            line = [goal]
            while line[-1] != start:
                line.append(came_from[line[-1]])
            return line[::-1]
        level = above
    return None


def loop_through(child: Person, parent: Person) -> list[str]:
    """Return the names of the loop that a new parent would close, or nothing when there is none."""
    if child.pk == parent.pk:
        return [child.name, child.name]
    line = line_up(parent.pk, child.pk)
    if line is None:
        return []
    names = dict(Person.objects.filter(pk__in=line).values_list("pk", "name"))
    return [child.name, *(names[each] for each in line)]


# -- dates that cannot be ----------------------------------------------------------------------------------------------


def impossible(family: Family) -> list[str]:
    """Return a sentence for everything around a person that their dates rule out. Nothing is refused for it."""
    person = family.person
    found = []
    if _before(person.died_latest, person.born_earliest):
        found.append(f"{person.name} is recorded as having died before being born.")
    for parent in family.parents:
        found += _parent_and_child(parent.person, person, parent.row)
    for child in family.children:
        found += _parent_and_child(person, child.person, child.row)
    for partner in family.partners:
        found += _partners(person, partner)
    return found


def _parent_and_child(parent: Person, child: Person, row: Parentage) -> Iterable[str]:
    if _before(child.born_latest, parent.born_earliest):
        yield f"{parent.name} is recorded as a parent of {child.name}, but was born later than {child.name}."
    by_birth = row.sort == Parentage.Sort.BIRTH
    if by_birth and parent.died_latest and _before(_a_year_on(parent.died_latest), child.born_earliest):
        yield f"{parent.name} is recorded as a parent of {child.name}, but died more than a year before the birth."


def _partners(person: Person, partner: Partner) -> Iterable[str]:
    row = partner.row
    both = f"{person.name} and {partner.person.name}"
    for each in (person, partner.person):
        if _before(row.since_latest, each.born_earliest):
            yield f"{both} are recorded as together since {row.since_text}, before {each.name} was born."
        if _before(each.died_latest, row.since_earliest):
            yield f"{both} are recorded as together since {row.since_text}, after {each.name} had died."
    until = read_date(row.until_text).latest if row.until_text else None
    if until and _before(until, row.since_earliest):
        yield f"{both} are recorded as together until {row.until_text}, which is before {row.since_text}."


def _before(day: str, other: str) -> bool:
    """Say whether one ISO day is surely before another; open ends and years before 1 say nothing."""
    return bool(day and other) and "-" not in (day[0], other[0]) and day < other


def _a_year_on(day: str) -> str:
    return f"{int(day[:4]) + 1:04d}{day[4:]}" if day[0] != "-" else ""
