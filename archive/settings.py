"""Settings of the site. The data folder comes from the environment; `manage.py` puts it there."""

from __future__ import annotations

import os
import secrets
import sys
import zlib
from datetime import timedelta
from importlib.util import find_spec
from pathlib import Path

if find_spec("pysqlite3") is not None:
    # A SQLite without the WAL race of 3.7.0-3.51.2; it must be in place before Django imports sqlite3.
    import pysqlite3

    sys.modules["sqlite3"] = pysqlite3

from archive.keeping.home import DEMO_VARIABLE, data_folder
from archive.keeping.logs import logging_settings
from archive.keeping.sqlite.modes import settings_options
from archive.sharing.hosts import HostList

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_FOLDER = data_folder(os.environ)
DEMO = bool(os.environ.get(DEMO_VARIABLE))
KISTBOOK_VERSION = "0.1.0"


def _secret_key() -> str:
    """Return the archive's own secret; without a data folder (sums, tests) one that lives as long as the process."""
    if DATA_FOLDER.secret.is_file():
        return DATA_FOLDER.secret.read_text().strip()
    return secrets.token_urlsafe(50)


SECRET_KEY = _secret_key()
DEBUG = False
ALLOWED_HOSTS = HostList()

INSTALLED_APPS = [
    "django.forms",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "simple_history",
    "axes",
    "csp",
    "django_linear_migrations",
    "archive",
    "conservation",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "archive.keeping.middleware.Fatal",
    "archive.keeping.middleware.Sessions",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "archive.access.middleware.SameComputer",
    "archive.access.middleware.Gate",
    "archive.access.middleware.HomeZone",
    "archive.access.middleware.ActOnce",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "archive.root_urls"
WSGI_APPLICATION = "archive.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "archive.access.context.shell",
            ],
        },
    },
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

DATABASES = {
    "default": {
        "ENGINE": "archive.keeping.sqlite",
        "NAME": DATA_FOLDER.database,
        "OPTIONS": settings_options(),
        "CONN_MAX_AGE": None,
        # Tests run on a file, as archives do: locks and journals of a database in memory are others.
        "TEST": {"NAME": str(DATA_FOLDER.root / "test.sqlite3")},
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "archive.Account"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]
if find_spec("argon2") is not None:
    PASSWORD_HASHERS.insert(0, "django.contrib.auth.hashers.Argon2PasswordHasher")
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 8}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
LOGIN_URL = "access:sign_in"
LOGIN_REDIRECT_URL = "/"

AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "archive.access.views.locked_out"
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False
# Only the outcome of a try is kept; what was typed may be a password in the wrong field.
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address"]

# Two archives on one computer (a household's and the demo) differ only in port, which cookies ignore.
SESSION_COOKIE_NAME = f"kistbook_{zlib.crc32(str(DATA_FOLDER.root).encode()):08x}"
CSRF_COOKIE_NAME = SESSION_COOKIE_NAME.replace("kistbook", "kistbook_form")
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "archive.keeping.views.form_too_old"
X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
# Phones reach this computer by plain http on the home network, where the opener header means nothing.
SECURE_CROSS_ORIGIN_OPENER_POLICY = None
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:", "blob:"],
        "style-src": ["'self'"],
        "script-src": ["'self'"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 300
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}

# Uploads go to disk on the volume where they will stay, so that publishing one is a rename.
UPLOAD_LIMIT_BYTES = 768 * 1024 * 1024
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 40_000
DATA_UPLOAD_MAX_NUMBER_FILES = 2_000
FILE_UPLOAD_HANDLERS = ["django.core.files.uploadhandler.TemporaryFileUploadHandler"]
FILE_UPLOAD_TEMP_DIR = str(DATA_FOLDER.incoming) if DATA_FOLDER.incoming.is_dir() else None

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
LOGGING = logging_settings(DATA_FOLDER.logs)
SILENCED_SYSTEM_CHECKS = ["axes.W003"]
