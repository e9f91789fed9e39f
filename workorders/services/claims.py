"""Claims: opened against a warranty, judged with a reason, leading to a new rebuild."""

from shop.errors import RuleBroken
from shop.models import Customer
from shop.services.customers import standing
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.models import Claim, Rebuild, Unit, Warranty


@service("claims")
def open_claim(*, act: Act, warranty: Warranty, claimant: Customer, reported: str) -> Claim:
    """Open a claim against the warranty of one rebuild; it may lie past the warranty's end.

    Raises RuleBroken where another claim on that warranty still waits for its judgement.
    """
    held = locked(warranty)
    waiting = held.claims.filter(judgement="").first()
    if waiting:
        raise RuleBroken(f"Claim {waiting.number} on this warranty is still open; add to that one.")
    return keep(
        Claim(
            number=next_number("K", act.at),
            warranty=held,
            claimant=standing(claimant),
            reported=reported,
            opened_at=act.at,
            opened_by=act.by,
        )
    )


@service("claims")
def add_to_claim(*, act: Act, claim: Claim, reported: str) -> Claim:
    """Add what the customer told later to an open claim; raises RuleBroken once it is judged."""
    row = locked(claim)
    if row.judgement:
        raise RuleBroken("This claim is judged; open a new one.")
    row.reported = f"{row.reported}\n\n{reported}".strip()
    return keep(row)


@service("claims")
def judge_claim(*, act: Act, claim: Claim, judgement: str, reason: str) -> Claim:
    """Judge a claim: accepted, declined or goodwill, with the reason.

    A judged claim may be judged again, with another reason; history keeps the first judgement.
    Raises RuleBroken without a reason or where the judgement stays as it is.
    """
    row = locked(claim)
    if judgement not in (Claim.Judgement.ACCEPTED, Claim.Judgement.DECLINED, Claim.Judgement.GOODWILL):
        raise RuleBroken(fields={"judgement": "Choose accepted, declined or goodwill."})
    if not reason.strip():
        raise RuleBroken(fields={"reason": "Give the reason for the judgement."})
    if row.judgement == judgement and row.reason == reason:
        raise RuleBroken("The claim is judged that way already.")
    row.judgement, row.reason = judgement, reason
    row.judged_at, row.judged_by = act.at, act.by
    return keep(row)


@service("claims")
def compare_unit(*, act: Act, claim: Claim, identity: str, note: str) -> Claim:
    """Record whether the unit that came back is the one that was sent, by its mark and photos.

    May be recorded again with what was seen then; history keeps the first. Raises RuleBroken
    without a word of what was seen, and for another unit on a claim that is accepted already.
    """
    row = locked(claim)
    if identity not in (Claim.Identity.SAME, Claim.Identity.NO_MARK, Claim.Identity.OTHER):
        raise RuleBroken(fields={"identity": "Say what the comparison showed."})
    if not note.strip():
        raise RuleBroken(fields={"note": "Say what was compared and what was seen."})
    row.identity, row.identity_note = identity, note.strip()
    row.identity_at, row.identity_by = act.at, act.by
    return keep(row)


def pending_claim(unit: Unit) -> Claim | None:
    """Return the oldest claim on a unit that is not declined and has no rebuild yet."""
    claims = Claim.objects.filter(warranty__rebuild__unit=unit, rebuild__isnull=True)
    return claims.exclude(judgement=Claim.Judgement.DECLINED).order_by("pk").first()


def carried_warranty(rebuild: Rebuild) -> Warranty | None:
    """Return the warranty whose remaining term a rebuild carries on, or None.

    That is the one claimed on, after an accepted or goodwill claim under the remaining-term policy.
    """
    claim: Claim | None = getattr(rebuild, "from_claim", None)
    if claim is None or claim.judgement not in (Claim.Judgement.ACCEPTED, Claim.Judgement.GOODWILL):
        return None
    carried = claim.warranty
    return carried if carried.policy == Warranty.Policy.REMAINING_TERM else None


@service("link_claim")
def link_rebuild(*, act: Act, claim: Claim, rebuild: Rebuild) -> Claim:
    """Tie a claim to the new rebuild of the same unit that it led to.

    Raises RuleBroken for a rebuild of another unit, an earlier rebuild, or a claim already tied.
    """
    row = locked(claim)
    claimed = row.warranty.rebuild
    if row.rebuild:
        raise RuleBroken(f"Claim {row.number} is tied to {row.rebuild} already.")
    if rebuild.unit_id != claimed.unit_id or rebuild.number <= claimed.number:
        raise RuleBroken("A claim leads to a later rebuild of the same unit.")
    row.rebuild = rebuild
    return keep(row)
