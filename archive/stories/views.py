"""Pages of stories: looking, telling, and the keeper's record of them."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateformat import format as date_format
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from archive.access.merging import Conflict, merge, state_at
from archive.access.models import Account
from archive.access.permissions import reader
from archive.access.records import ReadAccess
from archive.access.views import keeper_of
from archive.people.models import Person
from archive.pictures.actions import Refused, TakenIn, held, take_in
from archive.preferences.queries import preferences, understood
from archive.stories import actions, queries
from archive.stories.fields import label_of
from archive.stories.forms import LINKS, CaptionForm, StoryForm, TellForm
from archive.stories.models import Story
from archive.stories.paragraphs import paragraphs


@require_safe
def story_list(request: HttpRequest) -> HttpResponse:
    who, kept = reader(request.user), preferences()
    typed = {name: request.GET.get(name, "").strip()[:300] for name in ("teller", "when")}
    when = understood(typed["when"], kept)
    if typed["when"] and not (when and when.edtf):
        messages.warning(request, f"No date can be read in “{typed['when']}”. A year, a decade or “about 1930” can.")
    about = next(iter(_subjects(request, who)), None)
    filters = queries.Filters(typed["teller"], (when and when.earliest) or "", (when and when.latest) or "", about)
    page, rows = queries.list_page(who, request.GET.get("page", "1"), filters)
    query = request.GET.copy()
    query.pop("page", None)
    context = {
        "page": page,
        "rows": rows,
        "typed": typed,
        "about": about,
        "narrowed": any(typed.values()) or about is not None,
        "rest": query.urlencode(),
        "unread": queries.unread(who).count() if who is not None and who.is_keeper else 0,
    }
    return render(request, "stories/list.html", context)


def _subjects(request: HttpRequest, who: Account | None) -> list[tuple[str, Any]]:
    """Return the things, people and places that an address names; one that this reader may not see is a 404."""
    named = [(what, each) for what in LINKS for each in dict.fromkeys(request.GET.getlist(what)) if each]
    return [(what, queries.find_subject(what, each, who)) for what, each in named[:12]]


@require_safe
def page(request: HttpRequest, public_id: str) -> HttpResponse:
    who, kept = reader(request.user), preferences()
    story = queries.find_story(public_id, who)
    context = {
        "story": story,
        "paragraphs": paragraphs(story.body),
        "teller": queries.visible_tellers([story], who).get(story.teller_id or 0),
        "told": understood(story.told_text, kept),
        "when": understood(story.about_text, kept),
        "linked": queries.linked(story, who),
        "pictures": list(story.pictures.all()),
        "may_change": queries.may_change(story, who),
        "is_keeper": who is not None and who.is_keeper,
    }
    return render(request, "stories/page.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def tell(request: HttpRequest) -> HttpResponse:
    """Tell a story about a thing, a person or a place, on a phone, with pictures."""
    who, kept = keeper_of(request), preferences()
    subjects = _subjects(request, who)
    initial = {"teller": who.display_name, "access": _access_beside(subjects)}
    form = TellForm(request.POST or None, reader=who, initial=initial)
    taken, refused = _pictures_sent(request)
    if request.method == "POST" and form.is_valid() and _may_go_on(request, refused):
        values = {**form.values(), "told_text": date_format(timezone.localdate(), "j F Y")}
        links = {what: [record for each, record in subjects if each == what] for what in LINKS}
        return _saved(request, who, actions.add_story(who, values, links, taken, kept), subjects)
    shown = [(what, record, queries.picture_of(what, record, who)) for what, record in subjects]
    return _form_page(
        request, "stories/tell.html", form, taken=taken, refused=refused, subjects=shown, rest=request.GET.urlencode()
    )


def _access_beside(subjects: list[tuple[str, Any]]) -> str:
    """Return who may see a story at first: nobody but the keeper where it is about something of the keeper's alone."""
    today = timezone.localdate()
    closed = any(
        record.access == ReadAccess.KEEPER
        or record.withdrawn_at
        or (getattr(record, "closed_until", None) or today) > today
        for _, record in subjects
    )
    return ReadAccess.KEEPER if closed else ReadAccess.RELATIVES


def _pictures_sent(request: HttpRequest) -> tuple[list[TakenIn], list[Refused]]:
    """Take in what was uploaded, after what is held already from an earlier sending of the same form."""
    if request.method != "POST":
        return [], []
    fresh, refused = take_in(request.FILES.getlist("pictures"))
    return [*held(request.POST.getlist("held")), *fresh], refused


def _may_go_on(request: HttpRequest, refused: list[Refused]) -> bool:
    return not refused or bool(request.POST.get("without_refused"))


def _saved(
    request: HttpRequest, who: Account, story: Story, subjects: list[tuple[str, Any]] | None = None
) -> HttpResponse:
    """Say that a story is saved, on its page, or where its writer can still be when it is the keeper's alone."""
    if who.is_keeper or story.access != ReadAccess.KEEPER:
        messages.success(request, "Saved." if who.is_keeper else "Saved. Thank you for telling.")
        return redirect(story)
    messages.success(request, "Saved. From now on only the keeper can see it.")
    return redirect(subjects[0][1] if subjects else "stories:list")


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    who, kept = keeper_of(request), preferences()
    subjects = _subjects(request, who)
    linked = {what: [record for each, record in subjects if each == what] for what in LINKS}
    taken, refused = _pictures_sent(request)
    if request.method == "POST" and request.POST.get("more"):
        return _form_page(request, "stories/add.html", _with_more_lines(request, who), taken=taken, refused=refused)
    initial = {"access": _access_beside(subjects)}
    form = StoryForm(request.POST or None, reader=who, linked=linked, initial=initial)
    if request.method == "POST" and form.is_valid() and _may_go_on(request, refused):
        return _saved(request, who, actions.add_story(who, form.values(), form.links(), taken, kept))
    return _form_page(request, "stories/add.html", form, taken=taken, refused=refused)


def _with_more_lines(request: HttpRequest, who: Account) -> StoryForm:
    """Return the form as it was sent, unchecked, with some lines more for things, people and places."""
    sent = StoryForm(request.POST, reader=who)
    return StoryForm(
        reader=who, initial={name: sent[name].value() for name in sent.fields}, linked=sent.typed_lines(), spare=4
    )


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    """Change a story: the keeper all of it, a relative the words of one they wrote themselves."""
    who, kept = keeper_of(request), preferences()
    story = queries.find_own(public_id, who)
    opened = request.POST.get("opened_version", "")
    linked = _linked(story, who)
    context: dict[str, Any] = {
        "story": story,
        "opened": opened or story.version,
        "opened_with": request.POST.getlist("opened_with")
        or [each.public_id for some in linked.values() for each in some],
    }
    if request.method == "POST" and request.POST.get("more") and who.is_keeper:
        return _form_page(request, "stories/edit.html", _with_more_lines(request, who), **context)
    form = _edit_form(request, who, story, linked)
    if request.method != "POST" or not form.is_valid():
        return _form_page(request, "stories/edit.html", form, **context)
    values = form.values()
    theirs = {name: getattr(story, name) for name in values}
    base = state_at(story, opened, values) or theirs
    if "teller" not in form.changed_data:
        # It may be somebody whom this writer does not see, or whose name several people have.
        values |= {name: base[name] for name in ("teller_id", "teller_text")}
    merged = merge(base, theirs, values, _labels(form))
    if merged.conflicts:
        context |= {"opened": story.version, "conflicts": [_in_words(each, who) for each in merged.conflicts]}
        return _form_page(request, "stories/edit.html", form, **context)
    added, removed = form.changes(request.POST.getlist("opened_with")) if isinstance(form, StoryForm) else ({}, {})
    actions.edit_story(who, story, merged.values, kept, added, removed)
    if merged.theirs_kept:
        changed = ", ".join(dict.fromkeys(merged.theirs_kept))
        messages.info(request, f"Somebody else changed this meanwhile: {changed}. Both are kept.")
    return _saved(request, who, story)


def _linked(story: Story, who: Account) -> dict[str, list[Any]]:
    found = queries.linked(story, who)
    return {"thing": found.things, "person": found.people, "place": found.places}


def _edit_form(request: HttpRequest, who: Account, story: Story, linked: dict[str, list[Any]]) -> TellForm:
    names = ("body", "title", "about_text", "told_text", "access")
    teller = queries.visible_tellers([story], who).get(story.teller_id or 0)
    initial = {name: getattr(story, name) for name in names} | {
        "teller": label_of(teller) if teller else story.teller_text
    }
    if who.is_keeper:
        return StoryForm(request.POST or None, reader=who, initial=initial, linked=linked)
    return TellForm(request.POST or None, reader=who, initial=initial)


def _labels(form: TellForm) -> dict[str, str]:
    labels = {name: str(field.label) for name, field in form.fields.items()}
    return {**labels, "teller_id": labels["teller"], "teller_text": labels["teller"]}


def _in_words(conflict: Conflict, who: Account) -> Conflict:
    """Return a conflict with names in place of keys."""
    if conflict.name == "access":
        words: dict[Any, Any] = dict(ReadAccess.choices)
    elif conflict.name == "teller_id":
        keys = [key for key in (conflict.base, conflict.theirs, conflict.mine) if key]
        words = {each.pk: each.label for each in Person.objects.visible_to(who).filter(pk__in=keys)}
        words |= {key: "somebody" for key in keys if key not in words}
    else:
        return conflict
    sides = (words.get(each, each) for each in (conflict.base, conflict.theirs, conflict.mine))
    return Conflict(conflict.name, conflict.label, *sides)


def _form_page(request: HttpRequest, template: str, form: TellForm, **context: Any) -> HttpResponse:
    wrong = 422 if form.errors or context.get("refused") else 200
    return render(request, template, {"form": form, **context}, status=409 if context.get("conflicts") else wrong)


@require_http_methods(["GET", "HEAD", "POST"])
def unread(request: HttpRequest) -> HttpResponse:
    """What was told since the keeper last looked; marking as read is the keeper's own doing, never the page's."""
    who = keeper_of(request)
    if request.method == "POST":
        read_now = [each for each in queries.unread(who) if each.public_id in request.POST.getlist("story")]
        actions.mark_read(who, read_now)
        messages.success(request, f"{len(read_now)} marked as read.")
        return redirect("stories:unread")
    page_, rows = queries.unread_page(who, request.GET.get("page", "1"))
    return render(request, "stories/unread.html", {"page": page_, "rows": rows, "rest": ""})


@require_POST
def read(request: HttpRequest, public_id: str) -> HttpResponse:
    """Mark one story as read, or as not read yet."""
    who = keeper_of(request)
    story = queries.find_story(public_id, who)
    is_read = request.POST.get("read", "1") == "1"
    actions.mark_read(who, [story], is_read)
    messages.success(request, "Marked as read." if is_read else "Put back among those to read.")
    return redirect("stories:unread" if request.POST.get("next") == "unread" else story)


@require_safe
def date_echo(request: HttpRequest) -> HttpResponse:
    """Say back how a typed date is understood, while it is being typed."""
    typed = request.GET.get("about_text", "") or request.GET.get("told_text", "")
    return render(request, "stories/_date_echo.html", {"when": understood(typed, preferences())})


@require_safe
def suggest_things(request: HttpRequest) -> HttpResponse:
    """Offer things while a number or title is being typed."""
    typed = str(next(iter(request.GET.values()), ""))
    found = queries.find_things(typed[:300], reader(request.user))
    return render(request, "stories/_thing_suggestions.html", {"things": found})


@require_http_methods(["GET", "HEAD", "POST"])
def pictures(request: HttpRequest, public_id: str) -> HttpResponse:
    """Add pictures to a story: the keeper to any, a relative to those they wrote themselves."""
    who = keeper_of(request)
    story = queries.find_own(public_id, who)
    taken, refused = _pictures_sent(request)
    if taken:
        actions.add_pictures(who, story, taken)
        messages.success(request, f"Saved. {len(taken)} {'picture' if len(taken) == 1 else 'pictures'} added.")
    elif request.method == "POST" and not refused:
        messages.warning(request, "No file was chosen.")
    if taken and not refused:
        return redirect(story)
    context = {"story": story, "pictures": list(story.pictures.all()), "refused": refused}
    return render(request, "stories/pictures.html", context, status=422 if refused else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def picture(request: HttpRequest, public_id: str, picture_id: str) -> HttpResponse:
    """Say what is in a picture of a story, or take it off."""
    who = keeper_of(request)
    story = queries.find_own(public_id, who)
    found = queries.find_picture(story, picture_id)
    if request.method == "POST" and request.POST.get("take_off"):
        actions.take_off_picture(who, story, found)
        messages.success(request, "Taken off. The file is kept; the keeper can put it back from the history.")
        return redirect(story)
    form = CaptionForm(request.POST or None, initial={"caption": found.caption})
    if request.method == "POST" and form.is_valid():
        actions.caption_picture(who, story, found, form.cleaned_data["caption"])
        messages.success(request, "Saved.")
        return redirect(story)
    context = {"story": story, "picture": found, "form": form}
    return render(request, "stories/picture.html", context, status=422 if form.errors else 200)
