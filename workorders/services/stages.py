"""The stage of a rebuild, derived from the work recorded and never chosen."""

from shop.services.writing import keep
from workorders.models import PressureTest, Rebuild, Release, Signature

Stage = Rebuild.Stage


def standing_release(rebuild: Rebuild) -> Release | None:
    """Return the release that stands: the last one issued, while its pressure test stands."""
    latest = rebuild.releases.order_by("-pk").first()
    if latest is None or not rebuild.pressure_tests.filter(state=PressureTest.State.SIGNED).exists():
        return None
    return latest


def derived_stage(rebuild: Rebuild) -> str:
    """Return the stage that the recorded facts of a rebuild amount to.

    A side exit is a fact of its own (``exit_reason`` with the stage set) and stays.
    """
    if rebuild.stage in Rebuild.SIDE_EXITS:
        return rebuild.stage
    if hasattr(rebuild, "packed"):
        return Stage.SHIPPED
    if standing_release(rebuild):
        return Stage.RELEASED
    if rebuild.pressure_tests.exists():
        return Stage.ON_TEST
    if not rebuild.signatures.filter(meaning=Signature.Meaning.TORN_DOWN).exists():
        return Stage.RECEIVED
    if rebuild.go_aheads.exists():
        begun = rebuild.parts_used.exists() or rebuild.operations.exists()
        return Stage.BUILDING if begun else Stage.GO_AHEAD
    return Stage.QUOTED if rebuild.quotes.exists() else Stage.TORN_DOWN


def refresh_stage(rebuild: Rebuild) -> Rebuild:
    """Set the stage that follows from the facts; call at the end of a service that adds one."""
    fresh = Rebuild.objects.get(pk=rebuild.pk)
    stage = derived_stage(fresh)
    if stage != fresh.stage:
        fresh.stage = stage
        keep(fresh)
    return fresh
