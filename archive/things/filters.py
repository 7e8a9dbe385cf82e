"""Filters of things: a form, what is filtered in words, and the filtered queryset, all from one address."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db.models import Exists, OuterRef, Q, QuerySet, TextField
from django.db.models.functions import Cast

from archive.access.models import Account
from archive.boxes import queries as boxes
from archive.boxes.models import Box
from archive.kinds import FAMILIES, STATE_CODES, kind, kinds, state, states
from archive.people import queries as people
from archive.people.fields import PersonInput
from archive.people.models import Person
from archive.pictures.models import PersonMark, Picture
from archive.places import queries as places
from archive.places.fields import PlaceInput
from archive.places.models import Place
from archive.preferences.queries import preferences
from archive.search.queries import Question, Span, ask, in_time, narrowed, read_span
from archive.sorting.models import Group, Lot
from archive.things.models import PiecePerson, Standing, Thing, ThingPerson, ThingPlace

FIELDS = (
    "q", "kind", "person", "place", "box", "lot", "group", "standing", "state", "from", "to", "significance",
    "no_picture", "withdrawn",
)  # fmt: skip
# What only the keeper knows of a thing is no filter for anybody else: its answers would tell it.
_KEEPERS = ("significance", "withdrawn")


@dataclass(frozen=True)
class FilterWord:
    """One thing that is filtered, in words, and the query string that takes it off."""

    name: str
    words: str
    without: str


class FilterForm(forms.Form):
    """The fields of the filter; any of them may stay empty."""

    q = forms.CharField(
        label="Words, a number or a time", required=False, max_length=5000,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )  # fmt: skip
    kind = forms.ChoiceField(required=False)
    person = forms.CharField(label="Person", required=False, max_length=300)
    place = forms.CharField(label="Place", required=False, max_length=300)
    box = forms.CharField(label="Box, with all that is in it", required=False, max_length=300)
    lot = forms.CharField(required=False, widget=forms.HiddenInput)
    group = forms.CharField(required=False, widget=forms.HiddenInput)
    standing = forms.ChoiceField(required=False)
    state = forms.ChoiceField(label="Condition", required=False)
    significance = forms.ChoiceField(label="Matters at least", required=False)
    no_picture = forms.BooleanField(label="Has no picture yet", required=False)
    withdrawn = forms.ChoiceField(label="Withdrawn", required=False)

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": "filter_%s", **kwargs})
        keeper = getattr(reader, "role", None) == "keeper"
        if reader is not None:
            self.fields["person"].widget = PersonInput()
            self.fields["place"].widget = PlaceInput()
        # Their names are Python's own words.
        self.fields["from"] = forms.CharField(label="Made from", required=False, max_length=200)
        self.fields["to"] = forms.CharField(label="Made up to", required=False, max_length=200)
        self._choose("kind", "all kinds", [
            (family.name, [(each.code, each.name) for each in kinds() if each.family == family.code])
            for family in FAMILIES
        ])  # fmt: skip
        self._choose("standing", "any", list(Standing.choices))
        self._choose("state", "any", [(each.code, each.name) for each in states() if each.code != "sound"])
        self._choose("significance", "any", [(str(n), str(n)) for n in range(1, 6)])
        self._choose("withdrawn", "shown too", [("only", "only these"), ("without", "left out")])
        if not keeper:
            for name in _KEEPERS:
                del self.fields[name]
        self.order_fields(
            ["q", "kind", "person", "place", "box", "from", "to", "standing", "state", "significance", "withdrawn"]
        )

    def _choose(self, name: str, none: str, choices: list[Any]) -> None:
        self.fields[name].choices = [("", none), *choices]  # type: ignore[attr-defined]


class ThingFilter:
    """A filter of things as one reader may use it, read from a query string or a form that was sent.

    What cannot be used (an unknown person, a date that means nothing) finds nothing, and says so.
    """

    def __init__(self, data: Mapping[str, Any], reader: Account | None) -> None:
        self.reader = reader
        self.is_keeper = getattr(reader, "role", None) == "keeper"
        self._kept = preferences()
        self.values = {name: str(data.get(name, "") or "").strip()[:5000] for name in FIELDS}
        if not self.is_keeper:
            for name in _KEEPERS:
                self.values[name] = ""
        if not self.values["q"]:
            self.values["q"] = str(data.get("number", "") or "").strip()[:5000]
        self.question: Question = ask(self.values["q"], self._kept)
        self._parts: list[tuple[str, str, Q | Callable[[QuerySet[Any]], QuerySet[Any]]]] = []
        self._shown: dict[str, str] = {}
        self._read()

    # -- what pages ask for --------------------------------------------------------------------------------

    @property
    def is_empty(self) -> bool:
        """Say whether nothing is filtered."""
        return not self._parts

    @property
    def beyond_words(self) -> bool:
        """Say whether something besides words and kind is filtered, so that the page shows those fields."""
        return any(name not in ("q", "kind") for name, _, _ in self._parts)

    @property
    def form(self) -> FilterForm:
        """Return the form, filled with what is filtered; people, places and boxes stand in it by name."""
        form = FilterForm({**self.values, **self._shown}, reader=self.reader)
        form.is_valid()
        return form

    def apply(self, things: QuerySet[Any]) -> QuerySet[Any]:
        """Return those of some things that pass; the order stays as it is."""
        for _name, _words, part in self._parts:
            things = things.filter(part) if isinstance(part, Q) else part(things)
        return things

    def words(self) -> list[FilterWord]:
        """Return what is filtered, in words, each with the query string that takes it off."""
        return [FilterWord(name, words, self.querystring(**{name: None})) for name, words, _ in self._parts]

    def querystring(self, **changes: str | None) -> str:
        """Return the query string of this filter with some fields changed (None takes one off), without a page."""
        values = {**self.values, **{name: value or "" for name, value in changes.items()}}
        return urlencode({name: value for name, value in values.items() if value})

    # -- reading what was asked for --------------------------------------------------------------------------

    def _add(self, name: str, words: str, part: Q | Callable[[QuerySet[Any]], QuerySet[Any]]) -> None:
        self._parts.append((name, words, part))

    def _read(self) -> None:
        values = self.values
        if not self.question.is_empty or values["q"]:
            self._add("q", f"“{self.question.typed or values['q'][:60]}”", self._by_question)
        if values["kind"] and any(each.code == values["kind"] for each in kinds()):
            self._add("kind", f"Kind: {kind(values['kind']).name}", Q(kind_code=values["kind"]))
        self._read_links()
        if values["standing"] in Standing.values:
            self._add("standing", f"Standing: {Standing(values['standing']).label}", Q(standing=values["standing"]))
        if values["state"] in STATE_CODES:
            self._add("state", f"Condition: {state(values['state']).name}", self._by_state)
        for name, label in (("from", "Made from"), ("to", "Made up to")):
            if values[name]:
                self._read_time(name, label)
        if values["significance"] in ("1", "2", "3", "4", "5"):
            least = int(values["significance"])
            self._add("significance", f"Matters at least {least}", Q(significance__gte=least))
        if values["no_picture"] not in ("", "0", "false", "False"):
            none = ~Exists(Picture.objects.filter(thing=OuterRef("pk")))
            self._add("no_picture", "Has no picture yet", Q(none))
        if values["withdrawn"] in ("only", "without"):
            words = "Withdrawn things only" if values["withdrawn"] == "only" else "Without withdrawn things"
            self._add("withdrawn", words, Q(withdrawn_at__isnull=values["withdrawn"] == "without"))

    def _read_links(self) -> None:
        found: list[Any]
        found = self._named("person", Person, people.named, people.suggestions)
        if self.values["person"]:
            self._add("person", self._linked("Person", "person", found), self._by_people(found))
        found = self._named("place", Place, places.named, places.suggestions)
        if self.values["place"]:
            of_place = ThingPlace.objects.filter(place__in=[each.pk for each in found]).values("thing_id")
            self._add("place", self._linked("Place", "place", found), Q(pk__in=of_place))
        found = self._named("box", Box, boxes.named, boxes.suggestions)
        if self.values["box"]:
            self._add("box", self._linked("Box", "box", found), self._in_boxes(found))
        for name, model in (("lot", Lot), ("group", Group)):
            found = self._named(name, model)
            if self.values[name]:
                ids = [each.pk for each in found]
                part = Q(lot__in=ids) if name == "lot" else Q(group_rows__group__in=ids)
                self._add(name, self._linked(name.capitalize(), name, found), part)

    def _named(self, name: str, model: Any, *ways: Callable[[str, Account | None], list[Any]]) -> list[Any]:
        """Return the records that an address, a whole name or a part of it means, of those that the reader may see."""
        typed = self.values[name]
        if not typed:
            return []
        one = model.objects.visible_to(self.reader).filter(public_id=typed).first() if len(typed) <= 12 else None
        if one is not None:
            self._shown[name] = typed if name in ("lot", "group") else str(getattr(one, "label", one))
            return [one]
        return next((found for way in ways if (found := way(typed[:300], self.reader))), [])

    def _linked(self, label: str, name: str, found: list[Any]) -> str:
        if not found:
            return f"{label}: nothing by the name “{self.values[name][:60]}” is open to you"
        return f"{label}: {', '.join(sorted({str(getattr(each, 'label', each)) for each in found}))}"

    def _by_people(self, found: list[Any]) -> Q:
        ids = [each.pk for each in found]
        return (
            Q(pk__in=ThingPerson.objects.filter(person__in=ids).values("thing_id"))
            | Q(pk__in=PiecePerson.objects.filter(person__in=ids).values("piece__thing_id"))
            | Q(
                pk__in=PersonMark.objects.filter(person__in=ids, picture__thing__isnull=False).values(
                    "picture__thing_id"
                )
            )
        )

    def _in_boxes(self, found: list[Any]) -> Q:
        """Return things in these boxes and in all that stands in them, as far as the reader may see those boxes."""
        part = Q(pk__in=[])
        for box in found:
            inside = Box.objects.visible_to(self.reader).filter(pk__in=boxes.below_sql(box)).order_by()
            part |= Q(box__in=inside.values("pk"))
        return part

    def _by_state(self, things: QuerySet[Any]) -> QuerySet[Any]:
        things = things.annotate(_states=Cast("states", TextField()))
        return things.filter(_states__contains=f'"{self.values["state"]}"')

    def _read_time(self, name: str, label: str) -> None:
        span = read_span(self.values[name], self._kept)
        day = (span.earliest if name == "from" else span.latest) if span else None
        if span is None or day is None:
            self._add(name, f"{label}: no date was found in “{self.values[name][:60]}”", Q(pk__in=[]))
            return
        limit = Span(day, None, "") if name == "from" else Span(None, day, "")
        self._add(name, f"{label} {span.words}", lambda things: in_time(things, "things", limit))

    def _by_question(self, things: QuerySet[Any]) -> QuerySet[Any]:
        if self.question.is_empty:
            return things.none()  # signs that are in no word
        return narrowed(things, "things", self.question, self.reader)


def everything(reader: Account | None) -> QuerySet[Any]:
    """Return all things that a reader may see, the latest first."""
    things: QuerySet[Any] = Thing.objects.visible_to(reader).order_by("-created_at", "-pk")
    return things
