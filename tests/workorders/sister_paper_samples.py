"""Plain data for the papers that go with a certificate, about the same invented unit."""

from dataclasses import replace
from datetime import UTC, date, datetime

from tests.workorders.paper_samples import (
    ACTS,
    CERTIFICATE,
    COMPONENTS,
    CUSTOMER,
    DIGEST,
    MEASUREMENTS,
    POSITIONS,
    SHOP,
    UNIT,
    WINTER,
)
from workorders.documents.certificate_data import Signature
from workorders.documents.fitter_page import FitterPage
from workorders.documents.flush_warning import FlaggedUnit, FlushWarning
from workorders.documents.packing_list import PackedItem, PackedParcel, PackedUnit, PackingList
from workorders.documents.port_drawing import PortRow
from workorders.documents.returned_as_found import ReturnedAsFound

FITTER_PAGE = FitterPage(
    certificate_number=CERTIFICATE.number,
    issued_on=CERTIFICATE.issued_on,
    shop=SHOP,
    unit=UNIT,
    family="cylinder",
    fluid_inside="mineral oil ISO VG 15",
    fluid_to_fill="mineral oil ISO VG 15",
    ports=(
        PortRow(code="A", name="bore side", fitting="screwed clip, 14 mm", hose="3", cap="black plug"),
        PortRow(code="B", name="rod side", fitting="screwed clip, 14 mm", hose="4", cap="black plug"),
    ),
)
PACKING_LIST = PackingList(
    number="SH-2026-0205",
    shop=SHOP,
    recipient=CUSTOMER,
    work_order=CERTIFICATE.work_order,
    customer_order=CERTIFICATE.customer_order,
    shipped_on=date(2026, 11, 6),
    carrier="Skerry Freight",
    packed_by="Wren Halloway",
    packed_at=datetime(2026, 11, 6, 8, 40, tzinfo=UTC),
    parcels=(
        PackedParcel(
            number=1,
            tracking="CP 0044 1187",
            measures="4.2 kg, 60 × 20 × 15 cm",
            units=(
                PackedUnit(
                    serial=UNIT.shop_serial,
                    type_name=UNIT.type_name,
                    maker_serial=UNIT.maker_serial,
                    caps=("A", "B"),
                    paper=CERTIFICATE.number,
                    items=(
                        PackedItem(label="hose 3, attached on arrival", packed=True),
                        PackedItem(label="hose 4, attached on arrival", packed=True),
                        PackedItem(
                            label="mounting pin, extra part",
                            packed=False,
                            note="kept back at the customer's wish",
                        ),
                    ),
                ),
                PackedUnit(
                    serial="2D9F4TRB3",
                    type_name="Boarding platform lift cylinder, right",
                    caps=("A", "B"),
                    paper="RC-2026-0413",
                ),
            ),
        ),
        PackedParcel(
            number=2,
            units=(
                PackedUnit(
                    serial="M4C8ZP0HH",
                    type_name="Power unit 12 V, 0.8 cm³",
                    caps=("A", "B"),
                    as_found=True,
                    paper="AF-2026-0031",
                    items=(PackedItem(label="cable harness", packed=True),),
                ),
            ),
        ),
    ),
)
RETURNED = ReturnedAsFound(
    number="AF-2026-0031",
    shop=SHOP,
    customer=CUSTOMER,
    customer_order=CERTIFICATE.customer_order,
    work_order=CERTIFICATE.work_order,
    unit=UNIT,
    condition_on_arrival=CERTIFICATE.condition_on_arrival,
    reason="The barrel is split at the rod-side port; the customer declined a replacement by telephone.",
    received_on=date(2026, 11, 1),
    torn_down_on=date(2026, 11, 2),
    issued_on=date(2026, 11, 5),
    discrepancies=(
        "Barrel split over 22 mm at the rod-side port: not repairable.",
        "Rod scored over 60 mm; roughness above the limit.",
        "Piston seal broken up; fragments are missing and may be in the circuit.",
    ),
    positions=tuple(replace(row, action="kept", part="", lot="") for row in POSITIONS),
    components=tuple(replace(row, action="kept", part="", lot="", note="") for row in COMPONENTS[:3]),
    measurements=MEASUREMENTS[:2],
    caps="plastic caps on both ports",
    left_inside="none, drained",
    acts=ACTS[:2],
    signature=Signature(
        statement="The findings are as they were seen. The unit was not tested and carries no warranty.",
        name="Odile Marchbank",
        authority="TQ-REL-02",
        at=datetime(2026, 11, 5, 15, 10, tzinfo=WINTER),
    ),
    digest=DIGEST,
)
FLUSH = FlushWarning(
    number="FW-2026-0009",
    shop=SHOP,
    customer=CUSTOMER,
    work_order=CERTIFICATE.work_order,
    issued_on=date(2026, 11, 2),
    unit=UNIT,
    debris="Fragments of a PTFE piston seal and bright steel flakes in the bore-side oil.",
    origin="piston seal of this unit; the steel flakes: not determined",
    found=replace(ACTS[1], meaning="debris found"),
    service_fluid="mineral oil ISO VG 15",
    flagged=(
        FlaggedUnit(
            serial="2D9F4TRB3",
            type_name="Boarding platform lift cylinder, right",
            place="stern, right",
            state="received",
        ),
        FlaggedUnit(
            serial="M4C8ZP0HH", type_name="Power unit 12 V, 0.8 cm³", place="locker", state="torn down"
        ),
    ),
)
