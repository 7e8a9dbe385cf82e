"""The child that draws the pages of a PDF: ``python -m archive.pictures.pdf_child SOURCE FOLDER LARGE``.

It answers one line of JSON: the pages, or one word that says why not.
"""

from __future__ import annotations

import contextlib
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from archive.pictures.limits import limit

if TYPE_CHECKING:
    from PIL import Image

_LOCKED = 4  # FPDF_ERR_PASSWORD of fpdfview.h


def _limit_self() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):  # Windows has no such limits; the parent's clock stands
        import resource

        memory, seconds = limit("pdf_memory") << 20, limit("pdf_seconds")
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))


def draw(source: Path, folder: Path, large: int) -> dict[str, Any]:
    """Draw all pages in three sizes, or one page large."""
    import pypdfium2

    from archive.pictures.pdf import page_folder
    from archive.pictures.thumbnails import LARGE, SIZES, fingerprint, write_size, write_sizes

    try:
        document = pypdfium2.PdfDocument(source)
        pages = len(document)
    except pypdfium2.PdfiumError as error:
        return {"refused": "locked" if error.err_code == _LOCKED else "broken"}
    if pages == 0:
        return {"refused": "no-pages"}
    if pages > limit("pdf_pages_at_most"):
        return {"refused": "too-many-pages", "pages": pages}
    drawn = []
    try:
        for number in [large] if large else range(1, pages + 1):
            goal = page_folder(folder, number)
            page = document[number - 1]
            if large:
                write_size(_bitmap(page, LARGE), goal, LARGE)
            else:
                image = _bitmap(page, SIZES[-1])
                made = write_sizes(image, goal)
                width, height = _goal(page, LARGE)
                print_of_it = f"{fingerprint(made[min(made)]):016x}"
                drawn.append({"page": number, "width": width, "height": height, "fingerprint": print_of_it})
            page.close()
    except (pypdfium2.PdfiumError, IndexError, ValueError):
        return {"refused": "broken"}
    return {"pages": drawn}


def _goal(page: Any, longest: int) -> tuple[int, int]:
    width, height = page.get_size()
    scale = longest / max(width, height, 1)
    return max(1, round(width * scale)), max(1, round(height * scale))


def _bitmap(page: Any, longest: int) -> Image.Image:
    """Return a page on white, its long side as asked, whatever size it claims."""
    width, height = page.get_size()
    found: Image.Image = page.render(scale=longest / max(width, height, 1)).to_pil().convert("RGB")
    if max(found.size) > longest:
        found = found.resize(_goal(page, longest))
    return found


if __name__ == "__main__":
    _limit_self()
    print(json.dumps(draw(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))))
