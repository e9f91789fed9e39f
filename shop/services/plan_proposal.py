"""Which steps suit a unit type, from its family and the facts of its revision: a proposal, no limits."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from shop.models import Component, SealPosition, TestPlan, TestStep, TypeRevision, UnitType
from shop.services.writing import keep
from shop.step_kinds import KINDS, LIQUID, Code

Seal, Part = SealPosition.Kind, Component.Kind
Family = UnitType.Family
Side = TestStep.Side
# A unit that holds less than this gets the check of the blanked rig proposed (common practice, no source).
SMALL_ML = 50.0


@dataclass(frozen=True, kw_only=True)
class Proposed:
    """One step that suits a type, and the fact that speaks for it; figures only where the type has them."""

    code: Code
    why: str
    side: str = ""
    figures: dict[str, float] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """The name of the step: its kind, and the side where there is one."""
        name = KINDS[self.code].name
        side = f", {Side(self.side).label}" if self.side else ""
        return f"{name[:1].upper()}{name[1:]}{side}"


@dataclass(frozen=True)
class _Facts:
    """What a revision is made of, read once."""

    revision: TypeRevision
    seals: frozenset[str]
    parts: frozenset[str]

    def has(self, *kinds: str) -> bool:
        return bool(set(kinds) & (self.seals | self.parts))


def proposed_steps(revision: TypeRevision) -> list[Proposed]:
    """Return the steps that suit a revision, in the order in which they are usually done.

    What is measured dry comes first, then low pressure before high, and dryness last (common
    practice, no source).
    """
    facts = _Facts(
        revision,
        frozenset(revision.positions.values_list("kind", flat=True)),
        frozenset(revision.components.values_list("kind", flat=True)),
    )
    ways = {Family.CYLINDER: _cylinder, Family.POWER_UNIT: _power_unit, Family.VALVE_BLOCK: _valve_block}
    return [*ways[Family(revision.unit_type.family)](facts), _step(Code.DRYNESS, "every unit leaves dry")]


def missing_steps(plan: TestPlan) -> list[Proposed]:
    """Return the proposed steps that a plan has not; one on both sides stands for each, and the other way."""
    there = {(step.kind, step.side) for step in plan.steps.all()}
    return [step for step in proposed_steps(plan.revision) if not _is_there(step, there)]


def lacks_proof(revision: TypeRevision) -> bool:
    """Whether a proof would suit the family, and the type has no proof pressure to do it at."""
    return KINDS[Code.PROOF].suits(revision.unit_type.family) and revision.proof_pressure_bar is None


def _is_there(step: Proposed, there: set[tuple[str, str]]) -> bool:
    sides = {side for kind, side in there if kind == step.code}
    if step.side in sides or sides & {Side.BOTH, Side.NONE}:
        return True
    pair = set(KINDS[step.code].pair)
    return bool(sides) and step.side in (Side.BOTH, Side.NONE) and pair <= sides


def fill_plan(plan: TestPlan) -> TestPlan:
    """Write the proposed steps into an empty draft, without limits; call inside a service."""
    for order, step in enumerate(proposed_steps(plan.revision), 1):
        medium = LIQUID if KINDS[step.code].presses else ""
        keep(
            TestStep(
                plan=plan,
                order=order,
                kind=step.code,
                side=step.side,
                title=step.title,
                medium=medium,
                **step.figures,
            )
        )
    return plan


def _step(code: Code, why: str, side: str = "", **figures: float | None) -> Proposed:
    known = {name: value for name, value in figures.items() if value}
    return Proposed(code=code, why=why, side=side, figures=known)


def _cylinder(facts: _Facts) -> Iterator[Proposed]:
    yield from _blank_rig(facts)
    yield _step(Code.LOW_PRESSURE_LEAK, "every seal is tried without pressure behind it", Side.BOTH)
    yield _step(Code.BREAK_AWAY, "new seals can bind", Side.BOTH)
    yield _step(Code.STROKES, "it moves", Side.BOTH)
    yield from _proof(facts, (Side.BORE, Side.ROD))
    yield _step(Code.HOLD, "its leaks together, in bar per minute", Side.BORE)
    if facts.has(Seal.PISTON_SEAL, Part.PISTON):
        yield _step(Code.BYPASS, "it has a piston seal; a drift would not tell", Side.BORE)


def _power_unit(facts: _Facts) -> Iterator[Proposed]:
    revision = facts.revision
    if facts.has(Part.BRUSHES):
        yield _step(Code.BRUSH_LENGTH, "it has brushes")
    if facts.has(Part.BRUSHES, Part.COMMUTATOR, Part.COIL) or revision.supply_v:
        yield _step(Code.INSULATION, "it has windings")
    yield from _coil(facts)
    yield _step(Code.LOW_PRESSURE_LEAK, "every seal is tried without pressure behind it")
    if facts.has(Seal.SHAFT_SEAL):
        yield _step(Code.SHAFT_SEAL, "it has a motor shaft seal")
    yield _step(Code.FLOW, "it has a pump", Side.FORWARD)
    for side in (Side.FORWARD, Side.REVERSE):
        yield _step(Code.DEAD_HEAD, "it has a pump and a motor", side)
    yield _step(Code.CURRENT, "it has a motor", Side.FORWARD)
    yield _step(Code.RELIEF, "its relief guards the circuit", Side.FORWARD)
    yield from _checks(facts)
    yield _step(Code.OIL_SAMPLE, "dirt travels from here through the circuit")


def _valve_block(facts: _Facts) -> Iterator[Proposed]:
    yield from _blank_rig(facts)
    yield from _coil(facts)
    yield _step(Code.LOW_PRESSURE_LEAK, "every seal is tried without pressure behind it")
    yield from _proof(facts, (Side.NONE,))
    if facts.has(Part.SPRING):
        yield _step(Code.RELIEF, "it has a spring-loaded valve")
    yield from _checks(facts)


def _blank_rig(facts: _Facts) -> Iterator[Proposed]:
    if (volume_ml := facts.revision.volume_ml) and volume_ml < SMALL_ML:
        yield _step(Code.RIG_BLANK, f"it holds {volume_ml:g} mL: the rig leaks and gives more than that")


def _proof(facts: _Facts, sides: tuple[str, ...]) -> Iterator[Proposed]:
    revision = facts.revision
    if revision.proof_pressure_bar is None:
        return
    told = {"pressure_bar": revision.proof_pressure_bar, "hold_s": revision.proof_hold_s}
    for side in sides:
        yield _step(Code.PROOF, f"proof of the type: {revision.proof_basis}", side, **told)


def _coil(facts: _Facts) -> Iterator[Proposed]:
    if facts.has(Part.COIL):
        yield _step(Code.SOLENOID, "it has a solenoid")


def _checks(facts: _Facts) -> Iterator[Proposed]:
    if facts.has(Part.BALL, Seal.VALVE_SEAT_SEAL):
        yield _step(Code.HOLD_AFTER_STOP, "it has a check valve or a seat")
        yield _step(Code.MANUAL_RELEASE, "what holds must also be let down by hand")
