"""Whether a folder is a safe place for a database: not on a network drive, not copied about by another program."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

_COPIED_ABOUT = (
    "dropbox",
    "onedrive",
    "google drive",
    "googledrive",
    "icloud",
    "mobile documents",
    "nextcloud",
    "owncloud",
    "syncthing",
    "cloudstorage",
)
_NETWORK = {
    "nfs",
    "nfs4",
    "cifs",
    "smb3",
    "smbfs",
    "afpfs",
    "webdav",
    "davfs",
    "sshfs",
    "fuse.sshfs",
    "fuse.davfs2",
    "fuse.rclone",
    "fuse.gvfsd-fuse",
    "9p",
    "ceph",
    "glusterfs",
}
_DARWIN_LINE = re.compile(r".+? on (?P<where>/.*) \((?P<kind>[^,)]+)[^)]*\)")
_DRIVE_REMOTE = 4  # GetDriveType's answer for a network drive


def is_copied_about(folder: Path) -> bool:
    """Say whether a folder lies, by its name, where another program copies files to and fro."""
    parts = [part.casefold() for part in folder.parts]
    return any(part.startswith(_COPIED_ABOUT) for part in parts)


def is_on_network(folder: Path, system: str = sys.platform) -> bool:
    """Say whether a folder is on a network drive, as far as this system tells; unknown counts as no."""
    if system == "win32":
        return str(folder).startswith("\\\\") or _is_remote_drive(folder)
    return file_system(folder, mounts(system)) in _NETWORK


def mounts(system: str = sys.platform) -> list[tuple[str, str]]:
    """Return the places where drives are mounted and the type of each, or nothing where this is not told."""
    if system == "darwin":
        try:
            answer = subprocess.run(["/sbin/mount"], capture_output=True, text=True, timeout=5, check=False)
        except (OSError, subprocess.TimeoutExpired):
            return []
        return darwin_mounts(answer.stdout)
    try:
        return linux_mounts(Path("/proc/mounts").read_text(encoding="utf-8", errors="replace"))
    except OSError:
        return []


def linux_mounts(text: str) -> list[tuple[str, str]]:
    """Read ``/proc/mounts``: device, place, type, options; blanks are written in octal."""
    rows = [line.split(" ") for line in text.splitlines()]
    return [(re.sub(r"\\([0-7]{3})", _octal, row[1]), row[2]) for row in rows if len(row) > 2]


def _octal(match: re.Match[str]) -> str:
    return chr(int(match[1], 8))


def darwin_mounts(text: str) -> list[tuple[str, str]]:
    """Read the answer of macOS's ``mount``: device on place (type, options)."""
    found = (_DARWIN_LINE.fullmatch(line) for line in text.splitlines())
    return [(match["where"], match["kind"]) for match in found if match]


def file_system(folder: Path, mounted: list[tuple[str, str]]) -> str:
    """Return the type of the file system that a folder is on: that of the longest place above it."""
    best, kind = "", ""
    for where, found in mounted:
        if (str(folder) + "/").startswith(where.rstrip("/") + "/") and len(where) >= len(best):
            best, kind = where, found
    return kind


def _is_remote_drive(folder: Path) -> bool:
    try:
        import ctypes

        return bool(ctypes.windll.kernel32.GetDriveTypeW(folder.drive + "\\") == _DRIVE_REMOTE)  # type: ignore[attr-defined]
    except (AttributeError, OSError):
        return False
