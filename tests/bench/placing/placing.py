"""How long it takes to rank every box of a large house: 2,500 boxes with 50,000 things in 10 rooms with 60 places.

Run: ``.venv/bin/python tests/bench/placing/placing.py``. Prints seconds; needs no archive.
"""

from __future__ import annotations

import random
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from archive.kinds import KIND_CODES
from conservation.science.placing import moves, places, weigh

BOXES, ROOMS, PLACES_A_ROOM = 2_500, 10, 6


def main() -> None:
    chance = random.Random(1)
    kinds = sorted(KIND_CODES)
    floors = ("cellar", "ground", "upper", "loft", "outside")
    began = time.perf_counter()
    air = []
    for room in range(ROOMS):
        guess = places.guess_of({"floor": floors[room % 5], "heat": ["none"] if room > 4 else ["radiator"]}, "")
        assert guess is not None
        air.append(places.guessed_air(guess))
    guessed = time.perf_counter() - began
    house = [
        places.Place(number, air[number % ROOMS], chance.randint(0, 3), chance.randint(0, 2), chance.randint(0, 2),
                     furniture=chance.choice(("", "oak", "powder-coated-steel")))
        for number in range(ROOMS * PLACES_A_ROOM)
    ]  # fmt: skip
    loads = [
        weigh.Load(n, tuple(chance.sample(kinds, chance.randint(1, 8))), True, chance.uniform(1, 10))
        for n in range(BOXES)
    ]
    began = time.perf_counter()
    ranking = weigh.rank(loads, house)
    ranked = time.perf_counter() - began
    began = time.perf_counter()
    candidates = []
    for number in range(BOXES):
        here = number % len(house)
        better = [each for each in range(len(house)) if ranking.better(number, here, each)]
        better.sort(key=lambda each, n=number, h=here: -ranking.gain(n, h, each))  # type: ignore[misc]
        for each in better[:8]:
            benefit = ranking.gain(number, here, each) * loads[number].worth
            candidates.append(moves.Candidate(number, each, benefit, 15e6))
    found = moves.choose(candidates, 5, dict.fromkeys(range(len(house)), 50000000.0))
    chosen = time.perf_counter() - began
    print(f"air of {ROOMS} rooms guessed: {guessed:.2f} s (once in a process)")
    print(f"{BOXES:,} boxes × {len(house)} places in {ROOMS} rooms ranked: {ranked:.2f} s")
    print(f"{len(found)} best moves of {len(candidates):,} chosen: {chosen:.2f} s")


if __name__ == "__main__":
    main()
