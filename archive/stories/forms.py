"""Forms of stories: telling one on a phone, and all of what is recorded of one."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from django import forms

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.people.models import Person
from archive.stories.fields import PersonLine, PlaceLine, StoryText, TellerField, ThingLine, label_of, plain

LINKS = ("thing", "person", "place")
_LINES: dict[str, Any] = {"thing": ThingLine, "person": PersonLine, "place": PlaceLine}
_SPARE_LINES = 2
_MOST_LINES = 200


class TellForm(forms.Form):
    """What a relative fills in on a phone; only the story itself is asked for."""

    body = StoryText(
        label="The story",
        max_length=200_000,
        widget=forms.Textarea(attrs={"rows": 10}),
        help_text="As you would tell it. A few words are enough.",
    )
    title = forms.CharField(
        label="A title",
        required=False,
        max_length=300,
        help_text="Left empty, it is made from the first words.",
    )
    teller = TellerField(label="Who tells it", help_text="You, or somebody whose words you write down.")
    about_text = forms.CharField(
        label="When it was",
        required=False,
        max_length=200,
        help_text="The time it tells of, as you would say it: about 1930, summer 1954, before the war.",
    )
    access = forms.ChoiceField(
        label="Who may see it",
        choices=[
            (ReadAccess.RELATIVES, "relatives who are signed in"),
            (ReadAccess.ALL, "everybody on the home network"),
            (ReadAccess.KEEPER, "only the keeper"),
        ],
        initial=ReadAccess.RELATIVES,
        required=False,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.reader = reader
        for each in self.fields.values():
            if hasattr(each, "reader"):
                each.reader = reader
        if not reader.is_keeper:
            self.fields["access"].help_text = "What only the keeper may see, you will not see here yourself afterwards."

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES

    def clean_teller(self) -> Any:
        """Leave a signed-in person's own name as text: an ancestor may have had the same."""
        teller = self.cleaned_data["teller"]
        typed = plain(self.data.get(self.add_prefix("teller")))
        return typed if isinstance(teller, Person) and typed == self.reader.display_name else teller

    def values(self) -> dict[str, Any]:
        """Return the story's own columns as they are to be saved; wants a valid form."""
        teller = self.cleaned_data["teller"]
        person = teller if isinstance(teller, Person) else None
        own = {name: self.cleaned_data[name] for name in ("title", "body", "about_text", "access")}
        return {**own, "teller_id": person.pk if person else None, "teller_text": "" if person else teller}


class StoryForm(TellForm):
    """All that the keeper records of a story, with lines for the things, people and places that it tells of."""

    told_text = forms.CharField(
        label="When it was told",
        required=False,
        max_length=200,
        help_text="The day somebody told it or wrote it down.",
    )

    def __init__(
        self,
        *args: Any,
        linked: Mapping[str, Sequence[Any]] | None = None,
        spare: int = _SPARE_LINES,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.linked = {what: list((linked or {}).get(what, ())) for what in LINKS}
        self.order_fields(["body", "title", "teller", "told_text", "about_text"])
        for what in LINKS:
            there = self.linked[what]
            known = {label_of(each): each for each in there if not isinstance(each, str)}
            for number in range(self._sent(what) if self.is_bound else len(there) + spare):
                line: Any = _LINES[what](label=f"{what.capitalize()} {number + 1}", max_length=900)
                line.reader, line.known = self.reader, known
                line.initial = there[number] if number < len(there) else None
                self.fields[f"{what}_{number}"] = line
        self.order_fields([*(name for name in self.fields if name != "access"), "access"])

    def _sent(self, what: str) -> int:
        """Return how many lines of a sort were sent."""
        sent = 0
        while self.add_prefix(f"{what}_{sent}") in self.data and sent < _MOST_LINES:
            sent += 1
        return max(sent, 1)

    def lines(self, what: str) -> list[Any]:
        """Return the bound fields of one sort of link, for the page."""
        return [self[name] for name in self.fields if name.startswith(f"{what}_")]

    @property
    def link_groups(self) -> list[tuple[str, str, list[Any]]]:
        """Return the three groups of lines with their headings and how to fill them in."""
        return [
            ("Things", "The number on the tag, or the title.", self.lines("thing")),
            ("People", "A name. Whoever is not in the archive yet is added.", self.lines("person")),
            ("Places", "A name. A place that is not in the archive yet is added.", self.lines("place")),
        ]

    def typed_lines(self) -> dict[str, list[str]]:
        """Return the lines that are filled in, as they were typed."""
        return {what: [text for line in self.lines(what) if (text := plain(line.value()))] for what in LINKS}

    def links(self) -> dict[str, list[Any]]:
        """Return what was filled in, each once, in its order; wants a valid form."""
        found: dict[str, list[Any]] = {}
        for what in LINKS:
            typed = [self.cleaned_data.get(name) for name in self.fields if name.startswith(f"{what}_")]
            found[what] = list(dict.fromkeys(each for each in typed if each is not None))
        return found

    def changes(self, opened_with: Collection[str]) -> tuple[dict[str, list[Any]], dict[str, list[Any]]]:
        """Return which links to add and which to take off; wants a valid form.

        ``opened_with`` holds the public ids of what the story told of when the form was opened, so that what
        somebody else tied to it or took off meanwhile stays so.
        """
        added, removed, typed = self.links(), {}, self.typed_lines()
        for what in LINKS:
            there = {each.public_id for each in self.linked[what]} | set(opened_with)
            added[what] = [each for each in added[what] if getattr(each, "public_id", "") not in there]
            removed[what] = [
                each
                for each in self.linked[what]
                if each.public_id in opened_with and label_of(each) not in typed[what]
            ]
        return added, removed

    def values(self) -> dict[str, Any]:
        return {**super().values(), "told_text": self.cleaned_data["told_text"]}


class CaptionForm(forms.Form):
    caption = forms.CharField(
        label="What or who is in it", max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def clean_caption(self) -> str:
        return plain(self.cleaned_data["caption"])
