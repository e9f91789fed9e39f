"""What a kind of test step is: what it shows, needs, asks and warns of. No limit ever comes from here."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.cautions import Caution

CYLINDER, POWER_UNIT, VALVE_BLOCK = "cylinder", "power_unit", "valve_block"
EVERY_FAMILY = (CYLINDER, POWER_UNIT, VALVE_BLOCK)
ENDS = ("both", "bore", "rod")
TURNS = ("forward", "reverse")
NO_SIDE = ("",)
LIQUID, GAS = "liquid", "gas"
# Fields of a step, in words; `STATED` is the order in which an editor asks for them.
STATED: dict[str, str] = {
    "pressure_bar": "the pressure",
    "hold_s": "the time",
    "time_limit_s": "the longest time that it may run",
    "voltage_v": "the voltage",
    "load_n": "the load",
    "fixture": "the fixture",
    "relief_bar": "the pressure at which its relief opens at the latest",
}


class Code(StrEnum):
    """The kinds of step, as they are stored."""

    LOW_PRESSURE_LEAK = "low_pressure_leak"
    PROOF = "proof"
    HOLD = "hold"
    BYPASS = "bypass"
    BREAK_AWAY = "break_away"
    STROKES = "strokes"
    DRIFT = "drift"
    SHAFT_SEAL = "shaft_seal"
    DEAD_HEAD = "dead_head"
    BRUSH_LENGTH = "brush_length"
    INSULATION = "insulation"
    FLOW = "flow"
    RELIEF = "relief"
    MANUAL_RELEASE = "manual_release"
    SOLENOID = "solenoid"
    CURRENT = "current"
    HOLD_AFTER_STOP = "hold_after_stop"
    DRYNESS = "dryness"
    OIL_SAMPLE = "oil_sample"
    RIG_BLANK = "rig_blank"


@dataclass(frozen=True, kw_only=True)
class Ask:
    """One reading of a step: the ways it may be judged (the first is proposed), quantity and unit.

    ``bound`` says which limit is usual: "most", "least", "between", or empty where there is none.
    The number of the limit is the lead's.
    """

    name: str
    judged: tuple[str, ...]
    quantity: str = ""
    unit: str = ""
    bound: str = ""
    figure: str = ""
    needed: bool = True

    def is_met_by(self, *, judged: str, quantity: str) -> bool:
        """Whether a limit judged in that way is this reading; counts and sights have no quantity."""
        return judged in self.judged and (not quantity or not self.quantity or quantity == self.quantity)


@dataclass(frozen=True, kw_only=True)
class Condition:
    """What is confirmed by a person before the step, as a sentence that is true then."""

    key: str
    sentence: str


@dataclass(frozen=True, kw_only=True)
class StepKind:
    """One kind of step.

    ``needs`` are fields that the step must state; a tuple inside means one of them. ``may`` are
    fields that it can state. ``presses`` says that the unit is put under pressure: then only liquid
    goes in. ``pair`` are sides that a plan usually covers, each. ``settings`` are keys of limits
    of the shop that the lead may lean on for a step of this kind.
    """

    code: Code
    name: str
    shows: str
    families: tuple[str, ...]
    readings: tuple[Ask, ...]
    shows_not: str = ""
    sides: tuple[str, ...] = NO_SIDE
    needs: tuple[str | tuple[str, ...], ...] = ()
    may: tuple[str, ...] = ()
    conditions: tuple[Condition, ...] = ()
    cautions: tuple[Caution, ...] = ()
    presses: bool = False
    relief_required: bool = False
    pair: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields of a step that this kind states, in the order of asking."""
        wanted = {name for need in self.needs for name in ([need] if isinstance(need, str) else need)}
        return tuple(name for name in STATED if name in wanted or name in self.may)

    @property
    def mediums(self) -> tuple[str, ...]:
        """What may be in the unit: liquid, or nothing where no pressure goes on."""
        return (LIQUID,) if self.presses else ("", LIQUID)

    def suits(self, family: str) -> bool:
        """Whether the kind is usual for a family of units."""
        return family in self.families


def missing_fields(kind: StepKind, given: Sequence[str]) -> list[tuple[str, ...]]:
    """Return the needs that none of the ``given`` fields meets, each as the fields that would."""
    needs = [(need,) if isinstance(need, str) else need for need in kind.needs]
    return [need for need in needs if not set(need) & set(given)]
