"""Two hundred photographs of 12 megapixels: our intake against a bare Pillow loop, two threads each, in one run."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))
HOME = Path(tempfile.mkdtemp())
os.environ["KISTBOOK_HOME"] = str(HOME)
os.environ["DJANGO_SETTINGS_MODULE"] = "archive.settings"
COUNT = int(sys.argv[1]) if len(sys.argv) > 1 else 200


def photographs(folder: Path) -> list[Path]:
    """Make JPEGs that differ, with the grain and slopes of photographs."""
    from PIL import Image, ImageChops

    slope = Image.radial_gradient("L").resize((4000, 3000)).convert("RGB")
    paths = []
    for seed in range(8):
        grain = Image.effect_noise((4000, 3000), 20 + seed).convert("RGB")
        path = folder / f"{seed}.jpg"
        ImageChops.blend(slope, grain, 0.3).save(path, quality=88)
        paths.append(path)
    data = [path.read_bytes() for path in paths]
    for n in range(8, COUNT):
        path = folder / f"{n}.jpg"
        path.write_bytes(data[n % 8] + str(n).encode())
        paths.append(path)
    return paths[:COUNT]


def bare(path: Path) -> None:
    """The same three sizes with nothing round them."""
    from PIL import Image

    with Image.open(path) as image:
        image.draft("RGB", (1280, 1280))
        image.load()
        made = image
        for size in (1280, 640, 320):
            scale = size / max(made.size)
            goal = (round(made.width * scale), round(made.height * scale))
            made = made.resize(goal, Image.Resampling.LANCZOS, reducing_gap=2.0)
            made.save(HOME / "bare" / f"{path.stem}-{size}.jpg", quality=82)


def ours(path: Path) -> None:
    """Receive, hash, flush, check by decoding, make the sizes, publish: what an upload does before its row."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from archive.pictures.actions import take_in

    _, refused = take_in([SimpleUploadedFile(path.name, path.read_bytes())])
    assert not refused, refused


def timed(work: object, paths: list[Path]) -> float:
    began = time.monotonic()
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(work, paths))  # type: ignore[call-overload]
    return time.monotonic() - began


def main() -> None:
    import django

    django.setup()
    for name in ("bare", "photographs", "media", "derived", "incoming"):
        (HOME / name).mkdir(exist_ok=True)
    paths = photographs(HOME / "photographs")
    bare(paths[0])
    base, own = timed(bare, paths), timed(ours, paths)
    print(f"{COUNT} pictures: bare loop {base:.1f} s, intake {own:.1f} s, ratio {own / base:.2f}")


if __name__ == "__main__":
    main()
