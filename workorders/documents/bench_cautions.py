"""Cautions shown where a unit is taken apart and put together, each with where it comes from."""

from workorders.documents.cautions import COMMON, INJECTION, Caution, sources

MEMORY = "from memory, not verified"

# Wording is ours; the facts were read in the sources named, unless marked otherwise.
OPENING = Caution(
    hazard="Pressure left inside",
    text="A unit can hold pressure with every hose off. Open ports away from you and others, slowly, "
    "over a tray, before a gland, plug or snap ring is loosened. Where an accumulator or a locked valve "
    "is part of the unit, let it down as its maker says.",
    short="open the ports slowly, away from you, before a gland, plug or snap ring is loosened",
    source="HSE GS4, 4th edition, on stored energy; steps " + COMMON,
)
SPRINGS_INSIDE = Caution(
    hazard="Springs and snap rings",
    text="Springs, valve caps and snap rings fly. Press the cap while the ring comes out, unload the "
    "spring in a fixture, and wear eye protection.",
    short="hold the cap, unload the spring in a fixture, wear eye protection",
    source=COMMON,
)
BLOWING_OUT = Caution(
    hazard="No compressed air on a piston",
    text="Do not blow a piston out with compressed air: it leaves the barrel like a shot. Pull it, or push "
    "it with oil from a hand pump, into a catcher.",
    short="never blow a piston out; pull it, or push it with oil into a catcher",
    source="stored energy of air, SAFed PSG21 and teleprospa.com; the advice is " + COMMON,
)
BURNT_SEALS = Caution(
    hazard="Burnt seals",
    text="A charred or sticky fluoro-rubber seal may carry acid. Do not touch it with bare hands; lift it "
    "with a tool and ask before it is washed.",
    short="do not touch a charred fluoro-rubber seal with bare hands",
    source=MEMORY,
)

HOSES = Caution(
    hazard="Hoses burst and spray",
    text="A hose chafed to the reinforcement, swollen, blistered or cracked can burst without a sign. Never "
    "feel for a leak with a hand: fluid under pressure goes through skin and glove; see a doctor at once.",
    short="replace a hose that is chafed to the reinforcement, swollen or cracked; never feel for a leak",
    source=COMMON,
)

TEARDOWN = (OPENING, SPRINGS_INSIDE, INJECTION, BLOWING_OUT, BURNT_SEALS)
TEARDOWN_SOURCES = sources(TEARDOWN)
HOSES_SOURCES = sources((HOSES,))
