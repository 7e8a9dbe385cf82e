"""The catalogue as a Django app."""

from __future__ import annotations

from django.apps import AppConfig


class ArchiveConfig(AppConfig):
    name = "archive"
    verbose_name = "Kistbook"

    def ready(self) -> None:
        from archive.form_words import speak_plainly

        speak_plainly()
        import archive.people.uniting
        import archive.places.uniting
        import archive.things.uniting  # noqa: F401 - the three say when two of their records are one
        from archive import extend
        from archive.access import signals  # noqa: F401 - connects the change set to history rows
        from archive.boxes.extension import BOXES
        from archive.people.extension import PEOPLE
        from archive.pictures.extension import PICTURES
        from archive.search.extension import SEARCH
        from archive.sorting.extension import SORTING
        from archive.stories.extension import STORIES
        from archive.things.extension import THINGS

        extend.register(THINGS)
        extend.register(BOXES)
        extend.register(SEARCH)
        extend.register(STORIES)
        extend.register(PEOPLE)
        extend.register(PICTURES)
        extend.register(SORTING)
