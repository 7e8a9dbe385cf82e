"""Seconds and memory for a sheet of 1,000 labels, against drawing the same codes bare with segno, in the same run."""

from __future__ import annotations

import resource
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))
COUNT = int(sys.argv[1]) if len(sys.argv) > 1 else 1000


def main() -> None:
    import segno

    from archive.labels.layouts import layout
    from archive.labels.sheet import Label, draw_sheet
    from archive.numbers import number_of

    labels = [
        Label(
            number_of(n), f"Letter number {n} from the ferry house, Γράμμα", f"http://kist.local:8350/t/{number_of(n)}/"
        )
        for n in range(1, COUNT + 1)
    ]
    began = time.perf_counter()
    for each in labels:
        segno.make(each.qr_text, error="m", micro=False, boost_error=False)
    bare = time.perf_counter() - began
    for code in ("a4-3x7", "a4-tags"):
        began = time.perf_counter()
        sheet = draw_sheet(labels, layout(code))
        took = time.perf_counter() - began
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{code}: {COUNT} labels in {took:.2f} s (aim 6 for 1,000), {sheet.pages} pages, "
            f"{len(sheet.pdf) / 1e6:.1f} MB; bare codes {bare:.2f} s, ratio {took / bare:.2f}; "
            f"peak memory {peak:.0f} MB (aim 200)"
        )


if __name__ == "__main__":
    main()
