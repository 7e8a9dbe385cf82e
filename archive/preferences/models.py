"""What the keeper set once for the whole archive: one row."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class Preferences(models.Model):
    """The archive's settings; there is one row, with id 1."""

    class Units(models.TextChoices):
        METRIC = "metric", "millimetres, grams, °C"
        INCH = "inch", "inches, ounces, °F"

    class Paper(models.TextChoices):
        A4 = "a4", "A4"
        LETTER = "letter", "Letter"

    class DayOrder(models.TextChoices):
        ASK = "ask", "ask me each time"
        DAY = "day", "day first (3/4 is 3 April)"
        MONTH = "month", "month first (3/4 is 4 March)"

    class Theme(models.TextChoices):
        AUTO = "auto", "as this device is set"
        LIGHT = "light", "light"
        DARK = "dark", "dark"

    home_name = models.CharField("name of this home", max_length=120, default="Our home")
    zone = models.CharField("time zone of the home", max_length=60, default="UTC")
    units = models.CharField(max_length=10, choices=Units.choices, default=Units.METRIC)
    paper = models.CharField(max_length=10, choices=Paper.choices, default=Paper.A4)
    day_order = models.CharField(
        "order of day and month", max_length=10, choices=DayOrder.choices, default=DayOrder.ASK
    )
    southern = models.BooleanField("south of the equator (summer is in January)", default=False)
    language = models.CharField(max_length=10, choices=[("en", "English")], default="en")
    theme = models.CharField("light or dark pages", max_length=10, choices=Theme.choices, default=Theme.AUTO)
    visitors_allowed = models.BooleanField("let anyone on the home network look at what is open to all", default=False)
    starts_at_login = models.BooleanField("start Kistbook when I log in to this computer", default=False)
    privacy_years = models.PositiveSmallIntegerField(
        "people are taken to be living for this many years after birth",
        default=110,
        validators=[MinValueValidator(80), MaxValueValidator(130)],
    )

    label_sheet = models.JSONField("the keeper’s own label sheet and printer", default=dict, blank=True, editable=False)

    def day_first(self) -> bool | None:
        """Return the day order as the `date` sum wants it."""
        return {"day": True, "month": False}.get(self.day_order)
