"""The register of rigs: what is mounted on them, their fluid, and the tokens that they send with."""

import hashlib
import secrets
from datetime import date, timedelta
from typing import Any

from django.conf import settings

from shop.errors import RuleBroken
from shop.roles import may
from shop.services.writing import Act, keep, locked, service
from workorders.models import Instrument, Rig, RigChannel, RigToken
from workorders.services.instruments import shop_day

TOKEN_BYTES = 32  # 256 bits: nobody guesses one, so that a plain digest is enough to keep it


@service("rigs")
def save_rig(*, act: Act, rig: Rig | None = None, **fields: Any) -> Rig:
    """Add a rig to the register, or change one; ``fields`` are those of the model."""
    row = locked(rig) if rig else Rig()
    for name, value in fields.items():
        setattr(row, name, value)
    return keep(row)


@service("rigs")
def mount_instrument(*, act: Act, rig: Rig, instrument: Instrument, column: str = "") -> RigChannel:
    """Say that an instrument is mounted on a rig, and which column of its files it writes.

    An empty column is found in each file, as for a file handed in by hand. Raises RuleBroken for
    an instrument or a rig that is retired, one mounted elsewhere, and a column of another one.
    """
    row = locked(rig)
    if row.retired:
        raise RuleBroken("This rig is retired; take it back into use first.")
    if instrument.retired:
        raise RuleBroken(fields={"instrument": "This instrument is retired."})
    column = column.strip()
    taken = row.channels.select_related("instrument").filter(column__iexact=column).first()
    if column and taken:
        message = f"{taken.instrument.code} writes that column already."
        raise RuleBroken(fields={"column": message})
    return keep(RigChannel(rig=row, instrument=instrument, column=column))


@service("rigs")
def take_off_instrument(*, act: Act, channel: RigChannel) -> Rig:
    """Say that an instrument is no longer mounted; history keeps that it was. Returns the rig."""
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why it is taken off."})
    row = locked(channel)
    row.delete()
    return row.rig


@service("rigs")
def make_token(*, act: Act, rig: Rig, used_for: str, last_day: date | None = None) -> tuple[RigToken, str]:
    """Draw a token for a rig; return its row and the secret, which is told here and never again.

    Who makes it answers for what is sent with it. Several may be good at once, so that a new one
    can be put in place before the old one is revoked. ``last_day`` is the last one on which it is taken;
    without one it is good until it is revoked. Raises RuleBroken for a retired rig and a day that is past.
    """
    row = locked(rig)
    if row.retired:
        raise RuleBroken("This rig is retired; take it back into use first.")
    if last_day is not None and last_day < shop_day(act):
        raise RuleBroken(fields={"last_day": "This day is past; nothing would ever be taken with it."})
    secret = secrets.token_urlsafe(TOKEN_BYTES)
    token = keep(
        RigToken(
            rig=row,
            used_for=used_for.strip(),
            last_day=last_day,
            digest=digest_of(secret),
            begins=secret[:4],
            made_at=act.at,
            made_by=act.by,
        )
    )
    return token, secret


def usual_last_day(on: date) -> date:
    """Return the last day that is proposed for a token made on a day."""
    return on + timedelta(days=settings.RIG_TOKEN_DAYS)


@service("rigs")
def revoke_token(*, act: Act, token: RigToken) -> RigToken:
    """Make a token useless, with a reason; what was sent with it stays."""
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why it is revoked."})
    row = locked(token)
    if row.revoked_at:
        raise RuleBroken("This token was revoked already.")
    row.revoked_at, row.revoked_by, row.revoked_reason = act.at, act.by, act.why
    return keep(row)


def digest_of(secret: str) -> str:
    """Return the SHA-256 of a token as hexadecimal text."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def good_token(secret: str) -> RigToken | None:
    """Return the token of a secret, unless it is unknown or revoked.

    Only digests are compared, and the digest found once more in constant time.
    """
    digest = digest_of(secret)
    rows = RigToken.objects.select_related("rig", "made_by")
    row = rows.filter(digest=digest, revoked_at__isnull=True).first()
    known = row.digest if row else "0" * 64
    return row if secrets.compare_digest(known, digest) else None


def stands_for(token: RigToken) -> bool:
    """Whether who made a token may still hand in files: they answer for what is sent with it."""
    return may(token.made_by, "test")


def filled_rigs() -> list[Rig]:
    """Return the rigs in use of which the fluid is known."""
    return list(Rig.objects.filter(retired=False, fluid__isnull=False).select_related("fluid"))
