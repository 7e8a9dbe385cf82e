"""The tables of a new archive, laid as they are today instead of by every change they ever went through.

Going through the changes one by one takes many seconds, nearly all of it spent on what Django knows of tables at each
step. A test compares the two ways, table by table.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.core.management.sql import emit_post_migrate_signal
from django.db import connection
from django.db.migrations import Migration, RunPython, RunSQL, SeparateDatabaseAndState
from django.db.migrations.executor import MigrationExecutor


def lay_tables() -> None:
    """Make all tables in an empty database, in one transaction, and note every change as done."""
    executor = MigrationExecutor(connection)
    goals = executor.loader.graph.leaf_nodes()
    plan = [migration for migration, _ in executor.migration_plan(goals)]
    state = executor.loader.project_state(goals)
    with connection.schema_editor(atomic=True) as editor:
        for model in state.apps.get_models():
            if model._meta.can_migrate(connection):
                editor.create_model(model)
        for migration, operation in _by_hand(plan):
            operation.database_forwards(migration.app_label, editor, state, state)
        executor.recorder.ensure_schema()
        for migration in plan:
            executor.recorder.record_applied(migration.app_label, migration.name)
    emit_post_migrate_signal(0, False, connection.alias)


def _by_hand(plan: list[Migration]) -> Iterator[tuple[Migration, Any]]:
    """Yield the steps that models do not tell of: SQL and Python written into the changes."""
    for migration in plan:
        for operation in migration.operations:
            inner = operation.database_operations if isinstance(operation, SeparateDatabaseAndState) else [operation]
            yield from ((migration, each) for each in inner if isinstance(each, RunSQL | RunPython))
