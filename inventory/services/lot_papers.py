"""What is known of a lot beside its package: certificates, and a later use-by date after inspection."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.files.uploadedfile import UploadedFile

from inventory.calc.storage_life import STANDARDS, StorageLife, storage_life
from inventory.models import Lot, LotCertificate, LotInspection
from inventory.services.lot_state import hold_lot
from inventory.services.stock import day_of, receive_lot
from shop.errors import RuleBroken
from shop.services.files import store_paper
from shop.services.writing import Act, keep, locked, service


@service("stores")
def receive_with_papers(*, act: Act, certificates: Sequence["UploadedFile[Any]"] = (), **fields: Any) -> Lot:
    """Receive a lot, as ``receive_lot`` does, with its certificates."""
    lot = receive_lot(act=act, **fields)
    if certificates:
        add_certificates(act=act, lot=lot, uploads=certificates)
    return lot


@service("stores")
def add_certificates(
    *, act: Act, lot: Lot, uploads: Sequence["UploadedFile[Any]"], title: str = ""
) -> list[LotCertificate]:
    """Keep files as certificates of a lot: PDFs as they are, or photos of the paper.

    Raises RuleBroken where no file came, or one is neither PDF nor photo.
    """
    if not uploads:
        raise RuleBroken(fields={"certificates": "Choose a file."})
    return [
        keep(
            LotCertificate(
                lot=lot, file=store_paper(act=act, upload=upload, field="certificates"), title=title.strip()
            )
        )
        for upload in uploads
    ]


@service("stores")
def withdraw_certificate(*, act: Act, certificate: LotCertificate) -> LotCertificate:
    """Withdraw a certificate that belongs to another lot; ``act.why`` stays with it."""
    row = locked(certificate)
    if row.withdrawn_why:
        raise RuleBroken(f"This certificate is withdrawn already: {row.withdrawn_why}")
    row.withdrawn_why = act.why.strip()[:200]
    if not row.withdrawn_why:
        raise RuleBroken(fields={"why": "Say why it is withdrawn; the reason stays with the record."})
    return keep(row)


def extension_of(lot: Lot) -> tuple[StorageLife | None, str]:
    """Return the life of a lot whose use-by date an inspection may extend, else None and why not."""
    if lot.made_here:
        return None, (
            "The standards speak of parts before assembly: a lot made here keeps the date of what is inside."
        )
    if lot.computed_use_by is None:
        return None, "This lot has no use-by date to extend."
    if lot.inspections.filter(purpose="extension", passed=True).exists():
        return None, "The use-by date of this lot was extended already; the standard does so once."
    life = storage_life(polymer=lot.part.polymer, cure=lot.cure_date, standard=lot.storage_standard)
    if life.use_by_after_inspection is None:
        return None, f"{STANDARDS[lot.storage_standard]}, as it was read, gives no extension of its limit."
    return life, ""


@service("stores")
def extend_lot(
    *, act: Act, lot: Lot, what: str, pieces: int, passed: bool, until: date | None = None
) -> LotInspection:
    """Record an inspection for a later use-by date; a passed one sets it, a failed one holds the lot.

    ``until`` None is the latest date of the standard. Raises RuleBroken where the standard gives
    no extension, it was given already, or the date lies outside what it gives.
    """
    lot = locked(lot)
    life, why_not = extension_of(lot)
    if life is None:
        raise RuleBroken(why_not)
    limit = life.use_by_after_inspection
    assert limit is not None
    if passed:
        until = _checked_until(lot, until or limit, limit, day_of(act))
    if pieces > lot.quantity_received:
        message = f"That is more than the lot had: {lot.quantity_received}."
        raise RuleBroken(fields={"pieces": message})
    inspection = keep(
        LotInspection(
            lot=lot,
            purpose=LotInspection.Purpose.EXTENSION,
            pieces=pieces,
            what=what.strip(),
            passed=passed,
            extended_until=until if passed else None,
            limit_until=limit,
            basis=f"{life.basis}; after a passed inspection until {limit:%d %b %Y}, once"[:300],
            by=act.by,
            at=act.at,
            why=act.why[:300],
        )
    )
    if passed:
        lot.use_by = until
        keep(lot)
    elif lot.state != Lot.State.ON_HOLD:
        hold_lot(act=act, lot=lot, reason=f"failed the inspection for a later use-by date: {what.strip()}")
    return inspection


def _checked_until(lot: Lot, until: date, limit: date, today: date) -> date:
    assert lot.use_by is not None
    if until > limit:
        message = f"{STANDARDS[lot.storage_standard]} goes to {limit:%d %b %Y} at most."
    elif until <= lot.use_by:
        message = f"The lot may be used until {lot.use_by:%d %b %Y} as it is."
    elif until < today:
        message = "That day has passed: no inspection helps any more."
    else:
        return until
    raise RuleBroken(fields={"until": message})
