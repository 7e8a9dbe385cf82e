"""Log files: they turn over, and hold no names or titles (pure)."""

from __future__ import annotations

import logging
import re
from pathlib import Path
from typing import Any

_MEGABYTE = 1_048_576
_QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"")
_OPAQUE = re.compile(r"/join/[^/\s]+")


class WithoutNames(logging.Formatter):
    """Leaves out whatever stands in quotation marks, since that may be something the family typed."""

    def format(self, record: logging.LogRecord) -> str:
        return _OPAQUE.sub("/join/…", _QUOTED.sub("'…'", super().format(record)))


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
            "django.security.DisallowedHost": {"handlers": [], "propagate": False},
            "kistbook": {"handlers": ["file"], "level": "INFO", "propagate": False},
            "axes": {"handlers": [], "propagate": False},
            "waitress": {"handlers": ["file"], "level": "ERROR", "propagate": False},
        },
    }
