"""Starting Kistbook by a double click, or when the keeper logs in: files that each system understands."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

from django.conf import settings

LABEL = "kistbook"
# Names of folders may hold any letter; 65001 is UTF-8.
_BATCH = "@echo off\r\nchcp 65001 >nul\r\n"


def start_command(home: Path, *, python: str = sys.executable) -> list[str]:
    """Return the command that starts this archive."""
    return [python, str(settings.BASE_DIR / "manage.py"), "start", "--home", str(home)]


def launcher(home: Path, system: str = sys.platform) -> tuple[Path, str]:
    """Return the path and the text of a file in the data folder that starts Kistbook when double-clicked."""
    command = start_command(home)
    if system == "win32":
        return home / "Start Kistbook.bat", _BATCH + _windows_line(command) + "\r\npause\r\n"
    if system == "darwin":
        return home / "Start Kistbook.command", f"#!/bin/sh\nexec {shlex.join(command)}\n"
    return home / "Start Kistbook.desktop", _desktop_entry(command, terminal=True)


def autostart_file(user_home: Path, archive_home: Path, system: str = sys.platform) -> tuple[Path, str]:
    """Return the path and the text of the file that starts Kistbook at log-in."""
    command = start_command(archive_home)
    if system == "win32":
        folder = user_home / "AppData/Roaming/Microsoft/Windows/Start Menu/Programs/Startup"
        return folder / "Kistbook.bat", _BATCH + 'start /min "" ' + _windows_line(command) + "\r\n"
    if system == "darwin":
        arguments = "".join(f"    <string>{_xml(word)}</string>\n" for word in command)
        text = (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<!DOCTYPE plist PUBLIC "-//Apple//DTD PLIST 1.0//EN" "http://www.apple.com/DTDs/PropertyList-1.0.dtd">\n'
            f'<plist version="1.0">\n<dict>\n  <key>Label</key>\n  <string>{LABEL}</string>\n'
            f"  <key>ProgramArguments</key>\n  <array>\n{arguments}  </array>\n"
            "  <key>RunAtLoad</key>\n  <true/>\n</dict>\n</plist>\n"
        )
        return user_home / f"Library/LaunchAgents/{LABEL}.plist", text
    return user_home / ".config/autostart/kistbook.desktop", _desktop_entry(command, terminal=False)


def set_autostart(on: bool, *, user_home: Path | None = None, system: str = sys.platform) -> Path:
    """Write or remove the file that starts Kistbook at log-in, and return its path.

    Raises:
        OSError: the file cannot be written or removed.
    """
    path, text = autostart_file(user_home or Path.home(), settings.DATA_FOLDER.root, system)
    if on:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
    else:
        path.unlink(missing_ok=True)
    return path


def write_launcher() -> Path:
    """Write the double-click file into the data folder."""
    path, text = launcher(settings.DATA_FOLDER.root)
    path.write_text(text, encoding="utf-8", newline="")
    path.chmod(0o755)
    return path


def _windows_line(command: list[str]) -> str:
    return " ".join('"' + word.replace("%", "%%") + '"' for word in command)


def _desktop_entry(command: list[str], *, terminal: bool) -> str:
    return (
        "[Desktop Entry]\nType=Application\nName=Kistbook\n"
        "Comment=The working record of the family's boxes\n"
        f"Exec={' '.join(_exec_word(word) for word in command)}\nTerminal={str(terminal).lower()}\n"
    )


def _exec_word(word: str) -> str:
    """Quote one argument of ``Exec``: by its own rules, then by those of every value (Desktop Entry Specification)."""
    quoted = "".join("\\" + letter if letter in '"`$\\' else letter for letter in word).replace("%", "%%")
    return '"' + quoted.replace("\\", "\\\\") + '"'


def _xml(word: str) -> str:
    return word.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
