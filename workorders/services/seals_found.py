"""The seal that came out of a place of a draft type: measured, and its size decided."""

from typing import Any

from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import SealPosition
from shop.services import draft_types
from shop.services.writing import Act, keep, service
from workorders.models import Instrument, Rebuild, SealFound
from workorders.services.draft_glands import judge_again
from workorders.services.draft_places import hold_draft
from workorders.services.instruments import calibration_state
from workorders.services.standing import Meaning, signature

Profile = SealFound.Profile
SIZES = {Profile.O_RING: ("section_mm",), Profile.LIP_SEAL: ("outside_mm", "height_mm")}


@service("draft_type")
def record_seal(
    *,
    act: Act,
    rebuild: Rebuild,
    position: SealPosition,
    profile: str,
    instrument: Instrument | None,
    **sizes: Any,
) -> SealFound:
    """Record the seal that came out of a position, in mm; a second call changes it.

    ``sizes``: inside_mm; section_mm of an O-ring; outside_mm and height_mm of another profile;
    set_most_pct and swell_most_pct, how far it may have changed; note. Raises RuleBroken for sizes
    that the profile lacks or that contradict each other, without an instrument for lengths that is
    in calibration, and as `hold_draft` does.
    """
    held = hold_draft(rebuild)
    if position.revision_id != held.revision_id:
        raise RuleBroken(f"{position} is not a place of {held.revision}.")
    _check_instrument(act, instrument)
    row = held.seals_found.filter(position=position).first() or SealFound(rebuild=held, position=position)
    row.profile, row.instrument = profile, instrument
    for name in ("section_mm", "outside_mm", "height_mm"):
        setattr(row, name, None)
    for name, value in sizes.items():
        SealFound._meta.get_field(name)
        setattr(row, name, value)
    _name_missing(row)
    row.measured_at, row.measured_by = act.at, act.by
    return keep(row)


@service("draft_type")
def choose_size(*, act: Act, rebuild: Rebuild, position: SealPosition, designation: str) -> SealPosition:
    """Write the size that a position takes into the draft; another one later needs a reason.

    Until the teardown is signed, the readings of its gland are judged again with that size. Raises
    RuleBroken without a size, for another one without a reason in ``act.why``, and as `hold_draft` does.
    """
    held = hold_draft(rebuild)
    if position.revision_id != held.revision_id:
        raise RuleBroken(f"{position} is not a place of {held.revision}.")
    size = " ".join(designation.split())
    if not size:
        raise RuleBroken(fields={"designation": "Name the size."})
    stands = SealPosition.objects.get(pk=position.pk).size_designation
    if stands and stands != size and not act.why.strip():
        raise RuleBroken(fields={"why": f"{stands} was chosen already. Say why it is another size."})
    saved = draft_types.save_found_place(
        act=act, revision=held.revision, place="position", row=position, size_designation=size
    )
    assert isinstance(saved, SealPosition)
    if signature(held, Meaning.TORN_DOWN) is None:
        judge_again(act, held, saved)
    return saved


def _name_missing(row: SealFound) -> None:
    """Name each size that the profile needs and lacks, before the database refuses all at once."""
    needed = ("inside_mm", *SIZES.get(Profile(row.profile), ())) if row.profile in Profile.values else ()
    missing = {name: "Measure this as well." for name in needed if getattr(row, name) is None}
    if missing:
        raise RuleBroken(fields=missing)
    if row.outside_mm is not None and row.outside_mm <= row.inside_mm:
        raise RuleBroken(fields={"outside_mm": "The outside diameter is above the inside diameter."})


def _check_instrument(act: Act, instrument: Instrument | None) -> None:
    if instrument is None:
        raise RuleBroken(fields={"instrument": "Choose the instrument that it was measured with."})
    if instrument.quantity != Instrument.Quantity.LENGTH:
        raise RuleBroken(fields={"instrument": f"{instrument} does not measure lengths."})
    state = calibration_state(instrument, timezone.localdate(act.at))
    if not state.is_valid:
        message = f"{instrument} is {state.word}. {state.sentence} Take another one."
        raise RuleBroken(fields={"instrument": message})
