"""Database triggers for rules that span rows or tables, so that no constraint can hold them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connections
from django.db.models.signals import post_migrate, pre_migrate


@dataclass(frozen=True)
class Rule:
    """Refuse a write to ``table``, fired by ``event``, where ``refused`` (SQL over NEW and OLD) holds.

    ``first`` is what PostgreSQL does before it looks, such as taking a lock: there, two writers
    at once do not see each other's rows. SQLite has one writer.
    """

    name: str
    table: str
    event: str
    refused: str
    words: str
    first: str = ""


_KEPT: list[Rule] = []


def told_by(error: Exception) -> str:
    """Return what the rule that refused a write says, as a sentence; empty where none of them did."""
    words = next((rule.words for rule in _KEPT if rule.words in str(error)), "")
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def _statements(rule: Rule, vendor: str) -> list[str]:
    if vendor != "postgresql":
        return [
            f"CREATE TRIGGER IF NOT EXISTS {rule.name} BEFORE {rule.event} ON {rule.table} "
            f"WHEN {rule.refused} BEGIN SELECT RAISE(ABORT, '{rule.words}'); END"
        ]
    return [
        f"CREATE OR REPLACE FUNCTION {rule.name}() RETURNS trigger AS $$ BEGIN {rule.first} "
        f"IF {rule.refused} THEN "
        f"RAISE EXCEPTION '{rule.words}' USING ERRCODE = 'integrity_constraint_violation'; "
        "END IF; RETURN NEW; END $$ LANGUAGE plpgsql",
        f"CREATE OR REPLACE TRIGGER {rule.name} BEFORE {rule.event} ON {rule.table} "
        f"FOR EACH ROW EXECUTE FUNCTION {rule.name}()",
    ]


def keep_rules(app: str, rules: Sequence[Rule]) -> None:
    """Keep an app's triggers in place: taken away before each migrate, put back after it.

    SQLite renames no table that a trigger reads, and loses the triggers of a table it rebuilds.
    """
    _KEPT.extend(rules)

    def take_away(app_config: Any, using: str, **_kwargs: Any) -> None:
        if app_config.name != app:
            return
        connection = connections[using]
        with connection.cursor() as cursor:
            present = set(connection.introspection.table_names(cursor))
            for rule in rules:
                if rule.table in present:
                    on = f" ON {rule.table}" if connection.vendor == "postgresql" else ""
                    cursor.execute(f"DROP TRIGGER IF EXISTS {rule.name}{on}")

    def install(app_config: Any, using: str, **_kwargs: Any) -> None:
        if app_config.name != app:
            return
        connection = connections[using]
        with connection.cursor() as cursor:
            present = set(connection.introspection.table_names(cursor))
            if {rule.table for rule in rules} <= present:
                for rule in rules:
                    for statement in _statements(rule, connection.vendor):
                        cursor.execute(statement)

    pre_migrate.connect(take_away, weak=False, dispatch_uid=f"{app}.{rules[0].name}.take_away")
    post_migrate.connect(install, weak=False, dispatch_uid=f"{app}.{rules[0].name}.install")
