"""The settings page, and the sample page of all components."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from archive.access.views import keeper_of
from archive.preferences import actions
from archive.preferences.forms import PreferencesForm
from archive.preferences.queries import preferences


@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest) -> HttpResponse:
    form = PreferencesForm(request.POST or None, instance=preferences())
    if request.method == "POST" and form.is_valid():
        try:
            actions.save_preferences(keeper_of(request), form.cleaned_data)
        except OSError as error:
            form.add_error(
                "starts_at_login", f"The start-up file could not be written ({error.strerror}). Nothing was saved."
            )
        else:
            messages.success(request, "Saved.")
            return redirect("preferences:edit")
    return render(request, "preferences/edit.html", {"form": form}, status=422 if form.errors else 200)


@require_GET
def sample(request: HttpRequest) -> HttpResponse:
    folder = settings.BASE_DIR / "templates" / "look" / "drawings"
    drawings = sorted(path.name.removesuffix(".svg.html") for path in folder.glob("*.svg.html"))
    return render(request, "look/sample.html", {"form": PreferencesForm(instance=preferences()), "drawings": drawings})
