"""Cautions that stand where hands are, each with where it comes from; the papers add their own."""

from dataclasses import dataclass

COMMON = "common practice, no source"


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One hazard in a word or two, what to do about it at length and in one line, and the source."""

    hazard: str
    text: str
    short: str
    source: str


# Wording is ours; the facts were read in the sources named, unless marked common practice.
STORED_PRESSURE = Caution(
    hazard="Stored pressure",
    text="A circuit can hold pressure with the engine or motor off. Let it down, lock the supply out and "
    "check that it is gone before a fitting is loosened. Keep people clear of a unit under test: "
    "fittings have killed when they let go.",
    short="let it down, lock the supply out and check that it is gone before a fitting is loosened; keep "
    "people clear of a unit under test",
    source="HSE GS4, 4th edition",
)
INJECTION = Caution(
    hazard="Oil through the skin",
    text="Oil from a pinhole enters the skin from about 7 bar (100 psi) and from up to 100 mm away. Never "
    "feel for a leak with the hand. Any such wound goes to hospital at once, even if it looks slight: "
    "it needs surgery within hours.",
    short="never feel for a leak with the hand; such a wound needs surgery within hours, however slight",
    source="incident-prevention.com and a published safety talk",
)
INTENSIFICATION = Caution(
    hazard="Pressure raised inside",
    text="Never put pressure on the bore side while the rod-side port is plugged: the smaller area on the "
    "rod side turns it into a higher pressure, which can burst the unit.",
    short="never put pressure on the bore side while the rod-side port is plugged",
    source="balance of forces; scribd.com 163207220",
)
COMPRESSED_AIR = Caution(
    hazard="No compressed air",
    text="Do not test or bleed with compressed air: at the same volume and pressure it stores about 200 "
    "times the energy of oil. Oil under pressure is not harmless either.",
    short="do not test or bleed with it",
    source="SAFed PSG21; teleprospa.com",
)
LOADS = Caution(
    hazard="Load that moves",
    text="A load on the rod falls when a seal, a hose or a fitting lets go. Catch it with a stop or a prop "
    "before pressure goes on, and keep hands and feet out of its way.",
    short="catch the load with a stop or a prop; keep hands and feet out of its way",
    source=f"a published loader service manual, on raised loads; the stop is {COMMON}",
)
RESERVOIR = Caution(
    hazard="A reservoir is no pressure vessel",
    text="Put back pressure on a shaft seal only in its carrier on the fixture, with liquid and a relief. "
    "Through an assembled reservoir it bursts the reservoir before it tells anything of the seal.",
    short="back pressure only on the fixture, with liquid and a relief, never through a reservoir",
    source=COMMON,
)
DEAD_HEAD = Caution(
    hazard="Motor against a shut port",
    text="A motor that works against a shut port draws its greatest current and is hot within seconds. Keep "
    "to the time limit of the step, let it cool between, and keep the relief of the unit working.",
    short="keep to the time limit, let the motor cool, leave the relief of the unit working",
    source=COMMON,
)
TEST_VOLTAGE = Caution(
    hazard="Test voltage",
    text="An insulation tester gives a voltage that shocks and that ruins electronics. Disconnect supply and "
    "electronics first, touch nothing while it is on, and discharge what was tested.",
    short="disconnect supply and electronics, touch nothing while it is on, discharge afterwards",
    source=COMMON,
)
HOT_COIL = Caution(
    hazard="Hot coil",
    text="A coil that is held on heats up within minutes, and sooner without its plunger: burns and melted "
    "windings. Keep each pull short, let it cool between, and never switch it on outside its valve.",
    short="keep each pull short, let it cool, never switch it on outside its valve",
    source=COMMON,
)
BRUSH_SPRINGS = Caution(
    hazard="Springs and brush dust",
    text="Brush springs snap back when the holder is opened, and carbon dust conducts and harms lungs. Wear "
    "eye protection, take the dust away with a vacuum cleaner, and do not blow it out with air.",
    short="wear eye protection, vacuum the dust, do not blow it out with air",
    source=COMMON,
)
HOT_OIL = Caution(
    hazard="Hot oil",
    text="Oil from a unit that has just run can burn. Take the sample without pressure, from a port made for "
    "it or from the tank, never from a fitting that is cracked open.",
    short="take the sample without pressure, never from a fitting that is cracked open",
    source=COMMON,
)
