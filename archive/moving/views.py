"""Rows from a spreadsheet: paste, look, mend, save."""

from __future__ import annotations

import copy
import re
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from archive.access.models import Account
from archive.access.views import keeper_of
from archive.entry.queries import Finder
from archive.entry.views import offered
from archive.moving import actions, queries
from archive.moving.cells import Reader
from archive.moving.columns import columns_of, fields, has_headings, told_twice
from archive.moving.forms import RowsForm
from archive.moving.reading import COLUMNS_AT_MOST, ROWS_AT_MOST, Preview, mended, mends, preview
from archive.moving.table import SEPARATORS, read_table, separator_of, write_table
from archive.preferences.models import Preferences
from archive.preferences.queries import preferences

# Our defaults for a page that stays readable: good rows shown as a sample, and bad cells with a field to mend them.
SAMPLE, MENDS_SHOWN, NAMES_SHOWN, LINES_NAMED = 12, 60, 40, 30
_ONE = {"people": "person", "places": "place", "groups": "group"}
_MEND = re.compile(r"^mend-\d{1,6}-\d{1,3}$")


@require_http_methods(["GET", "HEAD", "POST"])
def paste(request: HttpRequest) -> HttpResponse:
    """The rows travel in the form from look to look; nothing is saved before the keeper says so."""
    who = keeper_of(request)
    form = RowsForm(request.POST or None, request.FILES or None)
    if request.method != "POST" or not form.is_valid():
        return _ask(request, form)
    text = form.cleaned_data["text"]
    again = "mapped" in request.POST
    separator = "\t" if again else separator_of(text)
    rows = read_table(text, separator)
    if again:
        rows = mended(rows, {name: str(value) for name, value in request.POST.items() if _MEND.match(name)})
    filled = sum(any(cell.strip() for cell in row) for row in rows)
    if filled > ROWS_AT_MOST:
        form.add_error("text", f"These are {filled:,} rows; up to {ROWS_AT_MOST:,} go in at once. Take them in parts.")
    elif max(len(row) for row in rows) > COLUMNS_AT_MOST:
        form.add_error("text", f"A row has more than {COLUMNS_AT_MOST} cells. Is it a table?")
    if form.errors:
        return _ask(request, form)
    headed = bool(request.POST.get("headed")) if again else has_headings(rows)
    width = max(len(row) for row in rows)
    chosen = [request.POST.get(f"col-{n}", "") for n in range(width)] if again else None
    columns = columns_of(rows, headed, chosen)
    kept = _with_order(preferences(), request.POST.get("day_order", ""))
    reader = Reader(Finder(who), kept.units == Preferences.Units.INCH, kept.day_first(), kept.southern)
    found = preview(rows, headed, columns, reader)
    wrong = _what_is_wrong(found)
    leaving_out = bool(request.POST.get("leave_out"))
    saving = request.POST.get("do") == "save" and not wrong and found.good
    if saving and (leaving_out or not found.troubles):
        change_set = actions.record_rows(who, found.good, kept)
        _tell_left_out(request, found)
        return redirect("entry:done", change_set.public_id)
    context = _look(who, found, rows, headed) | {
        "wrong": wrong,
        "separator": "" if again else SEPARATORS[separator],
        "encoding": form.cleaned_data.get("encoding", ""),
        "leaving_out": leaving_out,
        "day_order": request.POST.get("day_order", ""),
        "refused": request.POST.get("do") == "save",
    }
    return render(request, "moving/look.html", context, status=422 if wrong or context["refused"] else 200)


def _ask(request: HttpRequest, form: RowsForm) -> HttpResponse:
    context = {"form": form, "fields": list(fields().values()), "rows_at_most": ROWS_AT_MOST}
    return render(request, "moving/paste.html", context, status=422 if form.errors else 200)


def _with_order(kept: Preferences, answer: str) -> Preferences:
    """Return the settings with the order of day and month that was answered for these rows; they are not saved."""
    if answer in (Preferences.DayOrder.DAY, Preferences.DayOrder.MONTH):
        kept = copy.copy(kept)
        kept.day_order = answer
    return kept


def _what_is_wrong(found: Preview) -> list[str]:
    """Return what is wrong with the table as a whole."""
    wrong = [
        f"Two columns are both “{label}”. Choose another meaning for one of them."
        for label in told_twice(found.columns)
    ]
    if not any(column.field is not None and column.field.code == "title" for column in found.columns):
        wrong.append("No column holds the title. Choose the one in which a few words say what the thing is.")
    if not found.rows:
        wrong.append("There is no row besides the headings.")
    return wrong


def _tell_left_out(request: HttpRequest, found: Preview) -> None:
    lines = [row.line for row in found.rows if row.troubles]
    if lines:
        named = ", ".join(str(line) for line in lines[:LINES_NAMED]) + (" …" if len(lines) > LINES_NAMED else "")
        messages.warning(request, f"Left out, since a cell was bad: {len(lines)} of your rows ({named}).")


def _look(who: Account, found: Preview, rows: list[list[str]], headed: bool) -> dict[str, Any]:
    good, all_mends = found.good, mends(found)
    titles = queries.titles_there((row.values["title"] for row in good if "title" in row.values), who)
    bad = [row for row in found.rows if row.troubles]
    sample = [*good[:SAMPLE], *bad[:MENDS_SHOWN]]
    headings = [column.name for column in found.columns]
    new = {"people": found.new_people(), "places": found.new_places(), "groups": found.new_groups()}
    return {
        "found": found,
        "text": write_table(rows),
        "headed": headed,
        "fields": list(fields().values()),
        "good": len(good),
        "bad": len(bad),
        "troubles": len(found.troubles),
        "sample": [(row.line, row.shown(headings)) for row in sorted(sample, key=lambda row: row.line)],
        "mends": all_mends[:MENDS_SHOWN],
        "more_mends": len(all_mends) - MENDS_SHOWN,
        "new": [
            (_ONE[what] if len(names) == 1 else what, names[:NAMES_SHOWN], len(names) - NAMES_SHOWN, len(names))
            for what, names in new.items()
            if names
        ],
        "there": len(titles),
        "there_titles": sorted(titles)[:5],
        **offered(who),
    }
