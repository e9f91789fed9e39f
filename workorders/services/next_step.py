"""What comes next for a rebuild, and who may do it."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.urls import reverse

from shop.models import TypeRevision
from workorders.models import Finding, PressureTest, Rebuild, Verdict
from workorders.services.recall_state import Carried, stopped
from workorders.services.stages import standing_release
from workorders.services.standing import Meaning, current_test, signature, standing_build

AFTER_TEST: Mapping[str, str] = {
    Verdict.FAILS: "The test fails: supersede it with a reason, put the unit right and test it again.",
    Verdict.NOT_DECIDED: (
        "The test is not decided: supersede it with a reason and test again, "
        "with a finer instrument or a longer hold."
    ),
    Verdict.INVALID: (
        "The test is invalid: supersede it with a reason and test again with instruments in calibration."
    ),
}


@dataclass(frozen=True)
class NextStep:
    """The next step in a sentence; ``action`` of shop.roles, address and words of its button.

    A rebuild that is closed has neither action nor address.
    """

    sentence: str
    action: str = ""
    url: str = ""
    label: str = ""


def next_step(rebuild: Rebuild) -> NextStep:
    """Return what comes next, from the facts recorded."""
    before = _before_building(rebuild) if rebuild.is_open and not standing_release(rebuild) else None
    if not before and (stops := stopped(rebuild)):
        return _stopped(rebuild, stops[0])
    if rebuild.stage == Rebuild.Stage.RETURNED_AS_FOUND and not hasattr(rebuild, "packed"):
        url = reverse("workorders:pack", args=[rebuild.work_order.number])
        return NextStep("The unit waits to go back as found, with its signed paper.", "ship", url, "Pack")
    if not rebuild.is_open:
        return NextStep(f"Nothing: this rebuild is closed ({rebuild.get_stage_display()}).")
    if standing_release(rebuild):
        return _packing(rebuild)
    return before or _building(rebuild) or _testing(rebuild)


def _stopped(rebuild: Rebuild, row: Carried) -> NextStep:
    """Lead a unit that a recall stops to where the part is renewed; a standing test comes off first."""
    if not rebuild.is_open:
        url = reverse("workorders:recall_decide", args=[row.recall.number, rebuild.pk])
        return NextStep(f"Stopped: {row.sentence}.", "recall_decide", url, "Decide")
    if test := current_test(rebuild):
        sentence = f"Stopped: {row.sentence}. The test is superseded with a reason before the unit is opened."
        return NextStep(sentence, "test", test.get_absolute_url(), "To the test")
    url = reverse("workorders:build", args=[rebuild.pk])
    return NextStep(f"Stopped: {row.sentence}.", "build", url, "Renew the part")


def _packing(rebuild: Rebuild) -> NextStep:
    lying = rebuild.packing_units.lying().select_related("parcel__packing__work_order").first()
    order = lying.parcel.packing.work_order if lying else rebuild.work_order
    url = reverse("workorders:pack", args=[order.number])
    if lying:
        return NextStep(
            f"The unit lies in {lying.parcel} of the {lying.parcel.packing}, until that is sent off.",
            "ship",
            url,
            "Go on packing",
        )
    return NextStep("The unit is released and waits on the shelf until it ships.", "ship", url, "Pack")


def _before_building(rebuild: Rebuild) -> NextStep | None:
    if not signature(rebuild, Meaning.RECEIVED):
        url = reverse("workorders:intake", args=[rebuild.pk])
        return NextStep("The inspection on arrival is to be signed.", "receive", url, "To the intake")
    if not signature(rebuild, Meaning.TORN_DOWN):
        url = reverse("workorders:teardown", args=[rebuild.pk])
        return NextStep("The unit is to be torn down and looked at.", "teardown", url, "Tear down")
    if rejected := rebuild.findings.filter(action=Finding.Action.REJECTED).first():
        url = reverse("workorders:side_exit", args=[rebuild.pk])
        sentence = f"{rejected.place} is rejected: the unit is to be taken out of the rebuild."
        return NextStep(sentence, "side_exit", url, "Take it out")
    if rebuild.revision.state == TypeRevision.State.DRAFT:
        code = rebuild.revision.unit_type.code
        url = reverse("workorders:draft", args=[rebuild.revision_id])
        sentence = (
            f"Its draft type {code} is to be approved, or found to be a known type, before it is built."
        )
        return NextStep(sentence, "catalogue", url, "Look at the draft")
    if not rebuild.go_aheads.exists():
        url = reverse("workorders:go_ahead", args=[rebuild.pk])
        return NextStep("A go-ahead is needed before building.", "go_ahead", url, "Record the go-ahead")
    return None


def _building(rebuild: Rebuild) -> NextStep | None:
    if current_test(rebuild) or standing_build(rebuild):
        return None
    url = reverse("workorders:build", args=[rebuild.pk])
    again = signature(rebuild, Meaning.BUILT) is not None
    sentence = (
        "Something was changed after the build was signed; it is to be signed again."
        if again
        else "Parts are to be fitted, rework done and the build signed."
    )
    return NextStep(sentence, "build", url, "Build")


def _testing(rebuild: Rebuild) -> NextStep:
    test = current_test(rebuild)
    if test is None:
        url = reverse("workorders:test_start", args=[rebuild.pk])
        return NextStep("The unit is to be tested.", "test", url, "Start the test")
    if test.state == PressureTest.State.RUNNING:
        return NextStep("A test is running.", "test", test.get_absolute_url(), "Go on with the test")
    if test.verdict != Verdict.PASSES:
        return NextStep(AFTER_TEST[test.verdict], "test", test.get_absolute_url(), "To the test")
    if earlier := rebuild.releases.order_by("-pk").first():
        sentence = f"The test passed; release {earlier.number} rested on an earlier one, and is issued anew."
        return NextStep(
            sentence, "release", reverse("workorders:reissue", args=[earlier.number]), "Release anew"
        )
    url = reverse("workorders:release_rebuild", args=[rebuild.pk])
    return NextStep("The test passed; the lead signs the release.", "release", url, "Release")
