"""Cautions and plain statements printed on the papers, each caution with where it comes from."""

from dataclasses import dataclass

COMMON = "common practice, no source"


@dataclass(frozen=True)
class Caution:
    """One hazard in a word or two, what to do about it, and the source."""

    hazard: str
    text: str
    source: str


# Wording is ours; the facts were read in the sources named, unless marked common practice.
STORED_PRESSURE = Caution(
    "Stored pressure",
    "A circuit can hold pressure with the engine or motor off. Let it down, lock the supply out and "
    "check that it is gone before a fitting is loosened. Keep people clear of a unit under test: "
    "fittings, plugs and hoses have killed when they let go.",
    "HSE GS4, 4th edition, on pressure testing",
)
INJECTION = Caution(
    "Oil through the skin",
    "Oil from a pinhole enters the skin from about 7 bar (100 psi) and from up to 100 mm away. Never "
    "feel for a leak with the hand. Any such wound goes to hospital at once, even if it looks slight: "
    "it needs surgery within hours.",
    "incident-prevention.com and a published safety talk on oil injection",
)
SPRINGS = Caution(
    "Springs",
    "A spring inside the unit or on the machine can throw parts. Do not open the unit; unload or hold "
    "springs before pins or mounts come out.",
    COMMON,
)
INTENSIFICATION = Caution(
    "Pressure raised inside",
    "Never put pressure on the bore side while the rod-side port is plugged: the smaller area on the "
    "rod side turns it into a higher pressure, which can burst the unit.",
    "balance of forces on the piston; cylinder training text, scribd.com 163207220",
)
TRAPPED_OIL = Caution(
    "Trapped oil and heat",
    "Oil shut in without air gains about 11 bar for each degree Celsius. Do not leave a full unit "
    "tightly plugged in the sun or near heat.",
    "fluidpower.pro, on thermal expansion of trapped oil",
)
SUSPENDED_LOADS = Caution(
    "Raised loads",
    "Never work under a platform, lift or ramp that only the hydraulics hold up. Support it "
    "mechanically first.",
    "safety chapter of a published loader service manual",
)
COMPRESSED_AIR = Caution(
    "No compressed air",
    "Do not test or bleed with compressed air: at the same volume and pressure it stores about 200 "
    "times the energy of oil. Oil under pressure is not harmless either.",
    "SAFed PSG21; teleprospa.com on pneumatic tests",
)

FITTING = (STORED_PRESSURE, INJECTION, SUSPENDED_LOADS, SPRINGS, INTENSIFICATION, TRAPPED_OIL, COMPRESSED_AIR)

DEFERENCE = (
    "These cautions are not complete. Local codes, the machine maker's instructions and licensed "
    "practice come first wherever they ask for more or for something else."
)

# Common practice, no source: general steps where the unit type has none of its own.
GENERAL_FILLING = (
    "Flush or change the fluid in the circuit first if it is dark, smells burnt or carries particles.",
    "Take each cap off just before its hose goes on, and keep dirt and cloth fibres out of the ports.",
    "Fill the reservoir with the fluid named on this page, to the mark, with the units in the position "
    "the machine maker asks for.",
    "Bleed: move the unit slowly, without load, over its whole stroke several times; stop between "
    "strokes, let air rise and top the reservoir up.",
    "Raise the pressure in steps, look at every connection from a safe distance, and only then work "
    "under load.",
)

RESULTS_RELATE = "The results relate only to the unit named here."
SAMPLING = "not applicable: the whole unit was tested"
NOT_A_DELIVERY_NOTE = (
    "This certificate is not a delivery note and does not approve the installation of the unit. Whoever "
    "fits it judges whether it suits the machine."
)
FITTER_DOES_NOT_COVER = (
    "the machine, its hoses, its power supply and its controls",
    "whether this unit is the right one for the machine, and its installation",
    "faults brought in by dirty or wrong fluid, or by debris left in the circuit",
    "terms of warranty and test results: those stand on the release certificate",
)
