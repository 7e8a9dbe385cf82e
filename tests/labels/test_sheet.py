"""Label sheets: millimetres by pypdf, codes by zxing-cpp from the page as pixels, and nothing over an edge."""

from __future__ import annotations

import io
from typing import Any

import pypdf
import pypdfium2
import pytest
import zxingcpp

from archive.labels.addresses import address_may_change
from archive.labels.arabic import joined
from archive.labels.layouts import BadLayout, Layout, checked, layout, layouts
from archive.labels.sheet import Label, draw_sheet
from archive.numbers import number_of

MM = 72 / 25.4
# Label sizes and grids of common sheets, written down apart from the data file (from memory).
GEOMETRY = {
    "a4-3x7": (210, 297, 21, 63.5, 38.1), "a4-3x8": (210, 297, 24, 63.5, 33.9), "a4-2x7": (210, 297, 14, 99.1, 38.1),
    "a4-5x13": (210, 297, 65, 38.1, 21.2), "letter-3x10": (215.9, 279.4, 30, 66.675, 25.4),
    "letter-2x5": (215.9, 279.4, 10, 101.6, 50.8),
}  # fmt: skip
HARD = [
    "Letter from the ferry house", "Ένα γράμμα από το σπίτι", "Письмо из дома паромщика", "מכתב מבית המעבורת",
    "رسالة من بيت العبارة", "🎻 fiddle 👩‍👩‍👧", "W" * 300, "word " * 90, "",
]  # fmt: skip


def labels(count: int, titles: list[str] | None = None) -> list[Label]:
    return [
        Label(
            number_of(n), (titles or ["A thing"])[n % len(titles or [1])], f"http://kist.local:8350/t/{number_of(n)}/"
        )
        for n in range(1, count + 1)
    ]


def render(pdf: bytes, dpi: int, page: int = 0) -> Any:
    return pypdfium2.PdfDocument(io.BytesIO(pdf))[page].render(scale=dpi / 72, grayscale=True).to_pil()


@pytest.mark.parametrize("code", GEOMETRY)
def test_pages_and_numbers_lie_where_they_should(code: str) -> None:
    page_w, page_h, per_page, w, h = GEOMETRY[code]
    found = layout(code)
    assert (found.per_page, found.label_mm) == (per_page, (w, h))
    sheet = draw_sheet(labels(per_page + 1), found)
    reader = pypdf.PdfReader(io.BytesIO(sheet.pdf))
    assert sheet.pages == len(reader.pages) == 2
    box = reader.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((page_w * MM, page_h * MM), abs=0.01)
    seen: dict[str, tuple[float, float]] = {}

    def visit(text: str, cm: Any, tm: list[float], font: Any, size: float) -> None:
        if text.strip():
            seen[text.strip()] = (tm[4] / MM, page_h - tm[5] / MM)

    reader.pages[0].extract_text(visitor_text=visit)
    for index in range(per_page):
        x, y = seen[number_of(index + 1)]
        _, left, top = found.place(index)
        assert left < x < left + w and top < y < top + h


@pytest.mark.parametrize("dpi", [300, 600])
@pytest.mark.parametrize("code", [each.code for each in layouts()])
def test_every_code_is_read_back(code: str, dpi: int) -> None:
    found = layout(code)
    wanted = labels(min(found.per_page, 12), HARD)
    read = zxingcpp.read_barcodes(render(draw_sheet(wanted, found).pdf, dpi))
    assert sorted(each.text for each in read) == sorted(each.qr_text for each in wanted)


@pytest.mark.parametrize("code", [each.code for each in layouts()])
def test_no_ink_leaves_its_label(code: str) -> None:
    found, dpi = layout(code), 300
    sheet = draw_sheet([Label("0214-6", title, "x") for title in HARD], found)
    px = dpi / 25.4
    for page in range(sheet.pages):
        image = render(sheet.pdf, dpi, page)
        for index in range(len(HARD)):
            where, left, top = found.place(index)
            if where == page:
                w, h = found.label_mm
                image.paste(
                    255,
                    (round(left * px) - 1, round(top * px) - 1, round((left + w) * px) + 2, round((top + h) * px) + 2),
                )
        assert image.point(lambda v: 255 if v < 250 else 0).getbbox() is None
    assert "🎻" in sheet.missing_signs


def test_start_nudge_and_ruler() -> None:
    found = layout("a4-3x7")
    plain = render(draw_sheet(labels(1), found, start=5).pdf, 72).point(lambda v: 255 - v).getbbox()
    _, left, top = found.place(4)
    assert plain[0] == pytest.approx(left * MM, abs=6) and plain[1] == pytest.approx(top * MM, abs=6)
    moved = render(draw_sheet(labels(1), found, start=5, nudge_mm=(3, -2)).pdf, 72).point(lambda v: 255 - v).getbbox()
    assert moved[0] - plain[0] == pytest.approx(3 * MM, abs=1.5) and moved[1] - plain[1] == pytest.approx(
        -2 * MM, abs=1.5
    )
    ruler = render(draw_sheet([], found, ruler=True).pdf, 300).point(lambda v: 255 if v < 128 else 0)
    box = ruler.getbbox()
    assert (box[2] - box[0]) / 300 * 25.4 == pytest.approx(100, abs=0.5)
    with pytest.raises(ValueError, match="1 to 21"):
        draw_sheet(labels(1), found, start=22)


def test_an_own_grid_that_does_not_fit_is_told_why() -> None:
    base = layout("a4-3x7")
    for change, words in (
        ({"columns": 4}, "width"),
        ({"step_mm": (50.0, 38.1)}, "overlap"),
        ({"label_mm": (5.0, 38.1)}, "small"),
    ):
        with pytest.raises(BadLayout, match=words):
            checked(Layout(**{**{f: getattr(base, f) for f in base.__dataclass_fields__}, **change}))


def test_arabic_letters_join() -> None:
    """Unicode, Arabic Presentation Forms-B: seen, initial; lam-alef, final; meem, isolated after alef."""
    assert joined("سلام") == "\ufeb3\ufefc\ufee1"


@pytest.mark.parametrize(
    ("url", "may"),
    [
        ("http://192.168.1.7:8350/", True),
        ("http://localhost:8350/", True),
        ("http://kist.local:8350/", False),
        ("http://[fe80::1]/", True),
    ],
)
def test_addresses_that_change(url: str, may: bool) -> None:
    assert address_may_change(url) is may
