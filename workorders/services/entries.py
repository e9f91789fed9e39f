"""What a person enters for one reading of a step, by its way of judging."""

from dataclasses import dataclass

from workorders.calc.trace import TraceMapping
from workorders.models import Instrument, LoggerFile


@dataclass(frozen=True, kw_only=True)
class ValueEntry:
    """A number read off an instrument, in the unit of its limit."""

    value: float
    instrument: Instrument | None = None


@dataclass(frozen=True, kw_only=True)
class BlankEntry:
    """The rig checked with its outlet blanked before a hold, and the compliances measured.

    Each compliance is given with its expanded uncertainty, k = 2, or follows from a metered
    withdrawal: oil let out so far [mL] and pressure then [bar], three pairs or more. The check itself is
    three figures, or a logger file handed in for the same reading.
    """

    start_bar: float | None = None
    end_bar: float | None = None
    duration_s: float | None = None
    logger_file: LoggerFile | None = None
    rig_ml_per_bar: float | None = None
    together_ml_per_bar: float | None = None
    rig_expanded_ml_per_bar: float | None = None
    together_expanded_ml_per_bar: float | None = None
    rig_withdrawn: tuple[tuple[float, float], ...] = ()
    together_withdrawn: tuple[tuple[float, float], ...] = ()
    meter_error_ml: float | None = None


@dataclass(frozen=True, kw_only=True)
class ThermalEntry:
    """The temperature of the oil during a logged hold: how the decay is brought to one temperature.

    ``oil`` names the constants that are used, or is ``NOT_THE_OIL``: the file's temperature is another
    one, and nothing is taken off. ``column`` counts from 0; None where the file has one temperature.
    ``error_k`` is the expanded uncertainty of the change over the window, k = 2. ``volume_ml`` is the
    oil shut in, which counts beside a measured compliance of rig and unit.
    """

    oil: str
    column: int | None = None
    error_k: float = 0.0
    volume_ml: float | None = None


NOT_THE_OIL = "not the oil"


@dataclass(frozen=True, kw_only=True)
class HandHoldEntry:
    """A hold read by hand: pressure at its start and its end, and the time between."""

    start_bar: float
    end_bar: float
    duration_s: float
    instrument: Instrument
    blank: BlankEntry | None = None


@dataclass(frozen=True, kw_only=True)
class TraceEntry:
    """A hold from a logger file handed in before, with the window and the columns confirmed."""

    logger_file: LoggerFile
    mapping: TraceMapping
    window_start_s: float
    window_end_s: float
    blank: BlankEntry | None = None
    thermal: ThermalEntry | None = None

    @property
    def instrument(self) -> Instrument:
        """The instrument that wrote the file."""
        return self.logger_file.instrument


@dataclass(frozen=True, kw_only=True)
class CountEntry:
    """A number counted."""

    count: int


@dataclass(frozen=True, kw_only=True)
class WitnessEntry:
    """What was seen: as required or not, with a count where there is one."""

    as_required: bool
    count: int | None = None


@dataclass(frozen=True, kw_only=True)
class SwingEntry:
    """The running pressure of a stroke with the highest and the lowest that it swings between."""

    highest_bar: float
    lowest_bar: float
    running_bar: float
    instrument: Instrument


@dataclass(frozen=True, kw_only=True)
class SteadyEntry:
    """Readings taken one after the other at one setting, in the unit of the limit."""

    readings: tuple[float, ...]
    instrument: Instrument


@dataclass(frozen=True, kw_only=True)
class EfficiencyEntry:
    """Flow and speed of a pump under load, each with its instrument."""

    flow_l_min: float
    speed_rpm: float
    instrument: Instrument
    speed_instrument: Instrument


@dataclass(frozen=True, kw_only=True)
class CleanlinessEntry:
    """An oil sample: particles per mL of 4, 6 and 14 µm(c) and more, or the code that was printed.

    ``report`` says whose count it is: laboratory and report, or the counter of the shop.
    """

    report: str
    counts_per_ml: tuple[float, float, float] | None = None
    code: str = ""


Entry = (
    ValueEntry
    | HandHoldEntry
    | TraceEntry
    | CountEntry
    | WitnessEntry
    | SwingEntry
    | SteadyEntry
    | EfficiencyEntry
    | CleanlinessEntry
)
