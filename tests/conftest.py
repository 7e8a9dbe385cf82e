"""A fixed cast for all tests: keeper, relative, visitor; and things with drawn pictures."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck
from hypothesis import settings as property_settings

# How fast a computer draws examples, or works through one, says nothing of what is tested; speed is for the benches.
property_settings.register_profile("kistbook", deadline=None, suppress_health_check=[HealthCheck.too_slow])
property_settings.load_profile("kistbook")

PASSWORD = "three words in row"


@pytest.fixture
def home(tmp_path: Path, settings: Any) -> Path:
    """An empty data folder for one test."""
    from archive.keeping.home import SUBFOLDERS, DataFolder

    for name in SUBFOLDERS:
        (tmp_path / name).mkdir()
    settings.DATA_FOLDER = DataFolder(tmp_path)
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    return tmp_path


@pytest.fixture
def keeper(db: None, home: Path) -> Any:
    from archive.access.actions import make_account
    from archive.preferences.actions import begin_with

    begin_with({"home_name": "The test house", "visitors_allowed": True, "zone": "Europe/Berlin"})
    return make_account("keeper", "Kaja Keeper", PASSWORD, "keeper")


@pytest.fixture
def relative(keeper: Any) -> Any:
    from archive.access.actions import make_account

    return make_account("relative", "Rolf Relative", PASSWORD, "relative")


@pytest.fixture
def as_keeper(keeper: Any) -> Any:
    return _client(keeper)


@pytest.fixture
def as_relative(relative: Any) -> Any:
    return _client(relative)


@pytest.fixture
def as_visitor(keeper: Any) -> Any:
    return _client(None)


def _client(account: Any) -> Any:
    from django.test import Client

    client = Client(REMOTE_ADDR="192.168.7.7")
    if account is not None:
        client.force_login(account, backend="django.contrib.auth.backends.ModelBackend")
    return client


def jpeg(size: tuple[int, int] = (640, 480), seed: int = 1, **options: Any) -> bytes:
    """A drawn JPEG, different for every seed."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", size, (seed * 37 % 256, seed * 91 % 256, 120))
    ImageDraw.Draw(image).ellipse((size[0] // 4, 10, size[0] // 2 + seed * 7 % 90, size[1] - 10), fill=(250, 240, 200))
    file = io.BytesIO()
    image.save(file, format="JPEG", quality=90, **options)
    return file.getvalue()


@pytest.fixture
def make_thing(keeper: Any) -> Any:
    """Record things as the pages do: through the actions."""
    from archive.pictures.actions import take_in
    from archive.preferences.queries import preferences
    from archive.things.actions import add_thing

    def make(title: str = "A letter", *, pictures: int = 0, **values: Any) -> Any:
        from django.core.files.uploadedfile import SimpleUploadedFile

        files = [SimpleUploadedFile(f"p{n}.jpg", jpeg(seed=n + len(title))) for n in range(pictures)]
        taken, refused = take_in(files)
        assert not refused
        return add_thing(keeper, {"title": title, "kind_code": "letter", **values}, taken, preferences())

    return make


@pytest.fixture(autouse=True)
def _index_is_emptied(request: Any, django_db_blocker: Any) -> Iterator[None]:
    """Empty the full-text table after tests that commit: Django empties its own tables only."""
    yield
    mark = request.node.get_closest_marker("django_db")
    if mark is None or not (mark.kwargs.get("transaction") or "live_server" in request.fixturenames):
        return
    from django.db import connection

    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM archive_searchtext")


@pytest.fixture(autouse=True)
def _disk_is_whole() -> Iterator[None]:
    from archive.keeping import fatal

    yield
    fatal._broken.clear()


@pytest.fixture(scope="session")
def django_db_use_migrations() -> bool:
    """Tables are laid as a new archive lays them, which keeping/test_first_tables.py compares with all changes."""
    from django.core.management.commands import migrate
    from django.db import connection

    from archive.keeping.first_tables import lay_tables

    step_by_step = migrate.Command.handle

    def handle(self: Any, *args: Any, **options: Any) -> None:
        # Only for the empty database of the tests; whoever asks for changes later gets them one by one.
        if connection.introspection.table_names() or not options.get("run_syncdb"):
            step_by_step(self, *args, **options)
        else:
            lay_tables()

    migrate.Command.handle = handle  # type: ignore[method-assign]
    return True
