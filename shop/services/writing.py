"""The frame of every write: who, when and why, one transaction, files after the commit."""

import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cache, wraps
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ObjectDoesNotExist, ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from shop.errors import NotAllowed, RuleBroken
from shop.roles import may, refusal
from shop.triggers import told_by

if TYPE_CHECKING:
    from shop.models import User

P = ParamSpec("P")
R = TypeVar("R")
M = TypeVar("M", bound=models.Model)
logger = logging.getLogger("shop.refused")


@dataclass(frozen=True)
class Act:
    """One person doing one thing at one time, for a reason."""

    by: "User"
    at: datetime = field(default_factory=timezone.now)
    why: str = ""


_current: ContextVar[Act | None] = ContextVar("current_act", default=None)


_staged: ContextVar[list[Path] | None] = ContextVar("staged_files", default=None)


@contextmanager
def staging() -> Iterator[None]:
    """Delete the files staged inside the block when it fails; the outermost block decides."""
    if _staged.get() is not None:
        yield
        return
    files: list[Path] = []
    token = _staged.set(files)
    try:
        yield
    except BaseException:
        for path in files:
            path.unlink(missing_ok=True)
        raise
    finally:
        _staged.reset(token)


def note_staged(path: Path) -> None:
    """Remember a file that must go when the current write is refused."""
    files = _staged.get()
    if files is not None:
        files.append(path)


def current_act() -> Act | None:
    """Return the act being written, for history rows; None outside a service."""
    return _current.get()


@contextmanager
def acting(act: Act) -> Iterator[None]:
    """Make an act the current one while the block runs."""
    token = _current.set(act)
    try:
        yield
    finally:
        _current.reset(token)


def require(act: Act, action: str) -> None:
    """Raise NotAllowed, and log it, unless the act's person may do the action."""
    if not may(act.by, action):
        logger.warning("refused: user %s, action %s", act.by.pk, action)
        raise NotAllowed(refusal(act.by, action))


def service(action: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Decorate a write: check the role, open one transaction, carry who, when and why.

    The decorated function is called with keywords only and takes ``act``. It raises NotAllowed
    or RuleBroken, and then has written nothing.
    """

    def wrap(function: Callable[P, R]) -> Callable[P, R]:
        @wraps(function)
        def run(*args: P.args, **kwargs: P.kwargs) -> R:
            act = kwargs["act"]
            assert isinstance(act, Act)
            require(act, action)
            told = replace(act, why=act.why or function.__name__.replace("_", " "))
            with staging(), transaction.atomic(), acting(told):
                return function(*args, **kwargs)

        run.action = action  # type: ignore[attr-defined]
        return run

    return wrap


def keep(row: M) -> M:
    """Check a row's fields and save it; the database checks its constraints.

    Raises RuleBroken with a message per field, or with the message of the constraint or trigger
    by which the database refused. Foreign keys set from a row in hand, or read with the row, are
    not looked up again: the database holds them.
    """
    stored = not row._state.adding
    known = [
        field.name
        for field in row._meta.fields
        if field.is_relation and (stored or field.is_cached(row))  # type: ignore[attr-defined]
    ]
    try:
        row.clean_fields(exclude=known)
        row.clean()
    except ValidationError as error:
        raise broken(error) from error
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        try:
            row.validate_unique()
            row.validate_constraints()
        except ValidationError as told:
            raise broken(told) from error
        if words := told_by(error):
            raise RuleBroken(words) from error
        raise
    return row


def broken(error: ValidationError) -> RuleBroken:
    """Turn Django's ValidationError into the one exception that pages know."""
    if not hasattr(error, "error_dict"):
        return RuleBroken(" ".join(error.messages))
    found = {name: " ".join(texts) for name, texts in error.message_dict.items()}
    return RuleBroken(found.pop(NON_FIELD_ERRORS, ""), found)


def locked(row: M, *, fixed: Sequence[str] = ()) -> M:
    """Read a row again and hold it for this transaction (SQLite holds the whole file anyway).

    ``fixed`` names parents that never change once a row points to them, such as the revision of a
    rebuild: where the caller has read them, they are not read again.
    """
    model = type(row)
    fresh: M | None = next(iter(model._default_manager.raw(_locking_query(model), [row.pk])), None)
    if fresh is None:
        raise ObjectDoesNotExist(f"{model._meta.object_name} {row.pk} is gone.")
    for name in fixed:
        field = row._meta.get_field(name)
        if field.is_cached(row) and getattr(row, field.attname) == getattr(fresh, field.attname):  # type: ignore[union-attr]
            setattr(fresh, name, getattr(row, name))
    return fresh


@cache
def _locking_query(model: type[models.Model]) -> str:
    """Return the statement that reads one row and holds it; building it takes longer than running it.

    Held without its key: PostgreSQL looks at the commit for what a new row names, and would let
    whoever names the row, and waits for nothing else of it, wait for whoever holds it.
    """
    rows = model._default_manager.select_for_update(no_key=True).order_by().filter(pk=0)
    return str(rows.query.sql_with_params()[0])
