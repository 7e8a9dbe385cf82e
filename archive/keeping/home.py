"""Where an archive's data folder is: never in the code folder (pure; no Django)."""

from __future__ import annotations

from collections.abc import MutableMapping, Sequence
from dataclasses import dataclass
from pathlib import Path

HOME_VARIABLE = "KISTBOOK_HOME"
DEMO_VARIABLE = "KISTBOOK_DEMO"
SUBFOLDERS = ("media", "derived", "incoming", "snapshots", "exports", "logs")


@dataclass(frozen=True)
class DataFolder:
    """The paths inside one archive's data folder."""

    root: Path

    @property
    def database(self) -> Path:
        return self.root / "kistbook.sqlite3"

    @property
    def media(self) -> Path:
        return self.root / "media"

    @property
    def derived(self) -> Path:
        return self.root / "derived"

    @property
    def incoming(self) -> Path:
        return self.root / "incoming"

    @property
    def snapshots(self) -> Path:
        return self.root / "snapshots"

    @property
    def exports(self) -> Path:
        return self.root / "exports"

    @property
    def logs(self) -> Path:
        return self.root / "logs"

    @property
    def lock(self) -> Path:
        return self.root / "lock"

    @property
    def secret(self) -> Path:
        return self.root / "secret"

    @property
    def demo_marker(self) -> Path:
        """Present only in a folder that `start --demo` made."""
        return self.root / "demo-household"


def choose_home(argv: Sequence[str], environ: MutableMapping[str, str]) -> None:
    """Put the data folder asked for by ``--home`` and ``--demo`` into the environment.

    It runs before the settings are read, because they name the database file.
    """
    words = list(argv[2:])
    if "--demo" in words:
        environ[DEMO_VARIABLE] = "1"
    for position, word in enumerate(words):
        if word == "--home" and position + 1 < len(words):
            environ[HOME_VARIABLE] = words[position + 1]
        elif word.startswith("--home="):
            environ[HOME_VARIABLE] = word.partition("=")[2]


def data_folder(environ: MutableMapping[str, str]) -> DataFolder:
    """Return the data folder that the environment names; nothing is created here."""
    named = environ.get(HOME_VARIABLE)
    if named:
        return DataFolder(Path(named).expanduser().absolute())
    name = "Kistbook demo" if environ.get(DEMO_VARIABLE) else "Kistbook"
    return DataFolder(Path.home() / name)
