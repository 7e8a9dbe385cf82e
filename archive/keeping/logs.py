"""Log files: they turn over, and hold no names or titles (pure)."""

from __future__ import annotations

import errno
import logging
import re
import traceback
from pathlib import Path
from typing import Any

_MEGABYTE = 1_048_576
_QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"")
_CODE = str(Path(__file__).resolve().parents[2])
_OPAQUE = re.compile(r"/join/[^/\s]+")


# These speak of the machine, not of what the family typed; the messages of all others are left out of the log.
_SPEAK_OF_THE_MACHINE = ("OperationalError", "DatabaseError", "IntegrityError", "TemplateSyntaxError", "NoReverseMatch")


class WithoutNames(logging.Formatter):
    """Leaves out whatever stands in quotation marks, and what exceptions say, which may be what the family typed."""

    def format(self, record: logging.LogRecord) -> str:
        record.exc_text = None  # another formatter may have left its own text there
        return super().format(record)

    def formatMessage(self, record: logging.LogRecord) -> str:
        return _without_names(super().formatMessage(record))

    def formatException(self, ei: Any) -> str:
        """Return where an exception came from and of which kind it is, with the chain that led to it."""
        parts: list[str] = []
        error: BaseException | None = ei[1]
        seen: set[int] = set()
        while error is not None and id(error) not in seen:
            seen.add(id(error))
            frames = traceback.extract_tb(error.__traceback__)
            places = [f"  {_short(frame.filename)}:{frame.lineno} in {frame.name}\n" for frame in frames]
            parts.insert(0, "".join(places) + _without_names(_of_which_kind(error)))
            error = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
        return "\nwhich led to\n".join(parts)


def _without_names(text: str) -> str:
    return _OPAQUE.sub("/join/…", _QUOTED.sub("'…'", text))


def _short(path: str) -> str:
    """Return a source file's path without the folders above the code, which hold somebody's name."""
    for base in ("site-packages/", f"{_CODE}/"):
        if base in path:
            return path.rpartition(base)[2]
    return Path(path).name


def _of_which_kind(error: BaseException) -> str:
    name = type(error).__name__
    if isinstance(error, OSError) and error.errno is not None:
        return f"{name}: {errno.errorcode.get(error.errno, error.errno)}"
    if name in _SPEAK_OF_THE_MACHINE:
        return f"{name}: {error}"
    return name


def logging_settings(folder: Path) -> dict[str, Any]:
    """Return Django's LOGGING: a file that turns over when there is a data folder, else the terminal."""
    if folder.is_dir():
        handler: dict[str, Any] = {
            "class": "logging.handlers.RotatingFileHandler",
            "filename": str(folder / "kistbook.log"),
            "maxBytes": 2 * _MEGABYTE,
            "backupCount": 5,
            "encoding": "utf-8",
            "delay": True,
            "formatter": "plain",
        }
    else:
        handler = {"class": "logging.StreamHandler", "formatter": "plain", "level": "ERROR"}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "plain": {
                "()": "archive.keeping.logs.WithoutNames",
                "format": "%(asctime)s %(levelname)s %(name)s %(message)s",
            }
        },
        "handlers": {"file": handler},
        "root": {"handlers": ["file"], "level": "WARNING"},
        "loggers": {
            "django": {"handlers": ["file"], "level": "WARNING", "propagate": False},
            # Pages that fail are logged once, with their code, by `keeping.views.server_error`.
            "django.request": {"handlers": ["file"], "level": "CRITICAL", "propagate": False},
            "django.security.DisallowedHost": {"handlers": [], "propagate": False},
            "kistbook": {"handlers": ["file"], "level": "INFO", "propagate": False},
            "axes": {"handlers": [], "propagate": False},
            "waitress": {"handlers": ["file"], "level": "ERROR", "propagate": False},
        },
    }
