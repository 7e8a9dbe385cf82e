"""The mould index written as the papers print it, hour by hour, without any of the program's own code.

Hukka & Viitanen, Wood Sci. Technol. 33 (1999) 475–485; classes of Ojanen et al., Buildings XI (2010).
"""

from __future__ import annotations

from math import exp, log

# class: k1 below and from index 1, A, B, C, least humidity, share of pine's decline
PRINTED = {
    1: (1, 2, 1, 7, 2, 80, 1),
    2: (0.578, 0.386, 0.3, 6, 1, 80, 0.5),
    3: (0.072, 0.097, 0, 5, 1.5, 85, 0.25),
    4: (0.033, 0.014, 0, 3, 1, 85, 0.1),
}


def index_by_the_book(temperatures: list[float], humidities: list[float], sensitivity: int) -> list[float]:
    """Return the index at the end of every hour."""
    low, high, a, b, c, least, decline = PRINTED[sensitivity]
    index, dry, course = 0.0, 0, []
    for t, rh in zip(temperatures, humidities, strict=True):
        critical = least if t > 20 else max(least, -0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100)
        if 0 < t < 50 and rh >= critical:
            dry = 0
            t_m = exp(-0.68 * log(t) - 13.9 * log(rh) + 66.02)
            x = (critical - rh) / (critical - 100)
            k2 = max(1 - exp(2.3 * (index - (a + b * x - c * x * x))), 0)
            index += (low if index < 1 else high) * k2 / (7 * t_m) / 24
        else:
            dry += 1
            if dry <= 6:
                index -= 0.032 / 24 * decline
            elif dry > 24:
                index -= 0.016 / 24 * decline
            index = max(index, 0.0)
        course.append(index)
    return course
