"""Cautions and plain statements printed on the papers, each caution with where it comes from."""

from shop.cautions import COMMON, COMPRESSED_AIR, INJECTION, INTENSIFICATION, STORED_PRESSURE, Caution

__all__ = [
    "COMMON",
    "COMPRESSED_AIR",
    "INJECTION",
    "INTENSIFICATION",
    "STORED_PRESSURE",
    "Caution",
]

# Wording is ours; the facts were read in the sources named, unless marked common practice.
SUSPENDED_LOADS = Caution(
    hazard="Raised loads",
    text="Never work under a platform, lift or ramp that only the hydraulics hold up. Support it "
    "mechanically first.",
    short="never work under what only the hydraulics hold up",
    source="a published loader service manual",
)
SPRINGS = Caution(
    hazard="Springs",
    text="A spring inside the unit or on the machine can throw parts. Do not open the unit; unload or hold "
    "springs before pins or mounts come out.",
    short="unload or hold them before pins or mounts come out",
    source=COMMON,
)
TRAPPED_OIL = Caution(
    hazard="Trapped oil and heat",
    text="Oil shut in without air gains about 11 bar for each degree Celsius. Do not leave a full unit "
    "tightly plugged in the sun or near heat.",
    short="do not leave a full unit tightly plugged near heat",
    source="fluidpower.pro",
)
FLUID_AND_DIRT = Caution(
    hazard="Fluid and dirt",
    text="The wrong fluid ruins seals without a sign at first. Fill only with the fluid named on this "
    "paper, from a clean container, and flush a dark or dirty circuit before the unit is connected.",
    short="fill only with the service fluid named here, clean, and bleed by slow strokes without load; flush "
    "a dark or dirty circuit first",
    source=COMMON,
)

TESTING = (STORED_PRESSURE, INJECTION, INTENSIFICATION, COMPRESSED_AIR)
FITTING = (
    STORED_PRESSURE,
    INJECTION,
    SUSPENDED_LOADS,
    SPRINGS,
    INTENSIFICATION,
    TRAPPED_OIL,
    COMPRESSED_AIR,
    FLUID_AND_DIRT,
)


def sources(cautions: tuple[Caution, ...]) -> str:
    """Say in one sentence where the cautions come from and that others come first."""
    named = "; ".join(f"{caution.hazard.lower()}: {caution.source}" for caution in cautions)
    return f"{DEFERENCE} Sources: {named}."


DEFERENCE = (
    "These cautions are not complete. Local codes, the machine maker's instructions and licensed "
    "practice come first wherever they ask for more or for something else."
)

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

FLUSHING = (
    "Do not run the machine with the circuit as it is, and do not connect the units yet.",
    "Drain the whole circuit. Take the power unit out, empty and wipe the reservoir, clean or renew screens "
    "and filters.",
    "Flush every pipe and hose with fresh, filtered fluid of the kind named above, each end into a clean "
    "container, until nothing more shows in it. Look at what came out and keep it.",
    "Have the power unit and every unit on the circuit looked at: fragments travel through all of them.",
    "Fill with new fluid, run without load, and look at the screens again after the first hours of use.",
)
FLUSHING_SOURCE = f"Steps by {COMMON}."
GENERAL_FILLING_SOURCE = f"General steps ({COMMON}); the unit type has none of its own."

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
