"""Ranking places: against hand sums of the ageing law, and the rule that a worse place never fares better."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from archive.kinds import KIND_CODES
from conservation.science.ageing import life_multiplier
from conservation.science.placing import moves, places, weigh
from conservation.science.placing.tables import lasting, table
from conservation.science.sources import STATUSES, register
from conservation.science.words import codes

FINE = places.Suits(0.0, 0.0, 0.0, 0.0, 0.0, "suits")
POOR_FURNITURE = ("oak", "plywood", "shoe-carton")


def _air(temperature: float, humidity: float, evidence: places.Evidence = "measured") -> places.Air:
    life = places.lives(
        float(life_multiplier(temperature, humidity, 70)), float(life_multiplier(temperature, humidity, 100)),
        temperature, humidity,
    )  # fmt: skip
    return places.Air(evidence, life, dict.fromkeys(KIND_CODES, FINE), 365, temperature, humidity)


@pytest.mark.parametrize(
    ("law", "here", "there", "times"),
    [
        # Michalski's law, numbers of reference `climate` C1: (T, RH) → multiplier at Ea 100 and 70, divided by hand.
        ("cellulose", (20, 50), (15, 50), 2.0380), ("cellulose", (25, 60), (18, 35), 2.1075 / 0.3965),
        ("cellulose", (30, 70), (10, 50), 4.2591 / 0.1668), ("slow", (20, 50), (15, 50), 1.6460),
        ("slow", (25, 60), (18, 35), 1.9367 / 0.4874), ("slow", (20, 40), (20, 30), 1.9427 / 1.3365),
        # Acetate: 36 years at 21.1 °C and 50 %, 155 at 10 °C (rate fitted to the storage guide, reference check 36).
        ("acetate", (21.11, 50), (10, 50), 155 / 36),
    ],
)  # fmt: skip
def test_how_much_longer_things_last(
    law: str, here: tuple[float, float], there: tuple[float, float], times: float
) -> None:
    ratio = _air(*there).life[law] / _air(*here).life[law]
    assert ratio == pytest.approx(times, rel=0.02 if law == "acetate" else 2e-3)


def test_every_kind_lasts_by_a_law() -> None:
    assert {lasting(code) for code in KIND_CODES} == {"cellulose", "slow", "acetate", "none"}
    assert lasting("letter") == "cellulose" and lasting("silver") == "none" and lasting("colour-print") == "slow"


# -- a worse place never fares better ------------------------------------------------------------------------------


def _worse(better: places.Place, chance: random.Random) -> places.Place:
    """Return a place that is as bad or worse in everything, with air known as well or as little."""

    def worse_suits(fit: places.Suits) -> places.Suits:
        old = (fit.damp, fit.dry, fit.warm, fit.cold)
        shares = [min(1.0, share + chance.choice((0, 0, chance.random() * 0.4))) for share in old]
        order = places.VERDICTS
        verdict = order[max(order.index(fit.verdict), order.index(chance.choice(("suits", "watch", "unsuitable"))))]
        return places.Suits(*shares, min(1.0, fit.outside_hard + chance.choice((0, chance.random()))), verdict)

    air = replace(
        better.air,
        life={law: life * chance.choice((1.0, chance.uniform(0.1, 1.0))) for law, life in better.air.life.items()},
        fits={code: worse_suits(fit) for code, fit in better.air.fits.items()},
    )
    return replace(
        better,
        air=air,
        light=None if better.light is None else min(3, better.light + chance.randint(0, 2)),
        water=min(3, better.water + chance.randint(0, 2)),
        pests=min(3, better.pests + chance.randint(0, 2)),
        location=better.location or chance.choice(("", "cellar", "outside-wall")),
        furniture=better.furniture or chance.choice(("", *POOR_FURNITURE)),
    )


def _any_place(chance: random.Random) -> places.Place:
    def suits() -> places.Suits:
        shares = [chance.choice((0.0, chance.random() * 0.5)) for _ in range(4)]
        return places.Suits(
            *shares, chance.choice((0.0, chance.random())), chance.choice(("suits", "watch", "unsuitable"))
        )

    air = places.Air(
        chance.choice(("measured", "part", "guessed", "unknown")),
        {law: chance.uniform(0.1, 20) for law in ("cellulose", "slow", "acetate")} | {"none": 1.0},
        {code: suits() for code in KIND_CODES},
        365,
    )
    if air.evidence == "unknown":
        air = places.UNKNOWN_AIR
    return places.Place(1, air, chance.choice((None, 0, 1, 2)), chance.randint(0, 2), chance.randint(0, 2))


@pytest.mark.parametrize("seed", range(40))
def test_a_worse_place_never_fares_better(seed: int) -> None:
    chance = random.Random(seed)
    kinds = sorted(KIND_CODES)
    loads = [
        weigh.Load(number, tuple(chance.sample(kinds, chance.randint(1, 6))), bool(chance.randint(0, 1)))
        for number in range(60)
    ]
    better = _any_place(chance)
    worse = replace(_worse(better, chance), key=2)
    ranking = weigh.rank(loads, [worse, better])
    for load in range(len(loads)):
        assert ranking.verdict[load, 0] >= ranking.verdict[load, 1]
        assert ranking.air[load, 0] + ranking.rest[load, 0] >= ranking.air[load, 1] + ranking.rest[load, 1] - 1e-9
        assert not ranking.better(load, 1, 0)
        assert ranking.gain(load, 1, 0) <= 1e-9


def test_more_in_a_box_never_makes_a_place_fare_better() -> None:
    chance = random.Random(7)
    place = _any_place(chance)
    for _ in range(200):
        some = chance.sample(sorted(KIND_CODES), 4)
        ranking = weigh.rank([weigh.Load(0, tuple(some[:3]), True), weigh.Load(1, tuple(some), True)], [place])
        assert ranking.verdict[1, 0] >= ranking.verdict[0, 0]
        assert ranking.air[1, 0] + ranking.rest[1, 0] >= ranking.air[0, 0] + ranking.rest[0, 0] - 1e-12


def test_air_that_nobody_knows_is_said_to_be_unmeasured_and_never_a_goal() -> None:
    unknown, known = places.Place(1, places.UNKNOWN_AIR), places.Place(2, _air(25, 60))
    for code in sorted(KIND_CODES):
        assert weigh.verdict_on(code, unknown, True) in ("unmeasured", "unsuitable")
        ranking = weigh.rank([weigh.Load(0, (code,), True)], [unknown, known])
        assert not ranking.better(0, 1, 0)


def test_guessed_air_and_a_few_days_are_at_most_watched() -> None:
    for evidence in ("guessed", "part"):
        place = places.Place(1, _air(18, 45, evidence))  # type: ignore[arg-type]
        assert weigh.verdict_on("letter", place, True) == "watch"
    assert weigh.verdict_on("letter", places.Place(1, _air(18, 45)), True) == "suits"


def test_where_air_is_unknown_only_what_is_known_counts() -> None:
    here = places.Place(1, places.UNKNOWN_AIR, water=3)
    there = places.Place(2, _air(18, 45))
    ranking = weigh.rank([weigh.Load(0, ("letter",), True)], [here, there])
    assert ranking.gain(0, 0, 1) == pytest.approx(ranking.rest[0, 0] - ranking.rest[0, 1])


def test_light_counts_for_what_lies_open_and_hardly_in_a_box() -> None:
    sunny, dark = (places.Place(n, _air(18, 45), light=light) for n, light in ((1, 3), (2, 0)))
    loads = [weigh.Load(0, ("watercolour",), False), weigh.Load(1, ("watercolour",), True)]
    ranking = weigh.rank(loads, [sunny, dark])
    assert weigh.verdict_on("watercolour", sunny, False) == "unsuitable"
    assert weigh.verdict_on("watercolour", sunny, True) == "suits"
    assert ranking.gain(0, 0, 1) > 5 * ranking.gain(1, 0, 1) > 0


def test_lead_is_not_sent_to_an_oak_drawer() -> None:
    oak, steel = (places.Place(n, _air(18, 45), furniture=f) for n, f in ((1, "oak"), (2, "powder-coated-steel")))
    assert weigh.verdict_on("lead-or-pewter", oak, True) == "unsuitable"
    assert weigh.verdict_on("letter", oak, True) == "watch" and weigh.verdict_on("letter", steel, True) == "suits"


# -- guessed air ---------------------------------------------------------------------------------------------------


def test_guesses_put_the_loft_and_the_cellar_behind_a_lived_in_room() -> None:
    facts = {"ground": {"floor": "ground"}, "loft": {"floor": "loft"}, "cellar": {"floor": "cellar"}}
    found = {name: places.guess_of(each, "") for name, each in facts.items()}
    air = {name: places.guessed_air(each) for name, each in found.items() if each is not None}
    assert all(each.evidence == "guessed" for each in air.values())
    letter = {name: each.fits["letter"] for name, each in air.items()}
    assert letter["cellar"].damp > letter["ground"].damp and letter["loft"].outside_hard > letter["ground"].outside_hard
    assert letter["loft"].verdict == "unsuitable" and letter["cellar"].verdict == "unsuitable"
    ranking = weigh.rank(
        [weigh.Load(0, ("letter",), True)],
        [places.Place(n, air[name]) for n, name in enumerate(("loft", "cellar", "ground"))],
    )
    assert ranking.order(0)[0] == 2


def test_too_little_is_no_guess_and_a_dehumidifier_bounds_it() -> None:
    assert places.guess_of({}, "") is None and places.guess_of({"light": "dark"}, "") is None
    damp, dried = ({"floor": "cellar", "equipment": e} for e in ([], ["dehumidifier"]))
    air = [places.guessed_air(guess) for each in (damp, dried) if (guess := places.guess_of(each, "")) is not None]
    assert air[1].mean_pct is not None and air[0].mean_pct is not None and air[1].mean_pct <= 55 < air[0].mean_pct
    assert air[1].fits["letter"].outside_hard < air[0].fits["letter"].outside_hard


def test_every_floor_and_change_gives_air_that_can_be() -> None:
    rows = table()["guess"]
    for floor, heat, location in product(rows["heated"], (["none"], ["radiator"], []), ("", *rows["change"])):
        location = "" if location in ("outside_walls_two", "sun") else location
        guess = places.guess_of(
            {"floor": floor, "heat": heat, "outside_walls": ["north", "west"], "light": "sun"}, location
        )
        assert guess is not None
        air = places.guessed_air(guess)
        assert set(air.fits) >= {"letter", "quilt"} and all(life > 0 for life in air.life.values())


def test_colder_bags_last_longer() -> None:
    assert places.cold_air(-18.0, 40.0).life["acetate"] > places.cold_air(4.0, 40.0).life["acetate"] > 5


# -- choosing -----------------------------------------------------------------------------------------------------


def _brute(candidates: list[moves.Candidate], how_many: int, room: dict[int, float | None]) -> float:
    best = 0.0
    for size in range(1, how_many + 1):
        for some in combinations(candidates, size):
            if len({each.load for each in some}) < size:
                continue
            taken: dict[int, float] = {}
            for each in some:
                taken[each.node] = taken.get(each.node, 0) + (each.takes_mm3 or 0)
            if all(room.get(node) is None or held <= room[node] for node, held in taken.items()):  # type: ignore[operator]
                best = max(best, sum(each.benefit for each in some))
    return best


@pytest.mark.parametrize("seed", range(30))
def test_the_best_few_moves_are_the_best_by_trying_all(seed: int) -> None:
    chance = random.Random(seed)
    candidates = [
        moves.Candidate(load, node, round(chance.uniform(0.1, 5), 2), chance.choice((None, 1.0, 2.0)))
        for load in range(5) for node in chance.sample(range(4), 3)
    ]  # fmt: skip
    room: dict[int, float | None] = {0: 1.0, 1: 2.0, 2: None, 3: 3.0}
    chosen = moves.choose(candidates, 3, room)
    assert sum(each.benefit for each in chosen) == pytest.approx(_brute(candidates, 3, room))
    assert len({each.load for each in chosen}) == len(chosen) <= 3
    assert [each.benefit for each in chosen] == sorted((each.benefit for each in chosen), reverse=True)


def test_many_boxes_for_one_narrow_shelf_end_soon() -> None:
    candidates = [moves.Candidate(load, 0, 1.0, 1.0) for load in range(2500)]
    assert len(moves.choose(candidates, 5, {0: 2.0})) == 2


def test_room_on_a_shelf() -> None:
    assert moves.room_left((1000, 300, 400), [50e6]) == pytest.approx(1000 * 300 * 400 * 0.9 - 50e6)
    assert moves.room_left((1000, None, 400), []) is None and moves.room_left((10, 10, 10), [1e9]) == 0
    assert moves.goes_in((300, 200, 400), (450, 250, 350)) is True  # turned about its height
    assert moves.goes_in((300, 260, 400), (450, 250, 350)) is False
    assert moves.goes_in((300, 200, 500), (450, 250, 350)) is False
    assert (
        moves.goes_in((300, 200, 400), (None, 250, 350)) is None
        and moves.goes_in((None, 260, None), (450, 250, 350)) is False
    )


def test_rows_are_whole() -> None:
    rows = table()
    for name in ("guess", "risk", "weigh"):
        assert rows[name]["source"] in register() and rows[name]["status"] in STATUSES and rows[name]["locator"]
    assert set(rows["guess"]["heated"]) == set(rows["guess"]["unheated"]) == set(codes("room_floor"))
    assert set(rows["risk"]["water"]) == set(codes("room_water")) and set(rows["risk"]["light"]) == set(
        codes("room_light")
    )
    assert set(rows["risk"]["water_location"]) | set(rows["risk"]["pests_location"]) <= set(codes("location"))
    assert set(codes("living_verdict")) == set(places.VERDICTS)
    laws = rows["last"]
    assert set(laws["cellulose_kinds"]) | set(laws["acetate_kinds"]) | set(laws["no_ageing_kinds"]) <= KIND_CODES
    assert np.isfinite([value for value in rows["weigh"].values() if isinstance(value, (int, float))]).all()
