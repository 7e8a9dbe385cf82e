"""Damaged files: whatever happens to a file, it is read, refused row by row, or refused with a sentence."""

from __future__ import annotations

import random
import warnings
from pathlib import Path

import numpy as np
import pytest

from conservation.science.readings import Choices, NotReadings, read

SOUND = [
    "Date;Time;Temp;Hum\n" + "03.02.2026;14:00:00;19,4;52,1\n03.02.2026;15:00:00;19,6;51,9\n" * 3,
    "x\nSerial: 1\n\nNo.,Timestamp,T(°F),RH(%)\n1,02/13/26 02:00:00 PM,66.9,52.1\n2,02/13/26 03:00:00 PM,67.1,52.0\n",
    "2026-02-03T14:00\t19.42\t52.1\n2026-02-03T14:10\t19.44\t52.0\n",
    '"2026/02/03 14:00","19.4 °C","52 %RH"\n"2026/02/03 14:10","19.6 °C","51 %RH"\n',
    "time,channel,value\n2026-02-03 14:00:00,T,19.4\n2026-02-03 14:00:20,RH,52.1\n2026-02-03 14:10:00,T,19.5\n",
    "Time,T1,RH1,T2,RH2\n2026-10-25 02:00,20,50,20,50\n2026-10-25 02:30,20,50,20,50\n2026-10-25 02:00,20,51,20,50\n",
    "ts,t,rh\n1770127200,194,0.521\n1770127800,195,0.519\nMax;Min\n",
]
SIGNS = "0123456789,;:.-/ \t\n\"'°CF%TZ\x00|ab+é#e_\r"


def damaged(text: str, chance: random.Random) -> str:
    letters = list(text)
    for _ in range(chance.randint(1, 12)):
        place = chance.randrange(len(letters) or 1)
        kind = chance.random()
        if kind < 0.4 and letters:
            letters[place] = chance.choice(SIGNS)
        elif kind < 0.6:
            letters.insert(place, chance.choice(SIGNS))
        elif kind < 0.8:
            del letters[place : place + chance.randint(1, 8)]
        else:
            other = chance.randrange(len(letters) + 1)
            letters[place:place] = letters[min(place, other) : max(place, other)][:60]
    return "".join(letters)


@pytest.mark.parametrize("seed", range(4))
def test_no_damage_breaks_the_reader_or_lets_nonsense_through(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    path = tmp_path / "damaged.csv"
    used = refused = 0
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for _ in range(800):
            encoding = chance.choice(["utf-8", "utf-8", "latin-1", "utf-16"])
            path.write_bytes(damaged(chance.choice(SOUND), chance).encode(encoding, errors="replace"))
            choices = Choices(
                day_first=chance.choice([None, True, False]),
                unit=chance.choice([None, "C", "F"]),
                tz=chance.choice([None, "Europe/Berlin"]),
            )
            try:
                found = read(path, choices)
            except NotReadings as error:
                assert str(error)
                continue
            refused += found.refused_count
            for series in found.series:
                used += len(series)
                assert (np.diff(series.times_s) >= 0).all()
                assert ((series.temperature_c >= -40) & (series.temperature_c <= 85)).all()
                assert ((series.relative_humidity_pct >= 0) & (series.relative_humidity_pct <= 100)).all()
    assert used > 200 and refused > 100, (used, refused)


def test_every_line_is_used_refused_or_a_head(tmp_path: Path) -> None:
    # Rows are spoilt one in seven; no line may vanish.
    chance = random.Random(1)
    lines = ["time;temp °C;rh"]
    spoilt = []
    for number in range(9000):
        moment = f"{number // 1440 + 1:02}.03.2026 {number // 60 % 24:02}:{number % 60:02}"
        row = f"{moment};{chance.gauss(19, 1):.1f};5{number % 10}"
        if chance.random() < 1 / 7:
            spoilt.append(len(lines) + 1)
            row = chance.choice(
                ["", ";;", "ERR", row.replace(";", ",", 1), row[:12], f"x{row}", row.replace(";5", ";-9")]
            )
        lines.append(row)
    blank = {number for number in spoilt if not lines[number - 1].strip(";")}
    path = tmp_path / "spoilt.csv"
    path.write_text("\n".join(lines))
    found = read(path)
    assert {row.line for row in found.refused} == set(spoilt) - blank
    assert found.rows_used == 9000 - len(spoilt)
