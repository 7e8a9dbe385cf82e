"""What housing adds to the catalogue's pages."""

from __future__ import annotations

from archive.extend import Extension

HOUSING = Extension(subject="housing")
