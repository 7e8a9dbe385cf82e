"""Loaded before Django's settings are: every test process has a data folder of its own."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

HOME = Path(tempfile.mkdtemp(prefix="kistbook-test-"))
os.environ["KISTBOOK_HOME"] = str(HOME)
os.environ.pop("KISTBOOK_DEMO", None)
for _name in ("media", "derived", "incoming", "snapshots", "exports", "logs"):
    (HOME / _name).mkdir()
