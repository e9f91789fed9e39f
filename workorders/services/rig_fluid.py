"""Rig fluid against the seals in a unit and its service fluid: what may run, and who decides."""

from dataclasses import dataclass, field

from django.db.models import Value
from django.db.models.functions import Coalesce

from shop.calc.compatibility import GOOD, READ, Compatibility, fluid_compatibility
from shop.errors import RuleBroken
from shop.models import Fluid
from shop.services.writing import Act, keep, service
from workorders.models import FluidDecision, PartUsed, Rebuild
from workorders.services.standing import open_rebuild

RUNS, NEEDS_LEAD, MUST_NOT = "runs", "needs the lead", "must not run"


@dataclass(frozen=True, kw_only=True)
class FluidCheck:
    """One fluid against one unit: what forbids it, what the lead must decide, what was decided."""

    fluid: Fluid
    forbidden: list[str] = field(default_factory=list)
    concerns: list[str] = field(default_factory=list)
    decision: FluidDecision | None = None

    @property
    def word(self) -> str:
        """Whether the rig may run with it."""
        if self.forbidden:
            return MUST_NOT
        return RUNS if not self.concerns or self.decision else NEEDS_LEAD

    @property
    def may_run(self) -> bool:
        """Whether a test may start with it."""
        return self.word == RUNS


def fitted_polymers(rebuild: Rebuild) -> dict[str, list[str]]:
    """Return each sealing material fitted in a unit with the places where it sits."""
    fitted = rebuild.parts_used.filter(taken_back__isnull=True, use=PartUsed.Use.FITTED)
    sits_at = Coalesce("position__code", "component__code", "port__code", Value("unit"))
    places: dict[str, list[str]] = {}
    for polymer, code in fitted.order_by("pk").values_list("lot__part__polymer", sits_at):
        found = places.setdefault(polymer, [])
        if code not in found:
            found.append(code)
    places.pop("", None)
    return places


def check_fluid(rebuild: Rebuild, fluid: Fluid) -> FluidCheck:
    """Check one fluid against every fitted seal and the service fluid of the unit type."""
    return check_fluids(rebuild, [fluid])[0]


def check_fluids(rebuild: Rebuild, fluids: list[Fluid]) -> list[FluidCheck]:
    """Check fluids against a unit; the number of queries does not grow with the fluids."""
    polymers = fitted_polymers(rebuild)
    service_fluid = rebuild.revision.service_fluid
    decisions = list(rebuild.fluid_decisions.select_related("by"))
    return [_check(fluid, polymers, service_fluid, decisions) for fluid in fluids]


def _check(
    fluid: Fluid, polymers: dict[str, list[str]], service_fluid: Fluid | None, decisions: list[FluidDecision]
) -> FluidCheck:
    forbidden, concerns = [], []
    for polymer, places in polymers.items():
        found = fluid_compatibility(polymer=polymer, fluid=fluid.family)
        sentence = f"{polymer} at {', '.join(places)} in {fluid}: {_rating(found)}."
        if found.known_unsuitable:
            forbidden.append(sentence)
        elif (found.rating, found.basis) != (GOOD, READ):
            concerns.append(sentence)
    if service_fluid is None:
        concerns.append("The service fluid of this unit type is not known yet.")
    elif fluid.family != service_fluid.family:
        concerns.append(
            f"{fluid} ({fluid.get_family_display()}) is foreign to the service fluid {service_fluid} "
            f"({service_fluid.get_family_display()})."
        )
    fitting = (d for d in decisions if d.rig_fluid_id == fluid.pk and _covers(d, concerns))
    return FluidCheck(
        fluid=fluid, forbidden=forbidden, concerns=concerns, decision=max(fitting, key=_pk, default=None)
    )


def _rating(found: Compatibility) -> str:
    note = f" ({found.note})" if found.note else ""
    return f"{found.rating}{note}, {found.source if found.basis == READ else _basis(found)}"


def _basis(found: Compatibility) -> str:
    words = {"MEMORY": "from memory only", "CONFLICT": "sources disagree", "NOT LISTED": "not listed"}
    return words[found.basis]


def _pk(row: FluidDecision) -> int:
    return row.pk


def _covers(decision: FluidDecision, concerns: list[str]) -> bool:
    """Whether a decision was made knowing everything that stands against the fluid now."""
    return set(concerns) <= set(decision.concerns.splitlines())


def refuse_unsuitable(check: FluidCheck, name: str) -> None:
    """Raise RuleBroken, at the field ``name``, where a source that was read forbids the fluid."""
    if check.forbidden:
        raise RuleBroken(
            fields={
                name: f"{check.fluid} is known to ruin a seal in this unit and nobody may override it: "
                + " ".join(check.forbidden)
            }
        )


def require_runnable(check: FluidCheck) -> None:
    """Raise RuleBroken unless the rig may run with the fluid; say what is missing and whom to ask."""
    refuse_unsuitable(check, "rig_fluid")
    if not check.may_run:
        raise RuleBroken(
            fields={
                "rig_fluid": f"{check.fluid} needs the lead's decision for this unit, with a reason and the "
                "flushing afterwards. Ask the lead. What is open: " + " ".join(check.concerns)
            }
        )


@service("decide_fluid")
def decide_fluid(*, act: Act, rebuild: Rebuild, rig_fluid: Fluid, flushing: str) -> FluidDecision:
    """Let a rig fluid run that no source clears or that is foreign to the unit; ``act.why`` says why.

    Raises RuleBroken for a pair known unsuitable, which nobody may override, without reason or
    flushing, and where there is nothing to decide.
    """
    row = open_rebuild(rebuild)
    check = check_fluid(row, rig_fluid)
    refuse_unsuitable(check, "reason")
    if check.may_run:
        raise RuleBroken(f"{rig_fluid} may run in this unit as it is; there is nothing to decide.")
    texts = {"reason": act.why, "flushing": flushing}
    missing = {name: "This is still empty." for name, text in texts.items() if not text.strip()}
    if missing:
        raise RuleBroken(fields=missing)
    return keep(
        FluidDecision(
            rebuild=row,
            rig_fluid=rig_fluid,
            concerns="\n".join(check.concerns),
            flushing=flushing,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
