"""Two people at once: the second writes before the first is committed."""

from concurrent.futures import ThreadPoolExecutor, wait

from django.db import connection, transaction

from shop.errors import NotAllowed, RuleBroken

_WAITING = """SELECT pg_stat_clear_snapshot(), EXISTS (SELECT 1 FROM pg_stat_activity
  WHERE datname = current_database() AND wait_event_type = 'Lock')"""


def meanwhile(first, second):
    """Do ``first`` and, in a connection of its own, ``second``; return what each answered or was refused.

    What ``first`` wrote is committed once ``second`` is done, or waits for it. SQLite has one writer,
    so that there ``second`` comes after the commit. Needs a test with ``transaction=True``.
    """
    with ThreadPoolExecutor(1) as another:
        with transaction.atomic():
            told = _answer(first)
            if connection.vendor == "postgresql":
                answer = another.submit(_apart, second)
                while not wait([answer], timeout=0.01).done and not _somebody_waits():
                    pass
        if connection.vendor != "postgresql":
            answer = another.submit(_apart, second)
        return told, answer.result(timeout=60)


def _somebody_waits():
    with connection.cursor() as cursor:
        cursor.execute(_WAITING)
        return cursor.fetchone()[1]


def _apart(job):
    try:
        return _answer(job)
    finally:
        connection.close()


def _answer(job):
    try:
        return job()
    except (RuleBroken, NotAllowed) as refused:
        return refused
