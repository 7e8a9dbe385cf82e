"""Score, bound, gap and seconds of display plans at three sizes, against the greedy plan, in the same run.

python tests/bench/rotation/rotation.py [SECONDS]      (10 and 60 s for the second and third size otherwise)
"""

from __future__ import annotations

import resource
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from tests.bench.rotation.instances import instance

SIZES = (((12, 3, 26), 2), ((25, 4, 52), 10), ((60, 8, 52), 60))


def main() -> None:
    import highspy  # noqa: F401 - the limit counts from when it is in

    from conservation.science.rotation import Input, work_out
    from conservation.science.rotation.case import lay_out
    from conservation.science.rotation.greedy import greedy
    from conservation.science.rotation.solve import score_of

    heads = ("greedy", "first s", "score", "bound", "gap %", "status", "s")
    print(f"{'things × spots × weeks':34}" + "".join(f"{each:>9}" for each in heads))
    for (things, spots, weeks), seconds in SIZES:
        limit = float(sys.argv[1]) if len(sys.argv) > 1 else seconds
        for seed in (1, 2, 3):
            for changes in (None, 7):
                problem = Input.model_validate(
                    {**instance(things, spots, weeks, seed, changes=changes), "limit_s": limit}
                )
                began = time.monotonic()
                case = lay_out(problem)
                by_hand = score_of(case, greedy(case))
                first = time.monotonic() - began
                began = time.monotonic()
                found = work_out(problem)
                took = time.monotonic() - began
                name = f"{things} × {spots} × {weeks}{'' if changes is None else ', 7 days of change'}"
                figures = (
                    by_hand, f"{first:.2f}", found["score"], found["bound"], f"{found['gap_pct']:.3f}",
                    found["status"], f"{took:.1f}",
                )  # fmt: skip
                print(f"{name:34}" + "".join(f"{each:>9}" for each in figures), flush=True)
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6:.2f} GB")


if __name__ == "__main__":
    main()
