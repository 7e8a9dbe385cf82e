#!/usr/bin/env python3
"""Kistbook's command line. The Python version is checked before anything else is imported."""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - an older Python must get a sentence, not a traceback
    sys.exit(
        "Kistbook needs Python 3.11 or newer; this is Python {}.{}. "
        "Install a newer Python and start again with it.".format(*sys.version_info[:2])
    )


def main() -> None:
    """Choose the data folder, then hand over to Django's command line."""
    import os

    from archive.keeping.home import choose_home

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "archive.settings")
    choose_home(sys.argv, os.environ)
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
