"""Start-up checks of the database: settings that lose commits, and libraries with a known fault."""

import sqlite3
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Warning, register

# The WAL-reset fault: fixed in SQLite 3.51.3 of 2026-03-13 (sqlite.org/wal.html#walresetbug).
FIRST_SOUND = (3, 51, 3)


def sqlite_warnings(database: dict[str, Any], version: tuple[int, ...]) -> list[CheckMessage]:
    """Return a warning for each setting of a SQLite database that is weaker than ours."""
    options = database.get("OPTIONS", {})
    pragmas = options.get("init_command", "").replace(" ", "").lower()
    found: list[CheckMessage] = []
    if options.get("transaction_mode") not in ("IMMEDIATE", "EXCLUSIVE"):
        hint = 'Set OPTIONS["transaction_mode"] = "IMMEDIATE".'
        found.append(Warning("A read that turns into a write fails at once.", hint=hint, id="shop.W001"))
    if "journal_mode=wal" not in pragmas:
        hint = "Add PRAGMA journal_mode=WAL to init_command."
        found.append(Warning("Readers wait for writers.", hint=hint, id="shop.W002"))
    if not any(f"synchronous={level}" in pragmas for level in ("full", "extra", "2", "3")):
        hint = "Add PRAGMA synchronous=FULL to init_command."
        found.append(Warning("A power cut can lose acknowledged commits.", hint=hint, id="shop.W003"))
    if float(options.get("timeout", 5)) < 5:
        hint = 'Set OPTIONS["timeout"] to 5 seconds or more.'
        found.append(Warning("Two people who write at once get errors.", hint=hint, id="shop.W004"))
    if version < FIRST_SOUND:
        text = ".".join(str(part) for part in version)
        hint = "Install pysqlite3, or serve with one process only."
        message = f"SQLite {text} can damage the file in WAL mode when several processes write."
        found.append(Warning(message, hint=hint, id="shop.W005"))
    return found


@register()
def check_database(**_kwargs: Any) -> list[CheckMessage]:
    """Check the database that the program will use."""
    database: dict[str, Any] = dict(settings.DATABASES["default"])
    found: list[CheckMessage] = []
    if database.get("ATOMIC_REQUESTS"):
        hint = "Leave ATOMIC_REQUESTS off."
        found.append(Warning("Every page view would take the write lock.", hint=hint, id="shop.W006"))
    if database["ENGINE"] == "django.db.backends.sqlite3":
        found += sqlite_warnings(database, sqlite3.sqlite_version_info)
    return found
