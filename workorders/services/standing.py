"""What stands in a rebuild, and what it forbids: signatures, a current test, a release."""

from datetime import datetime

from shop.errors import RuleBroken
from shop.models import TypeRevision
from shop.services.writing import Act, locked
from workorders.models import PressureTest, Rebuild, Signature
from workorders.services.facts import Facts, facts_of, standing_build_key

Meaning = Signature.Meaning
UNAPPROVED = (
    "{} is a draft opened at the bench: nothing is built to it until the lead has approved it, "
    "or moved the unit to a type that is known."
)


def signature(rebuild: Rebuild, meaning: str) -> Signature | None:
    """Return the latest signature of one meaning."""
    return rebuild.signatures.filter(meaning=meaning).order_by("-pk").first()


def current_test(rebuild: Rebuild) -> PressureTest | None:
    """Return the test that is running or stands; superseded ones are history."""
    return rebuild.pressure_tests.exclude(state=PressureTest.State.SUPERSEDED).first()


def open_rebuild(rebuild: Rebuild) -> Rebuild:
    """Read a rebuild again and hold it; call inside a service.

    Raises RuleBroken when the unit has left, or is released.
    """
    return hold_open(rebuild)[0]


def hold_open(rebuild: Rebuild) -> tuple[Rebuild, Facts]:
    """Return what ``open_rebuild`` does, with the facts of the rebuild as they are now."""
    # Serial of the unit and number of the work order never change, so the rows in hand will do.
    row = locked(rebuild, fixed=("revision", "unit", "work_order"))
    if not row.is_open:
        raise RuleBroken(f"This rebuild is closed ({row.get_stage_display()}); its record stays as it is.")
    facts = facts_of(row)
    if facts.released:
        raise RuleBroken(
            "This rebuild is released; its record stays as signed. If something is wrong, the lead "
            "supersedes the test with a reason, and the work goes on from there."
        )
    return row, facts


def check_done_at(act: Act, rebuild: Rebuild, done_at: datetime | None) -> None:
    """Raise RuleBroken for a time of completion before the unit came, or after now."""
    if done_at is None:
        return
    if done_at > act.at:
        raise RuleBroken(fields={"done_at": "The work cannot be completed in the future."})
    if done_at < rebuild.received_at:
        raise RuleBroken(fields={"done_at": "The unit was not here yet at that time."})


def standing_build(rebuild: Rebuild) -> Signature | None:
    """Return the signature of the build that stands: nothing it covers was changed after it."""
    key = standing_build_key(rebuild)
    return Signature.objects.select_related("by").get(pk=key) if key else None


def begin_build(act: Act, rebuild: Rebuild) -> Rebuild:
    """Read a rebuild again, hold it, and make sure that parts and rework may be recorded.

    Raises RuleBroken, naming what comes first: the teardown, the approval of a draft type, the
    go-ahead, superseding the test;
    and once the build is signed, without a reason in ``act.why``.
    """
    row, facts = hold_open(rebuild)
    if not facts.signed_torn_down:
        raise RuleBroken("The teardown is not signed yet; close it before building.")
    if row.revision.state == TypeRevision.State.DRAFT:
        raise RuleBroken(UNAPPROVED.format(row.revision))
    if not facts.has_go_ahead:
        raise RuleBroken("No go-ahead is recorded yet; building needs one.")
    if facts.has_current_test and (test := current_test(row)):
        raise RuleBroken(
            f"Test {test.number} is {test.get_state_display()}. "
            "Supersede it with a reason before anything in the unit is changed."
        )
    if facts.signed_built and not act.why.strip() and standing_build_key(row):
        raise RuleBroken(fields={"why": "The build is signed already. Say why it is opened again."})
    return row
