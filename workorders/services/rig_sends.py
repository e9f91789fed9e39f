"""What a rig says of a file that it sends, and what the shop makes of it: which unit, step, instrument."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.conf import settings

from shop.models import StepLimit, TestStep
from workorders.calc.hold import HoldError, evaluate_hold
from workorders.calc.serial import SerialError, parse_serial, read_scan
from workorders.calc.trace import Trace, TraceError, TraceMapping
from workorders.models import Instrument, PressureTest, Rebuild, Rig, RigChannel, Unit
from workorders.services.logger_files import read_file, takes_file
from workorders.services.running import progress_of
from workorders.services.standing import current_test
from workorders.services.testing import approved_plan
from workorders.services.trace_sources import source_from
from workorders.services.ways import way_of

MOST_CHARACTERS = 60  # of one parameter


class Refused(Exception):
    """What a rig sent is refused: an HTTP status, a code for programs, a sentence for people."""

    def __init__(self, status: int, code: str, says: str) -> None:
        self.status, self.code, self.says = status, code, says
        super().__init__(says)


@dataclass(frozen=True, kw_only=True)
class Sent:
    """One file as a rig sent it; what the rig left out is empty."""

    data: bytes
    name: str = ""
    serial: str = ""
    step: str = ""
    reading: str = ""
    instrument: str = ""

    def __post_init__(self) -> None:
        for name, text in self.asked.items():
            if len(text) > MOST_CHARACTERS or not text.isprintable():
                raise Refused(
                    400,
                    "bad_parameter",
                    f"“{name}” is longer than {MOST_CHARACTERS} characters, or holds characters "
                    "that nobody can print.",
                )

    @property
    def asked(self) -> dict[str, str]:
        """What the rig said, as it said it."""
        names = ("serial", "step", "reading", "instrument")
        return {name: text for name in names if (text := getattr(self, name))}

    @property
    def told(self) -> str:
        """What the rig said, spelt in one way, so that a repeat is known."""
        try:
            serial = parse_serial(self.serial)
        except SerialError:
            serial = self.serial.strip()
        parts = (serial, *(" ".join(text.split()) for text in (self.step, self.reading, self.instrument)))
        return "|".join(part.upper() for part in parts)


@dataclass(frozen=True, kw_only=True)
class Meant:
    """What a file was meant for; ``because`` says why it cannot be handed in, empty where it can."""

    unit: Unit | None = None
    instrument: Instrument | None = None
    mapping: TraceMapping | None = None
    test: PressureTest | None = None
    limit: StepLimit | None = None
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class Read:
    """A file as read for an instrument of the rig; ``because`` says what is missing."""

    instrument: Instrument | None = None
    mapping: TraceMapping | None = None
    because: str = ""


def read_sent(rig: Rig, sent: Sent) -> Read:
    """Read a file as it would be for a step; raise Refused where that cannot be done.

    Needs no transaction: a large file is read before anything is held for it.
    """
    if not sent.data:
        raise Refused(400, "empty", "There is no file in the request: send it as the body, with its length.")
    if refused := too_large(len(sent.data)):
        raise refused
    channel, because = _channel(rig, sent.instrument)
    instrument = channel.instrument if channel else None
    try:
        trace, _remembered = read_file(instrument or Instrument(), source_from(sent.data))
        mapping, missing = column_mapping(channel, trace)
        if mapping:
            trace = trace.with_mapping(mapping)
        evaluate_hold(time_s=trace.time_s, pressure_bar=trace.pressure_bar)
    except (TraceError, HoldError) as error:
        raise Refused(422, "not_readable", str(error)) from error
    return Read(instrument=instrument, mapping=mapping, because=because or missing)


def meaning_of(sent: Sent, read: Read) -> Meant:
    """Tell what a file is for.

    What is wrong is refused, since the sender can put it right: raises Refused. What is right but
    comes too early, or says too little, gives a ``because``: such a file is kept aside.
    """
    meant = Meant(instrument=read.instrument, mapping=read.mapping, because=read.because)
    if not sent.serial:
        return replace(meant, because="The rig did not say which unit it is of.")
    unit = _unit(sent.serial)
    rebuild = unit.rebuilds.open().select_related("revision", "unit", "work_order").first()
    if rebuild is None:
        raise Refused(409, "unit_not_here", f"Unit {unit} is not in the shop: no rebuild of it is open.")
    return _place(rebuild, sent, replace(meant, unit=unit))


def _unit(text: str) -> Unit:
    try:
        serial = read_scan(text)
    except SerialError as error:
        raise Refused(404, "unknown_unit", str(error)) from error
    unit = Unit.objects.filter(serial=serial).first() if serial else None
    if unit is None:
        raise Refused(404, "unknown_unit", f"No unit carries the serial “{text}”.")
    return unit


def pressure_channels(rig: Rig) -> list[RigChannel]:
    """Return what is mounted on a rig and can write the pressure of a hold."""
    rows = rig.channels.select_related("instrument")
    return list(rows.filter(instrument__quantity=Instrument.Quantity.PRESSURE, instrument__retired=False))


def _channel(rig: Rig, code: str) -> tuple[RigChannel | None, str]:
    """Return the channel of the instrument that is named, or of the only one there is; else why not."""
    mounted = pressure_channels(rig)
    if not code:
        if len(mounted) == 1:
            return mounted[0], ""
        if mounted:
            return (
                None,
                f"{len(mounted)} pressure instruments are mounted on {rig.code}; it did not say which.",
            )
        return None, f"No pressure instrument is mounted on {rig.code}."
    found = Instrument.objects.filter(code__iexact=code.strip()).first()
    if found is None:
        raise Refused(404, "unknown_instrument", f"No instrument has the code “{code}”.")
    channel = next((each for each in mounted if each.instrument_id == found.pk), None)
    if channel is None:
        raise Refused(
            422,
            "not_mounted",
            f"{found.code} is not a pressure instrument in use on {rig.code}; "
            "the lead mounts it on the page of the rig.",
        )
    return channel, ""


def column_mapping(channel: RigChannel | None, trace: Trace) -> tuple[TraceMapping | None, str]:
    """Return how a file is read so that its pressure is the column of the instrument, or why it is not.

    None where it is read so already, and where the instrument has no column of its own.
    """
    if channel is None or not channel.column:
        return None, ""
    wanted = channel.column.casefold()
    column = next((each for each in trace.columns if each.name.casefold() == wanted), None)
    if column is None:
        return None, f"The file has no column “{channel.column}”, which {channel.instrument.code} writes."
    if column.index == trace.mapping.pressure_column:
        return None, ""
    if column.index == trace.mapping.time_column:
        return None, f"The column “{channel.column}” of the file is its time."
    known = trace.mapping
    return TraceMapping(
        time_column=known.time_column, time_unit=known.time_unit, pressure_column=column.index
    ), ""


def _place(rebuild: Rebuild, sent: Sent, meant: Meant) -> Meant:
    """Find the test that runs and the reading; what the plan does not have is refused."""
    test = current_test(rebuild)
    plan = test.plan if test else approved_plan(rebuild)
    if plan is None:
        return replace(meant, because=f"{rebuild.revision} has no approved test plan.")
    steps = _steps(list(plan.steps.prefetch_related("limits")), sent.step)
    if test is None or test.state != PressureTest.State.RUNNING:
        said = f"Test {test.number} of {rebuild.unit} is {test.get_state_display()}." if test else ""
        return replace(meant, because=said or f"No test of {rebuild.unit} runs.")
    limit, because = _limit(test, steps, sent)
    return replace(meant, test=test, limit=limit, because=because or meant.because)


def _steps(steps: Sequence[TestStep], told: str) -> list[TestStep]:
    """Return the steps that are meant: by number, kind or title; all where none is named."""
    wanted = " ".join(told.split()).casefold()
    if not wanted:
        return list(steps)
    found = [
        step
        for step in steps
        if wanted
        in (str(step.order), step.kind, str(step.get_kind_display()).casefold(), step.title.casefold())
    ]
    if not found:
        known = ", ".join(str(step) for step in steps)
        raise Refused(404, "unknown_step", f"The plan has no step “{told}”. Its steps: {known}.")
    return found


def _limit(test: PressureTest, steps: Sequence[TestStep], sent: Sent) -> tuple[StepLimit | None, str]:
    """Return the reading that is meant, or why it cannot be taken now."""
    state = progress_of(test)
    allowed = {each.step.pk for each in state.steps if each.can_be_recorded}
    following = state.next_step
    if not sent.step:
        if following is None:
            return (
                None,
                f"Every step of test {test.number} has its result; the rig did not say which it is for.",
            )
        steps = [step for step in steps if step.pk == following.pk]
    limits = [limit for step in steps for limit in step.limits.all() if takes_file(limit)]
    if not limits:
        if sent.step:
            raise Refused(422, "no_file_wanted", f"{steps[0]} takes no logger file.")
        return None, f"Step {following} is in turn, and takes no logger file."
    if sent.reading:
        wanted = " ".join(sent.reading.split()).casefold()
        named = [limit for limit in limits if limit.reading.casefold() == wanted]
        if not named:
            known = ", ".join(limit.reading for limit in limits)
            raise Refused(404, "unknown_reading", f"There is no reading “{sent.reading}”; there is {known}.")
        limits = named
    in_turn = [limit for limit in limits if following and limit.step_id == following.pk]
    limits = in_turn if len(limits) > 1 and in_turn else limits
    if len(limits) > 1:
        names = "; ".join(f"{limit.step}, {limit.reading}" for limit in limits)
        return None, f"The rig did not say which reading it is for: {names}."
    if limits[0].step_id not in allowed:
        return None, f"Step {limits[0].step} is not in turn: {following} comes first."
    return limits[0], ""


def fits(instrument: Instrument, limit: StepLimit) -> bool:
    """Whether a reading may be taken with an instrument."""
    return (instrument.quantity, instrument.unit) in way_of(limit).instruments(limit).values()


def too_large(size: int) -> Refused | None:
    """Return the refusal of a file above the shop's upload limit."""
    if size <= settings.UPLOAD_LIMIT_BYTES:
        return None
    most = settings.UPLOAD_LIMIT_BYTES // 1024**2
    return Refused(413, "too_large", f"The file is larger than {most} MB, the shop's upload limit.")
