"""What belongs to a kit: the lead says which part goes to which place, and why."""

from django.db.models import ProtectedError

from inventory.models import Kit, KitLine, PackedKit, Part
from inventory.services.part_fit import Place, part_fit
from inventory.services.upgrades import NO_UPGRADE, Upgrade, set_upgrade, upgrade_of
from shop.errors import RuleBroken
from shop.models import Component, Hose, Port, SealPosition, TypeRevision
from shop.services.writing import Act, keep, locked, service

PLACES: dict[str, type[Place]] = {
    "position": SealPosition,
    "component": Component,
    "port": Port,
    "hose": Hose,
}


@service("catalogue")
def make_kit(*, act: Act, revision: TypeRevision, name: str = "", copy_from: Kit | None = None) -> Kit:
    """Give a revision its kit: empty, or with the lines of another kit whose place codes exist here.

    Raises RuleBroken where the revision has a kit already or is superseded.
    """
    _check_revision(act, revision)
    if Kit.objects.filter(revision=revision).exists():
        raise RuleBroken(f"{revision} has a kit already; change that one.")
    kit = keep(Kit(revision=revision, name=name.strip() or f"Kit for {revision}"))
    lines = (
        copy_from.lines.select_related("part", "position", "component", "port", "hose") if copy_from else ()
    )
    for line in lines:
        kind = next(kind for kind in PLACES if getattr(line, f"{kind}_id"))
        place = PLACES[kind]._default_manager.filter(revision=revision, code=line.place.code).first()
        if place:
            copy = KitLine(kit=kit, part_id=line.part_id, quantity=line.quantity)
            copy.preference, copy.required, copy.reason = line.preference, line.required, line.reason
            setattr(copy, kind, place)
            set_upgrade(copy, upgrade_of(line), line.part)
            keep(copy)
    return kit


@service("catalogue")
def save_kit_line(
    *,
    act: Act,
    kit: Kit,
    place: Place,
    part: Part,
    quantity: int = 1,
    preference: int = 1,
    required: bool = True,
    reason: str = "",
    upgrade: Upgrade = NO_UPGRADE,
    line: KitLine | None = None,
) -> KitLine:
    """Add or change a line of a kit.

    Raises RuleBroken for a place of another revision, a material that a source calls unsuitable
    for the service fluid, a part that does not fit motion, size, gland or fluid without a reason,
    a change of part while packed kits hold the old one, and as ``set_upgrade`` does.
    """
    _check_revision(act, kit.revision)
    if place.revision_id != kit.revision_id:
        raise RuleBroken(fields={"place": f"{place} belongs to another revision."})
    _check_part(kit.revision, place, part, reason)
    row = locked(line) if line else KitLine(kit=kit)
    if line and (row.part_id != part.pk or row.place != place):
        _check_not_packed(row)
    row.position = place if isinstance(place, SealPosition) else None
    row.component = place if isinstance(place, Component) else None
    row.port = place if isinstance(place, Port) else None
    row.hose = place if isinstance(place, Hose) else None
    row.part, row.quantity, row.preference = part, quantity, preference
    row.required, row.reason = required, reason.strip()
    set_upgrade(row, upgrade, part)
    return keep(row)


@service("catalogue")
def remove_kit_line(*, act: Act, line: KitLine) -> Kit:
    """Take a line out of its kit; refused once a kit was packed with it."""
    kit = line.kit
    _check_revision(act, kit.revision)
    try:
        locked(line).delete()
    except ProtectedError as error:
        raise RuleBroken(
            "Kits were packed with this line, so it stays in the record. Change its part, "
            "or leave the line out in the next revision."
        ) from error
    return kit


def _check_revision(act: Act, revision: TypeRevision) -> None:
    state = locked(revision).state
    if state == TypeRevision.State.SUPERSEDED:
        raise RuleBroken(f"{revision} is superseded; its kit no longer changes.")
    if state == TypeRevision.State.APPROVED and not act.why.strip():
        message = "The revision is approved: say why its kit changes; the reason stays in the history."
        raise RuleBroken(fields={"why": message})


def _check_part(revision: TypeRevision, place: Place, part: Part, reason: str) -> None:
    fit = part_fit(part=part, place=place, revision=revision)
    if fit.refusal:
        raise RuleBroken(fields={"part": fit.refusal})
    if fit.asks and not reason.strip():
        raise RuleBroken(fields={"reason": f"{place}: {fit.question} Say why it is the right part."})


def _check_not_packed(line: KitLine) -> None:
    packed = PackedKit.objects.filter(state=PackedKit.State.PACKED, lines__kit_line=line)
    codes = ", ".join(packed.values_list("code", flat=True))
    if codes:
        raise RuleBroken(fields={"part": f"Packed kits hold the old part: unpack {codes} first."})
