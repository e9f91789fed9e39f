"""A piston seal that leaks inside is shown by a failed bypass step or by damage seen, never by drift."""

from shop.errors import RuleBroken
from shop.models import SealPosition
from shop.step_kinds import Code
from workorders.models import Finding, PressureTest, StepResult, Verdict
from workorders.services.places import Place

DRIFT = "drift"
# Why, from yeskey.com and scribd.com 163207220; the other causes are common practice, no source.
DRIFT_IS_NO_PROOF = (
    "Drift does not show that a piston seal leaks. With both ports shut a cylinder with one rod stands "
    "still even without any piston seal, since the oil has nowhere to go; and a rod that creeps may do so "
    "for a valve, a hose, a fitting, the rod seal, or oil that cools."
)
DRIFT_SOURCE = "yeskey.com; scribd.com 163207220; the other causes are common practice, no source"
WHAT_SHOWS_IT = (
    "Do the bypass step at the end of the stroke, with the far port open into a measuring glass, or say "
    "which damage was seen."
)


def can_leak_inside(place: Place) -> bool:
    """Whether a place is one that can leak past a piston."""
    return isinstance(place, SealPosition) and place.kind == SealPosition.Kind.PISTON_SEAL


def set_evidence(finding: Finding, place: Place, evidence: str, note: str) -> None:
    """Set what shows a leak past the piston; refuse one that nothing but drift, or nothing, shows."""
    finding.evidence, finding.evidence_result = "", None
    if finding.condition != Finding.Condition.LEAKS_INSIDE:
        return
    if not can_leak_inside(place):
        raise RuleBroken(fields={"condition": "Only a piston seal leaks inside, from one side to the other."})
    if evidence not in Finding.Evidence.values or not evidence:
        start = DRIFT_IS_NO_PROOF if evidence == DRIFT else "Say what shows that it leaks inside."
        raise RuleBroken(fields={"evidence": f"{start} {WHAT_SHOWS_IT}"})
    if evidence == Finding.Evidence.SEEN and not note.strip():
        raise RuleBroken(fields={"note": "Say which damage was seen, and where."})
    if evidence == Finding.Evidence.BYPASS:
        finding.evidence_result = _failed_bypass(finding)
    finding.evidence = evidence


def _failed_bypass(finding: Finding) -> StepResult:
    """Return the latest bypass step of the unit that failed and can no longer change."""
    rebuild = finding.rebuild
    failed = StepResult.objects.filter(
        step__kind=Code.BYPASS,
        verdict=Verdict.FAILS,
        pressure_test__rebuild__unit=rebuild.unit_id,
        pressure_test__rebuild__number__lte=rebuild.number,
    ).order_by("-done_at", "-pk")
    if found := failed.exclude(pressure_test__state=PressureTest.State.RUNNING).first():
        return found
    if failed.exists():
        message = "The test of that bypass step still runs: sign or stop it first."
    else:
        message = f"No bypass step of this unit has failed. {DRIFT_IS_NO_PROOF} {WHAT_SHOWS_IT}"
    raise RuleBroken(fields={"evidence": message})
