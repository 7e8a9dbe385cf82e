"""All addresses. A subject's addresses begin with its name; other subjects add theirs through the seam."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path
from django.views.generic import RedirectView

from archive import extend
from archive.things import views as things

urlpatterns: list[URLPattern | URLResolver] = [
    path("", things.home, name="home"),
    path("favicon.ico", RedirectView.as_view(url="/static/look/favicon.svg"), name="favicon"),
    path("t/<str:number>/", things.tag, name="tag"),
    path("t/<str:number>/<str:piece>/", things.tag_piece, name="tag_piece"),
    path("", include("archive.access.urls")),
    path("keeping/", include("archive.keeping.urls")),
    path("preferences/", include("archive.preferences.urls")),
    path("things/", include("archive.things.urls")),
    path("pictures/", include("archive.pictures.urls")),
    path("labels/", include("archive.labels.urls")),
    path("people/", include("archive.people.urls")),
    path("places/", include("archive.places.urls")),
    path("stories/", include("archive.stories.urls")),
    path("boxes/", include("archive.boxes.urls")),
    path("sorting/", include("archive.sorting.urls")),
    path("search/", include("archive.search.urls")),
    path("entry/", include("archive.entry.urls")),
    path("moving/", include("archive.moving.urls")),
    *(path(f"{each.subject}/", include(each.urls)) for each in extend.extensions() if each.urls),
]

handler400 = "archive.keeping.views.bad_request"
handler403 = "archive.keeping.views.not_allowed"
handler404 = "archive.keeping.views.not_found"
handler500 = "archive.keeping.views.server_error"
