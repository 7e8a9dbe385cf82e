"""The settings of a version to come, which has one more change of the tables."""

from __future__ import annotations

from archive.settings import *  # noqa: F403
from archive.settings import INSTALLED_APPS as _APPS

INSTALLED_APPS = [*_APPS, "tests.keeping.later_change"]
