"""The WSGI application that `manage.py start` serves with waitress."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive.settings")
application = get_wsgi_application()
