"""Makes a table and fills it from the things, then a second step changes it: slow enough to be cut off anywhere."""

from __future__ import annotations

import time
from typing import Any

from django.db import migrations, models


def fill(apps: Any, schema_editor: Any) -> None:
    copies = apps.get_model("later_change", "Copy")
    for title in list(apps.get_model("archive", "Thing").objects.values_list("title", flat=True)):
        copies.objects.create(title=title)
        time.sleep(0.004)


class Migration(migrations.Migration):
    dependencies = [("archive", "__first__")]
    operations = [
        migrations.CreateModel("Copy", [("id", models.BigAutoField(primary_key=True)), ("title", models.TextField())]),
        migrations.RunPython(fill),
        migrations.AddField("Copy", "length", models.IntegerField(default=0)),
    ]
