"""The plain data a release certificate and its sister papers are printed from."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from workorders.documents.port_drawing import PortRow
from workorders.documents.trace_chart import HoldTrace

# The closed list of status words. "Overhauled" is modelled on 14 CFR 43.2(a): taken apart,
# cleaned, inspected, repaired as necessary, put together and tested; no compliance is claimed.
STATUS_DEFINITIONS = {
    "overhauled": (
        "the unit was taken apart, cleaned, inspected, repaired where it was needed and put together "
        "again, and passed every step of the test plan named here"
    ),
    "repaired": (
        "the faults named here were put right and the unit passed every step of the test plan "
        "named here; what is not named was not renewed"
    ),
    "tested only": (
        "the unit was tested as it came to the test plan named here; it was not taken apart and "
        "nothing in it was renewed"
    ),
}
VERDICTS = ("passes", "fails", "not decided", "invalid", "recorded")


def require_one_of(value: str, allowed: Iterable[str], name: str) -> None:
    """Raise ValueError, naming the closed list, when `value` is not in it."""
    if value not in allowed:
        raise ValueError(f"{name} must be one of {', '.join(allowed)}; got {value!r}")


@dataclass(frozen=True, kw_only=True)
class Shop:
    """Who did the work; `location` is where it was done, when that is not the address."""

    name: str
    address: tuple[str, ...]
    phone: str
    email: str
    location: str = ""


@dataclass(frozen=True, kw_only=True)
class Customer:
    """Who the paper is for; `contact` is a person, telephone or e-mail."""

    name: str
    address: tuple[str, ...] = ()
    contact: str = ""


@dataclass(frozen=True, kw_only=True)
class UnitIdentity:
    """One physical piece; `address` is the web address of its page, printed as a QR symbol."""

    type_name: str
    catalogue_code: str
    revision: str
    shop_serial: str
    address: str
    maker_serial: str = ""
    quantity: int = 1


@dataclass(frozen=True, kw_only=True)
class Method:
    """The data worked to: test plan with version, teardown procedure, rule for the verdicts."""

    plan_name: str
    plan_version: str
    decision_rule: str
    teardown_procedure: str = ""


@dataclass(frozen=True, kw_only=True)
class PositionRow:
    """What teardown showed at one seal position and what went in."""

    position: str
    kind: str
    condition: str
    cause: str
    action: str
    part: str = ""
    lot: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class ComponentRow:
    """What was found at, and done to, a component, port, hose or the body."""

    name: str
    condition: str
    cause: str
    action: str
    part: str = ""
    lot: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class MeasurementRow:
    """One measured size against its limit; `when` says as found or after the work."""

    what: str
    when: str
    value: str
    unit: str
    limit: str
    verdict: str
    instrument: str = ""

    def __post_init__(self) -> None:
        require_one_of(self.verdict, VERDICTS, "verdict")


@dataclass(frozen=True, kw_only=True)
class OperationRow:
    """One rework operation: what was done, by whom, with which tool and parts."""

    what: str
    who: str
    tool: str = ""
    parts: str = ""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading of a test step against its limit, as text so that it prints as it was stored.

    ``budget`` names the standard uncertainties that ``uncertainty`` is made of; ``combined`` is the root
    of the sum of their squares.
    """

    label: str
    value: str
    unit: str
    limit: str
    verdict: str
    uncertainty: str = ""
    instrument: str = ""
    budget: str = ""
    combined: str = ""

    def __post_init__(self) -> None:
        require_one_of(self.verdict, VERDICTS, "verdict")


@dataclass(frozen=True, kw_only=True)
class StepRow:
    """One step of the test plan with the readings it took."""

    title: str
    readings: tuple[Reading, ...]
    note: str = ""
    confirmed: str = ""  # what was confirmed before it, by whom and when


@dataclass(frozen=True, kw_only=True)
class HoldChart:
    """The thinned trace of one hold step, and what the fit gave in words and numbers."""

    caption: str
    trace: HoldTrace


@dataclass(frozen=True, kw_only=True)
class InstrumentRow:
    """One instrument used, with its calibration on the day of the test."""

    code: str
    what: str
    range: str
    accuracy: str
    calibrated_on: date | None
    due_on: date | None


@dataclass(frozen=True, kw_only=True)
class Fluids:
    """Service fluid of the type, fluid in the test rig, fluid left inside for shipping."""

    service: str
    rig: str
    left_inside: str


@dataclass(frozen=True, kw_only=True)
class Act:
    """Who did what when; `entered_at` is the time of the entry, kept apart from the work itself."""

    meaning: str
    name: str
    done_at: datetime
    entered_at: datetime


@dataclass(frozen=True, kw_only=True)
class Signature:
    """The signed statement: printed name, the signer's authority, date and time."""

    statement: str
    name: str
    authority: str
    at: datetime


@dataclass(frozen=True, kw_only=True)
class Replaces:
    """The paper a reissue takes the place of, and why."""

    number: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Certificate:
    """Everything printed on one release certificate; dates are dates, times carry their zone."""

    number: str
    status: str
    shop: Shop
    customer: Customer
    work_order: str
    unit: UnitIdentity
    method: Method
    condition_on_arrival: str
    received_on: date
    tested_on: date
    issued_on: date
    positions: tuple[PositionRow, ...]
    steps: tuple[StepRow, ...]
    test_verdict: str
    instruments: tuple[InstrumentRow, ...]
    fluids: Fluids
    acts: tuple[Act, ...]
    signature: Signature
    warranty_terms: tuple[str, ...]
    digest: str
    customer_order: str = ""
    torn_down_on: date | None = None
    built_on: date | None = None
    components: tuple[ComponentRow, ...] = ()
    measurements: tuple[MeasurementRow, ...] = ()
    operations: tuple[OperationRow, ...] = ()
    charts: tuple[HoldChart, ...] = ()
    deviations: tuple[str, ...] = ()
    external_results: tuple[str, ...] = ()
    limitations: tuple[str, ...] = ()
    replaces: Replaces | None = None
    family: str = ""
    ports: tuple[PortRow, ...] = ()
    upgrades: tuple[tuple[str, str], ...] = ()  # place, what the shop states of its material

    def __post_init__(self) -> None:
        require_one_of(self.status, STATUS_DEFINITIONS, "status")
        require_one_of(self.test_verdict, VERDICTS, "test verdict")
