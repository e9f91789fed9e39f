"""The stage of a rebuild, derived from the work recorded and never chosen."""

from shop.services.writing import keep
from workorders.models import PressureTest, Rebuild, Release
from workorders.services.facts import Facts, facts_of

Stage = Rebuild.Stage


def standing_release(rebuild: Rebuild) -> Release | None:
    """Return the release that stands: the last one issued, while its pressure test stands.

    A test that was signed after it, since the earlier one was set aside, asks for a release of its own.
    """
    latest = rebuild.releases.order_by("-pk").first()
    if latest is None:
        return None
    before = {"state": PressureTest.State.SIGNED, "signature__lt": latest.signature_id}
    return latest if rebuild.pressure_tests.filter(**before).exists() else None


def derived_stage(rebuild: Rebuild) -> str:
    """Return the stage that the recorded facts of a rebuild amount to.

    A side exit is a fact of its own (``exit_reason`` with the stage set) and stays.
    """
    return stage_of(facts_of(rebuild))


def stage_of(facts: Facts) -> str:
    """Return the stage that facts amount to."""
    if facts.stage in Rebuild.SIDE_EXITS:
        return facts.stage
    if facts.packed:
        return Stage.SHIPPED
    if facts.released:
        return Stage.RELEASED
    if facts.has_test:
        return Stage.ON_TEST
    if not facts.signed_torn_down:
        return Stage.RECEIVED
    if facts.has_go_ahead:
        begun = facts.has_part or facts.has_operation or facts.has_outside_work
        return Stage.BUILDING if begun else Stage.GO_AHEAD
    return Stage.QUOTED if facts.has_quote else Stage.TORN_DOWN


def refresh_stage(rebuild: Rebuild) -> Rebuild:
    """Set the stage that follows from the facts; call at the end of a service that adds one."""
    facts = facts_of(rebuild)
    stage = stage_of(facts)
    if stage == facts.stage:
        rebuild.stage = stage
        return rebuild
    fresh = Rebuild.objects.get(pk=rebuild.pk)
    fresh.stage = stage
    return keep(fresh)
