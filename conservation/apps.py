"""Care as a Django app; it adds itself to the catalogue's pages through the one seam."""

from __future__ import annotations

from django.apps import AppConfig


class ConservationConfig(AppConfig):
    name = "conservation"
    verbose_name = "Care"

    def ready(self) -> None:
        from archive import extend
        from conservation.housing.extension import HOUSING
        from conservation.on_show.extension import ON_SHOW
        from conservation.on_show.plans.extension import PLANS
        from conservation.rooms.cold.extension import COLD
        from conservation.rooms.extension import ROOMS
        from conservation.rooms.freezing.extension import FREEZING
        from conservation.rooms.living.extension import LIVING
        from conservation.rooms.readings.errands import register_all
        from conservation.rooms.readings.extension import READINGS
        from conservation.rooms.rounds.extension import ROUNDS
        from conservation.rooms.traps.extension import TRAPS
        from conservation.this_week.extension import THIS_WEEK

        extend.register(HOUSING)
        extend.register(ROOMS)
        extend.register(COLD)
        extend.register(READINGS)
        register_all()
        extend.register(ROUNDS)
        extend.register(TRAPS)
        extend.register(FREEZING)
        extend.register(LIVING)  # after the readings, from which its demo tells what a move gains
        extend.register(ON_SHOW)
        extend.register(PLANS)
        extend.register(THIS_WEEK)  # last: it lists the jobs of all others, in the demo too
