"""Kinds of step for motors, pumps, solenoids and valves."""

from shop.cautions import (
    BRUSH_SPRINGS,
    COMPRESSED_AIR,
    DEAD_HEAD,
    HOT_COIL,
    INJECTION,
    RESERVOIR,
    STORED_PRESSURE,
    TEST_VOLTAGE,
)

from . import conditions as first
from .kind import NO_SIDE, POWER_UNIT, TURNS, VALVE_BLOCK, Ask, Code, StepKind

WITH_VALVES = (POWER_UNIT, VALVE_BLOCK)
VOLTAGE_BESIDE = Ask(
    name="terminal voltage", judged=("recorded", "value"), quantity="voltage", unit="V", bound="least"
)
CURRENT = Ask(name="current", judged=("value", "recorded"), quantity="current", unit="A", bound="most")

POWER_UNITS = (
    StepKind(
        code=Code.SHAFT_SEAL,
        name="shaft-seal back pressure",
        shows="That the motor shaft seal holds back the pressure it will see from the reservoir.",
        shows_not="Whether the reservoir stands it: the seal is tested in its carrier alone.",
        families=(POWER_UNIT,),
        needs=("pressure_bar", "hold_s", "fixture", "relief_bar"),
        readings=(Ask(name="drips at the shaft", judged=("count", "witness"), bound="most"),),
        conditions=(first.ON_FIXTURE, first.NO_RESERVOIR, first.BLED),
        cautions=(RESERVOIR, COMPRESSED_AIR),
        presses=True,
        relief_required=True,
    ),
    StepKind(
        code=Code.DEAD_HEAD,
        name="dead-head pressure",
        shows="The pressure that the pump reaches against a shut port, each way round.",
        shows_not="A tired pump alone: a low terminal voltage gives a low pressure too.",
        families=(POWER_UNIT,),
        sides=TURNS,
        needs=("time_limit_s",),
        readings=(
            Ask(name="pressure", judged=("value",), quantity="pressure", unit="bar", bound="least"),
            CURRENT,
            VOLTAGE_BESIDE,
        ),
        conditions=(first.VOLTMETER, first.COOLED),
        cautions=(DEAD_HEAD, STORED_PRESSURE, INJECTION),
        presses=True,
        pair=TURNS,
    ),
    StepKind(
        code=Code.BRUSH_LENGTH,
        name="brush length",
        shows="How much the brushes have left before they must be renewed.",
        families=(POWER_UNIT,),
        readings=(
            Ask(name="shortest brush", judged=("value",), quantity="length", unit="mm", bound="least"),
        ),
        conditions=(first.SUPPLY_OFF,),
        cautions=(BRUSH_SPRINGS,),
    ),
    StepKind(
        code=Code.INSULATION,
        name="insulation",
        shows="That no current finds its way from the winding to the housing, at the voltage stated.",
        shows_not="A short between turns of the winding.",
        families=WITH_VALVES,
        needs=("voltage_v",),
        readings=(
            Ask(
                name="insulation resistance",
                judged=("value",),
                quantity="insulation",
                unit="MΩ",
                bound="least",
            ),
        ),
        conditions=(first.SUPPLY_OFF, first.ELECTRONICS_OFF),
        cautions=(TEST_VOLTAGE,),
    ),
    StepKind(
        code=Code.FLOW,
        name="flow at pressure",
        shows="What the pump still delivers while it works against a pressure.",
        shows_not="Why it is less: wear, air and a low voltage look alike.",
        families=(POWER_UNIT,),
        sides=(*TURNS, ""),
        needs=("pressure_bar",),
        may=("time_limit_s",),
        readings=(
            Ask(name="flow", judged=("steady", "value"), quantity="flow", unit="L/min", bound="least"),
            Ask(
                name="volumetric efficiency",
                judged=("efficiency",),
                unit="%",
                bound="least",
                needed=False,
            ),
            Ask(
                name="terminal voltage",
                judged=("recorded", "value"),
                quantity="voltage",
                unit="V",
                bound="least",
                needed=False,
            ),
        ),
        cautions=(STORED_PRESSURE, INJECTION),
        presses=True,
    ),
    StepKind(
        code=Code.RELIEF,
        name="relief opening",
        shows="The pressure at which the relief of the unit opens and stays.",
        families=WITH_VALVES,
        sides=(*TURNS, ""),
        may=("time_limit_s",),
        readings=(
            Ask(name="opening pressure", judged=("value",), quantity="pressure", unit="bar", bound="between"),
        ),
        cautions=(STORED_PRESSURE, INJECTION, COMPRESSED_AIR),
        presses=True,
    ),
    StepKind(
        code=Code.MANUAL_RELEASE,
        name="manual release",
        shows="That the release by hand lets pressure down and closes again.",
        families=WITH_VALVES,
        readings=(Ask(name="releases and closes again", judged=("witness", "count")),),
        cautions=(STORED_PRESSURE, INJECTION),
    ),
    StepKind(
        code=Code.SOLENOID,
        name="solenoid resistance and pull-in",
        shows="That the coil is whole, and at which voltage it still pulls its valve.",
        families=WITH_VALVES,
        readings=(
            Ask(
                name="coil resistance",
                judged=("value",),
                quantity="resistance",
                unit="Ω",
                bound="between",
            ),
            Ask(name="pull-in voltage", judged=("value",), quantity="voltage", unit="V", bound="most"),
        ),
        conditions=(first.ELECTRONICS_OFF,),
        cautions=(HOT_COIL,),
    ),
    StepKind(
        code=Code.CURRENT,
        name="motor current",
        shows="What the motor draws at the load stated.",
        families=(POWER_UNIT,),
        sides=(*TURNS, ""),
        may=("pressure_bar", "time_limit_s"),
        readings=(CURRENT,),
        cautions=(DEAD_HEAD,),
    ),
    StepKind(
        code=Code.HOLD_AFTER_STOP,
        name="hold after stop (check valves)",
        shows="That the check valves hold the pressure when the motor has stopped.",
        shows_not="Which of them leaks.",
        families=WITH_VALVES,
        sides=(*TURNS, *NO_SIDE),
        needs=("pressure_bar", "hold_s"),
        readings=(Ask(name="decay", judged=("decay",), quantity="pressure", unit="bar/min", bound="most"),),
        conditions=(first.BLED,),
        cautions=(STORED_PRESSURE, INJECTION),
        presses=True,
    ),
)
