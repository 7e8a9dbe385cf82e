"""Pages of the storage tree: the tree, a box, what is in it, empty places; recording and changing boxes."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.http import require_http_methods, require_safe

from archive import extend
from archive.access.history_words import shown
from archive.access.merging import merge, state_at
from archive.access.permissions import reader, role_of
from archive.access.views import keeper_of
from archive.boxes import actions, queries, tree
from archive.boxes.forms import INNER, BoxForm, ManyForm
from archive.boxes.models import Box, Level
from archive.pictures.actions import Refused, attach, take_in
from archive.pictures.models import View
from archive.preferences.queries import preferences
from archive.preferences.units import lengths
from archive.sorting.models import Lot
from archive.things.queries import PER_PAGE, rows

BOXES_PER_PAGE = 100
# A list longer than this is not for one sheet of paper; the page asks to go a step down the tree.
LISTED_AT_MOST = 2_000


@require_safe
def tree_page(request: HttpRequest) -> HttpResponse:
    who = reader(request.user)
    shape = tree.shape(who)
    placed = [key for key in shape.tops if shape.parts[key].level in tree.LARGE]
    loose = [key for key in shape.tops if shape.parts[key].level not in tree.LARGE]
    tops = tree.drawn(placed, who)
    page = Paginator(loose, BOXES_PER_PAGE).get_page(request.GET.get("page", "1"))
    context = {
        "tops": tops,
        "page": page,
        "loose": tree.drawn(list(page.object_list), who),
        "everything": len(shape.parts),
        "shortened": any(node.hidden_children for _, node in tree.walk(tops)),
        "may_write": role_of(request.user) == "keeper",
    }
    return render(request, "boxes/tree.html", context)


@require_safe
def page(request: HttpRequest, public_id: str) -> HttpResponse:
    who = reader(request.user)
    box: Any = queries.find_box(public_id, who)
    inch = preferences().units == "inch"
    node = tree.node_of(box, who)
    things = queries.things_in(box, who)
    paginator = Paginator(things, PER_PAGE)
    paginator.count = node.own_things  # counted with the tree already
    thing_page = paginator.get_page(request.GET.get("page", "1"))
    box_page = Paginator(node.places, BOXES_PER_PAGE).get_page(request.GET.get("boxes", "1"))
    moves = queries.moves_of(box, who) if who is not None else []
    before = moves[0].source if moves else None
    context = {
        "box": box,
        "path": queries.path_of(box, who)[:-1],
        "node": node,
        "things": rows(list(thing_page.object_list), who),
        "thing_page": thing_page,
        "box_page": box_page,
        "places": tree.nodes(list(box_page.object_list), who),
        "pictures": list(box.pictures.all()) if box.pictured else [],
        "inner": lengths([getattr(box, name) for name in INNER], inch=inch),
        "rough": queries.rough_counts_of([box.pk]).get(box.pk, []) if node.described else [],
        "moves": moves,
        "before": before if before is not None and before.pk != box.inside_id else None,
        "lot": _lot_of(box, who),
        "panels": extend.box_panels(box, who),
        "may_write": role_of(request.user) == "keeper",
        "can_hold": box.level != Level.FOLDER,
    }
    return render(request, "boxes/page.html", context)


def _lot_of(box: Box, who: Any) -> tuple[Lot, str] | None:
    """Return the lot a box arrived with and its address, where this reader may see it and it has a page."""
    if box.lot_id is None:
        return None
    lot = Lot.objects.visible_to(who).filter(pk=box.lot_id).first()
    if lot is None:
        return None
    try:
        return lot, reverse("sorting:lot", args=[lot.public_id])
    except NoReverseMatch:
        return lot, ""


@require_safe
def contents(request: HttpRequest, public_id: str) -> HttpResponse:
    """A list to print: what is in a box and in all that stands in it, box by box."""
    who = reader(request.user)
    box = queries.find_box(public_id, who)
    node = tree.node_of(box, who)
    too_many = node.all_things > LISTED_AT_MOST
    if too_many:
        node.children = tree.nodes(node.places, who)
    else:
        (node,) = tree.tree(who, box)
    boxes = [each for _, each in tree.walk([node])]
    listed = [] if too_many else list(queries.things_below(box, who).order_by("box_id", "serial_id"))
    by_box: dict[int, list[Any]] = {}
    for thing in listed:
        by_box.setdefault(thing.box_id, []).append(thing)
    ways = _ways(node)
    rough = {} if too_many else queries.rough_counts_of([each.box.pk for each in boxes])
    sections = [
        (each.box, ways[each.box.pk], by_box.get(each.box.pk, []), rough.get(each.box.pk, []))
        for each in boxes
        if each.box.pk in by_box or each.box.pk in rough
    ]
    context = {
        "box": box,
        "path": queries.path_of(box, who)[:-1],
        "node": node,
        "sections": sections,
        "too_many": too_many,
        "limit": LISTED_AT_MOST,
    }
    return render(request, "boxes/contents.html", context)


def _ways(top: tree.Node) -> dict[int, list[Box]]:
    """Return for every box below a node the boxes between the two, the node's own left out."""
    ways: dict[int, list[Box]] = {top.box.pk: []}
    for _, node in tree.walk([top]):
        for child in node.children:
            ways[child.box.pk] = [*ways[node.box.pk], child.box]
    return ways


@require_safe
def empty(request: HttpRequest) -> HttpResponse:
    """Shelves, boxes and folders with nothing in them, room by room, with their inner sizes."""
    who = keeper_of(request)
    inch = preferences().units == "inch"
    rooms: dict[str, list[Any]] = {}
    room, way = "", [""] * 100
    for depth, node in tree.walk(tree.tree(who)):
        room = room if depth else ""
        if node.box.level == Level.ROOM:
            room = node.box.title
        way[min(depth, 99)] = node.box.title
        small = node.box.level not in tree.LARGE
        if small and node.is_empty and node.box.withdrawn_at is None:
            sizes = lengths([getattr(node.box, name) for name in INNER], inch=inch)
            rooms.setdefault(room, []).append((node.box, way[: min(depth, 99)], sizes))
    return render(request, "boxes/empty.html", {"rooms": rooms, "some": bool(rooms)})


@require_safe
def suggest(request: HttpRequest) -> HttpResponse:
    """Offer boxes while a number or name is being typed; the first value counts, whatever the field's name."""
    typed = str(next(iter(request.GET.values()), ""))
    found = queries.suggestions(typed[:300], reader(request.user))
    return render(request, "boxes/_suggestions.html", {"boxes": found})


# -- recording and changing ------------------------------------------------------------------------------------


def _beginning(request: HttpRequest) -> dict[str, Any]:
    """Return what a new box's form begins with: where it stands, and what stands there as a rule."""
    inside = Box.objects.visible_to(keeper_of(request)).filter(public_id=request.GET.get("inside", "")).first()
    usual = {Level.HOME: Level.ROOM, Level.ROOM: Level.FURNITURE, Level.FURNITURE: Level.SHELF, Level.BOX: Level.FOLDER}
    return {"inside": inside, "level": usual.get(Level(inside.level), Level.BOX)} if inside is not None else {}


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    who = keeper_of(request)
    form = BoxForm(request.POST or None, kept=preferences(), reader=who, is_new=True, initial=_beginning(request))
    if request.method == "POST" and form.is_valid():
        try:
            box = actions.add_box(who, form.cleaned_data)
        except actions.CannotStand as error:
            form.add_error("inside", str(error))
        else:
            messages.success(request, f"Saved as {box.number}.")
            return redirect(box)
    return render(request, "boxes/add.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def add_many(request: HttpRequest) -> HttpResponse:
    """Several shelves or boxes of a sort at once."""
    who = keeper_of(request)
    beginning = _beginning(request)
    form = ManyForm(request.POST or None, kept=preferences(), reader=who, initial={"inside": beginning.get("inside")})
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("level", "inside", "made_of", "access", *INNER)}
        try:
            made = actions.add_boxes(who, values, form.titles())
        except actions.CannotStand as error:
            form.add_error("inside", str(error))
        else:
            messages.success(request, f"{len(made)} recorded, from {made[0]} to {made[-1]}.")
            return redirect(form.cleaned_data["inside"] or "boxes:tree")
    return render(request, "boxes/add_many.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, public_id: str) -> HttpResponse:
    who = keeper_of(request)
    box = queries.find_box(public_id, who)
    kept = preferences()
    names = list(BoxForm(kept=kept, reader=who).fields)
    theirs = {name: getattr(box, name) for name in names}
    form = BoxForm(request.POST or None, kept=kept, reader=who, initial=theirs)
    if request.method == "POST" and form.is_valid():
        opened = request.POST.get("opened_version", "")
        base = _as_opened(box, opened, names)
        labels = {name: str(field.label or name) for name, field in form.fields.items()}
        mine = {name: form.cleaned_data[name] for name in names}
        merged = merge(base if base is not None else theirs, theirs, mine, labels)
        if merged.conflicts:
            context = {"box": box, "form": form, "conflicts": shown(merged.conflicts, form), "opened": box.version}
            return render(request, "boxes/merge.html", context, status=409)
        try:
            actions.edit_box(who, box, merged.values)
        except actions.CannotStand as error:
            form.add_error("inside", str(error))
            box.refresh_from_db()
        else:
            if merged.theirs_kept:
                words = ", ".join(merged.theirs_kept)
                messages.info(request, f"Somebody else changed this meanwhile: {words}. Both are kept.")
            messages.success(request, "Saved.")
            return redirect(box)
    opened_version = request.POST.get("opened_version") or box.version
    context = {"box": box, "form": form, "opened": opened_version}
    return render(request, "boxes/edit.html", context, status=422 if form.errors else 200)


def _as_opened(box: Box, opened: str, names: list[str]) -> dict[str, Any] | None:
    """Return the box's fields as they stood when the form was opened."""
    columns = ["inside_id" if name == "inside" else name for name in names]
    found = state_at(box, opened, columns)
    if found is not None:
        found["inside"] = Box.objects.filter(pk=found.pop("inside_id")).first()
    return found


@require_http_methods(["GET", "HEAD", "POST"])
def pictures(request: HttpRequest, public_id: str) -> HttpResponse:
    """Add pictures of a box: closed, its lid, its layers."""
    who = keeper_of(request)
    box = queries.find_box(public_id, who)
    refused: list[Refused] = []
    views = [each for each in View if each in (View.OUTSIDE, View.LID, View.LAYER, View.AS_FOUND, View.DETAIL)]
    if request.method == "POST":
        taken, refused = take_in(request.FILES.getlist("pictures"))
        view = request.POST.get("view", "")
        if taken:
            attach(who, box, taken, view=view if view in views else View.OUTSIDE)
            messages.success(request, f"{len(taken)} {'picture' if len(taken) == 1 else 'pictures'} added.")
        elif not refused:
            messages.warning(request, "No file was chosen.")
        if not refused:
            return redirect(box)
    context = {"box": box, "refused": refused, "views": [(each.value, each.label) for each in views]}
    return render(request, "boxes/pictures.html", context, status=422 if refused else 200)
