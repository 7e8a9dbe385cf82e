"""Drawing labels as PDF in exact millimetres (pure; reportlab is imported when a sheet is drawn)."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from archive.labels.layouts import Layout

FONTS = Path(__file__).resolve().parent.parent.parent / "static" / "fonts"
_MM = 72 / 25.4
_PAD = 2.0  # mm between a label's edge and its ink
_QUIET = 4  # modules of white round a QR code (ISO/IEC 18004)
_TITLE_LINES = 4


@dataclass(frozen=True)
class Label:
    """What one label says. ``qr_text`` is what its square code holds; nothing private belongs in any of it."""

    number: str
    title: str
    qr_text: str
    second_line: str = ""


@dataclass(frozen=True)
class Sheet:
    """A drawn PDF, and the signs for which the face has no picture (drawn as hollow boxes)."""

    pdf: bytes
    pages: int
    missing_signs: list[str] = field(default_factory=list)


@cache
def _faces() -> frozenset[int]:
    """Register the faces once and return the signs that the text face can draw."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    pdfmetrics.registerFont(TTFont("Tag", str(FONTS / "Besley-600.ttf")))
    text = TTFont("Text", str(FONTS / "DejaVuSans.ttf"))
    pdfmetrics.registerFont(text)
    return frozenset(text.face.charToGlyph)


def undrawable(texts: Iterable[str]) -> list[str]:
    """Return the signs in these texts that would be drawn as hollow boxes, each once, in their order."""
    signs = dict.fromkeys(sign for text in texts for sign in text if ord(sign) > 0x17F)
    if not signs:
        return []  # without foreign signs the faces, and what draws them, need not be loaded
    drawable = _faces()
    return [sign for sign in signs if ord(sign) not in drawable and not _is_silent(sign)]


def _is_silent(sign: str) -> bool:
    """Say whether a sign has no picture of its own: joiners, variation marks, spaces, controls."""
    return ord(sign) in (0x200D, 0xFE0E, 0xFE0F) or sign.isspace() or not sign.isprintable()


def draw_sheet(
    labels: Sequence[Label],
    layout: Layout,
    *,
    start: int = 1,
    nudge_mm: tuple[float, float] = (0.0, 0.0),
    outline: bool = False,
    ruler: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Sheet:
    """Draw labels, the first at place ``start`` (1 is top left), everything moved by ``nudge_mm`` right and down.

    ``outline`` draws each label's edge, ``ruler`` a line of 100 mm at the foot, by which a shrinking printer shows.

    Raises:
        ValueError: ``start`` is not on the sheet.
    """
    from reportlab.pdfgen.canvas import Canvas

    if not 1 <= start <= layout.per_page:
        raise ValueError(f"a place from 1 to {layout.per_page} is accepted")
    drawable = _faces()
    missing: dict[str, None] = {}
    page_w, page_h = layout.page_mm
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(page_w * _MM, page_h * _MM), pageCompression=1, initialFontName="Text")
    canvas.setTitle("Labels")
    canvas.setCreator("Kistbook")
    page = 0
    _page_marks(canvas, layout, nudge_mm, outline, ruler)
    for index, label in enumerate(labels, start - 1):
        here, left, top = layout.place(index)
        while page < here:
            canvas.showPage()
            page += 1
            _page_marks(canvas, layout, nudge_mm, outline, ruler)
        pen = _Pen(canvas, page_h, left + nudge_mm[0], top + nudge_mm[1], drawable, missing)
        _draw_label(pen, label, *layout.label_mm, cut=layout.cut_marks)
        if progress is not None:
            progress(index - start + 2, len(labels))
    canvas.save()
    return Sheet(file.getvalue(), page + 1, list(missing))


class _Pen:
    """Draws in millimetres from a label's top left corner."""

    def __init__(
        self, canvas: Any, page_h: float, left: float, top: float, drawable: frozenset[int], missing: dict[str, None]
    ) -> None:
        self.canvas, self._h, self._left, self._top = canvas, page_h, left, top
        self._drawable, self._missing = drawable, missing

    def point(self, x: float, y: float) -> tuple[float, float]:
        return (self._left + x) * _MM, (self._h - self._top - y) * _MM

    def line(self, *points: tuple[float, float], width: float = 0.25, close: bool = False) -> None:
        path = self.canvas.beginPath()
        for i, (x, y) in enumerate(points):
            (path.lineTo if i else path.moveTo)(*self.point(x, y))
        if close:
            path.close()
        self.canvas.setLineWidth(width * _MM)
        self.canvas.drawPath(path, stroke=1, fill=0)

    def ring(self, x: float, y: float, radius: float, width: float = 0.3) -> None:
        self.canvas.setLineWidth(width * _MM)
        self.canvas.circle(*self.point(x, y), radius * _MM, stroke=1, fill=0)

    def box(self, x: float, y: float, w: float, h: float) -> None:
        px, py = self.point(x, y + h)
        self.canvas.rect(px, py, w * _MM, h * _MM, stroke=0, fill=1)

    def width(self, text: str, face: str, size_mm: float) -> float:
        from reportlab.pdfbase.pdfmetrics import stringWidth

        return float(stringWidth(text, face, size_mm * _MM)) / _MM

    def text(self, x: float, y: float, text: str, face: str, size_mm: float) -> None:
        """Draw one line whose baseline is at y; what the face lacks becomes a hollow box."""
        self.canvas.setFont(face, size_mm * _MM)
        self.canvas.drawString(*self.point(x, y), text)

    def drawable(self, text: str) -> str:
        """Return text in which every sign that the face lacks is a hollow box, and note those signs."""
        out = []
        for sign in text:
            if ord(sign) in self._drawable or sign == " ":
                out.append(sign)
            elif _is_silent(sign):
                continue
            else:
                self._missing[sign] = None
                out.append("□")
        return "".join(out)


def _page_marks(canvas: Any, layout: Layout, nudge_mm: tuple[float, float], outline: bool, ruler: bool) -> None:
    page_h = layout.page_mm[1]
    if outline:
        for index in range(layout.per_page):
            _, left, top = layout.place(index)
            pen = _Pen(canvas, page_h, left + nudge_mm[0], top + nudge_mm[1], frozenset(), {})
            w, h = layout.label_mm
            pen.line((0, 0), (w, 0), (w, h), (0, h), width=0.1, close=True)
    if ruler:
        pen = _Pen(canvas, page_h, (layout.page_mm[0] - 100) / 2, page_h - 7, frozenset(), {})
        pen.line((0, 0), (100, 0), width=0.2)
        for x in range(0, 101, 10):
            pen.line((x, -1.5 if x % 50 else -2.5), (x, 0), width=0.2)
        pen.text(0, 3.6, "This line is 100 mm long when the printer does not shrink the page.", "Text", 2.6)


def _draw_label(pen: _Pen, label: Label, w: float, h: float, *, cut: bool) -> None:
    """The tie-on tag in print: clipped corners at the eyelet end, an eyelet, a thin rule, number and title."""
    pen.canvas.setStrokeGray(0)
    pen.canvas.setFillGray(0)
    clip = min(h * 0.18, 8.0)
    inset = 0.15 if cut else 1.2  # the cut line itself stays inside the label
    pen.line(
        (inset + clip, inset), (w - inset, inset), (w - inset, h - inset), (inset + clip, h - inset),
        (inset, h - inset - clip), (inset, inset + clip), width=0.25, close=True,
    )  # fmt: skip
    eyelet = min(h * 0.075, 2.6)
    centre = inset + clip * 0.5 + eyelet
    pen.ring(centre, h / 2, eyelet, 0.35)
    left = centre + eyelet + 2.0
    large = h >= 60  # to be read from across a room
    code = min(h - 2 * (inset + _PAD), 48.0 if large else 24.0, w * 0.36)
    _draw_code(pen, label.qr_text, w - inset - 1.0 - code, (h - code) / 2, code)
    room = w - inset - 1.0 - code - left - 0.5
    number_size = _fitting(pen, label.number, "Tag", min(h * 0.24, 20.0 if large else 11.0), room)
    top, head = inset + _PAD, number_size * 1.1  # of the number with the rule below it
    size = max(2.1, min(h * 0.085, 7.0 if large else 4.0))
    lines_room = int((h - inset - _PAD * 0.6 - top - head) / (size * 1.22))
    most = max(0, min(_TITLE_LINES, lines_room))
    text = label.title if not label.second_line else f"{label.title}\n{label.second_line}"
    lines = fitted_lines(text, lambda part: pen.width(_shaped(pen.drawable(part)), "Text", size), room, most)
    # Number and title stand in the middle of the height, as the code beside them does.
    top = max(top, (h - head - len(lines) * size * 1.22) / 2)
    y = top + head
    pen.text(left, top + number_size * 0.82, label.number, "Tag", number_size)
    pen.line((left, y), (left + room, y), width=0.2)
    for line in lines:
        y += size * 1.22
        shown = _shaped(pen.drawable(line))
        x = left + room - pen.width(shown, "Text", size) if _is_right_to_left(line) else left
        pen.text(x, y, shown, "Text", size)


def _fitting(pen: _Pen, text: str, face: str, size: float, room: float) -> float:
    wide = pen.width(text, face, size)
    return size if wide <= room else size * room / wide


def fitted_lines(text: str, width: Callable[[str], float], room: float, most: int) -> list[str]:
    """Break text into at most ``most`` lines of ``room``, cut at a word with an ellipsis; one overlong word within."""
    words = text.split()
    lines: list[str] = []
    line = ""
    while words and len(lines) < most:
        word = words[0]
        tried = f"{line} {word}" if line else word
        if width(tried) <= room:
            line = tried
            words.pop(0)
        elif line:
            lines.append(line)
            line = ""
        else:
            cut = _longest_head(word, width, room)
            lines.append(word[:cut])
            words[0] = word[cut:]
    if line and len(lines) < most:
        lines.append(line)
        line = ""
    if (words or line) and lines:
        lines[-1] = _with_ellipsis(lines[-1], width, room)
    return lines


def _longest_head(word: str, width: Callable[[str], float], room: float) -> int:
    low, high = 1, len(word)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if width(word[:middle]) <= room else (low, middle - 1)
    return low


def _with_ellipsis(line: str, width: Callable[[str], float], room: float) -> str:
    while line and width(line + " …") > room:
        shorter = line.rpartition(" ")[0]
        line = shorter if shorter else line[:-1]
    return f"{line} …" if line else "…"


def _draw_code(pen: _Pen, text: str, x: float, y: float, side: float) -> None:
    """Draw a QR code as filled squares, its quiet zone inside the given side (mm)."""
    import segno

    matrix = segno.make(text, error="m", micro=False, boost_error=False).matrix
    module = side / (len(matrix) + 2 * _QUIET)
    for row, cells in enumerate(matrix):
        column = 0
        while column < len(cells):
            run = column
            while run < len(cells) and cells[run]:
                run += 1
            if run > column:
                # A whole run at once leaves no white hair lines between its modules.
                pen.box(x + (_QUIET + column) * module, y + (_QUIET + row) * module, (run - column) * module, module)
            column = max(run, column + 1)


def _is_right_to_left(text: str) -> bool:
    import unicodedata

    for sign in text:
        kind = unicodedata.bidirectional(sign)
        if kind in ("R", "AL"):
            return True
        if kind == "L":
            return False
    return False


def _shaped(text: str) -> str:
    """Return text in the order and forms in which it is drawn: Arabic joined, right-to-left runs turned."""
    if not any(0x0590 <= ord(sign) <= 0x08FF or 0xFB1D <= ord(sign) <= 0xFEFC for sign in text):
        return text
    from bidi.algorithm import get_display

    from archive.labels.arabic import joined

    return str(get_display(joined(text)))
