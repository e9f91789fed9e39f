"""One example address, or more, for every URL pattern of the project; a pattern without one is an error."""

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from django.urls import URLPattern, get_resolver, reverse

from tests.world import World

PAGE, PDF, IMAGE, JSON = "page", "pdf", "image", "json"
TABLE_FILE = "table_file"
ZIP = "zip"
POST_ONLY, REDIRECT = "post_only", "redirect"
SIGNED_OUT = "signed_out"  # a page for those who are not signed in yet; others are sent on


class Example(NamedTuple):
    """An address that exists in the world: the name of its pattern, and what answers a GET."""

    name: str
    address: str
    kind: str


class Line(NamedTuple):
    """One line of the table below; ``args`` takes the world and returns the pattern's arguments."""

    name: str
    kind: str
    args: Callable[[World], list[Any]]
    query: Callable[[World], str]


def line(name: str, *args: Any, kind: str = PAGE, query: Any = "") -> Line:
    """Describe an example; each argument is a value, or a function of the world."""

    def told(world: World, value: Any) -> Any:
        return value(world) if callable(value) else value

    return Line(
        name,
        kind,
        lambda world: [told(world, value) for value in args],
        lambda world: told(world, query),
    )


def post(name: str, *args: Any) -> Line:
    """Describe an address that takes POST only."""
    return line(name, *args, kind=POST_ONLY)


REBUILD_STATES = [
    "received",
    "opened",
    "dirty",
    "quoted",
    "agreed",
    "building",
    "built",
    "released",
    "shipped",
    "old",
    "again",
    "scrapped",
    "returned",
]

BOX_STATES = ["announced_box", "lone_box", "sorted_box"]


def of(path: str) -> Callable[[World], Any]:
    """Return a function that reads a dotted path off the world."""

    def read(world: World) -> Any:
        value: Any = world
        for name in path.split("."):
            value = value[int(name)] if name.isdigit() else getattr(value, name)
        return value

    return read


def many(name: str, *args: str, over: list[str], kind: str = PAGE) -> list[Line]:
    """Describe one example for each of several rows of the world; ``{}`` in an argument is its name."""
    return [line(name, *[of(arg.format(row)) for arg in args], kind=kind) for row in over]


SHOP = [
    line("shop:sign_in", kind=SIGNED_OUT),
    post("shop:sign_out"),
    line("shop:applications"),
    line("shop:application", of("application.pk")),
    line("shop:application_change", of("application.pk")),
    line("shop:application_new"),
    line("shop:mounting_place_new", of("application.pk")),
    line("shop:mounting_place_change", of("application.pk"), of("place.pk")),
    post("shop:mounting_place_remove", of("application.pk"), of("place.pk")),
    line("shop:customers"),
    line("shop:customers", query="q=nobody+of+that+name"),
    line("shop:customer", of("customer.pk")),
    line("shop:customer_change", of("customer.pk")),
    line("shop:customer", of("merged.pk")),
    line("shop:customer_new"),
    line("shop:duplicates"),
    line("shop:duplicates", query="show=different"),
    line("shop:customers_different", of("twins.0.pk"), of("twins.1.pk")),
    line("shop:customer_merge_with", of("customer.pk"), query="q=Marram"),
    line("shop:customer_merge", of("twins.0.pk"), of("twins.1.pk")),
    line("shop:merge_take_back", lambda w: w.merged.merges_away.get().pk),
    line("shop:ship_to_new", of("customer.pk")),
    line("shop:ship_to_change", lambda w: w.customer.ship_tos.first().pk),
    line("shop:fluids"),
    line("shop:fluid_change", of("fluid.pk")),
    line("shop:fluid_new"),
    line("shop:imports"),
    line("shop:import", of("imported.pk")),
    line("shop:import_undo", of("imported.pk")),
    line("shop:import_new", "parts"),
    line("shop:import_check", "suppliers", of("imported.file.pk")),
    line("shop:import_check", "parts", of("imported.file.pk")),
    line("shop:import_template", "parts", "csv", kind=TABLE_FILE),
    line("shop:people"),
    line("shop:people", query="q=nobody+of+that+name"),
    line("shop:person", lambda w: w.people["bench"].pk),
    post("shop:person_password", lambda w: w.people["bench"].pk),
    line("shop:person_new"),
    line("shop:settings"),
    line("shop:settings_change"),
    line("shop:labour_rate"),
    line("shop:limit_change", of("setting.key")),
    line("shop:file", of("photo.file.pk"), kind=IMAGE),
    line("shop:file", of("reissued.certificate.pk"), kind=PDF),
    line("shop:sums"),
    line("shop:sum", "gland_squeeze"),
    line("shop:sum", "gland_squeeze", query="cs_mm=3.53&cs_tol_mm=0.1&depth_min_mm=3.02&depth_max_mm=3.12"),
    line("shop:tools"),
    line("shop:tools", query="q=no+such+tool"),
    line("shop:tool_change", of("tool.pk")),
    line("shop:tool_new"),
    line("shop:unit_types"),
    line("shop:unit_types", query="q=no+such+type"),
    line("shop:unit_type", of("revision.unit_type.pk")),
    line("shop:unit_type", of("draft.unit_type.pk"), query="revision=2"),
    line("shop:unit_type_change", of("draft.unit_type.pk")),
    line("shop:unit_type_new"),
    line("shop:number_new", of("revision.unit_type.pk")),
    line("shop:number_change", of("revision.unit_type.pk"), of("maker_number.pk")),
    line("shop:number_remove", of("revision.unit_type.pk"), of("maker_number.pk")),
    line("shop:variant_change", of("revision.unit_type.pk")),
    line("shop:interchange_new", of("revision.unit_type.pk")),
    line("shop:interchange_change", of("revision.unit_type.pk"), of("interchange.pk")),
    line("shop:interchange_remove", of("revision.unit_type.pk"), of("interchange.pk")),
    line("shop:reference_photo_new", of("revision.unit_type.pk")),
    line("shop:reference_photo_change", of("revision.unit_type.pk"), of("reference_photo.pk")),
    line("shop:reference_photo_remove", of("revision.unit_type.pk"), of("reference_photo.pk")),
    post("shop:revision_draft", of("revision.unit_type.pk")),
    line("shop:revision_change", of("draft.pk")),
    line("shop:revision_approve", of("draft.pk")),
    post("shop:plan_draft", of("revision.pk")),
    line("shop:test_plan", of("plan.pk")),
    line("shop:test_plan", of("draft_plan.pk")),
    line("shop:plan_change", of("draft_plan.pk")),
    line("shop:plan_approve", of("draft_plan.pk")),
    post("shop:plan_propose", of("draft_plan.pk")),
    line("shop:step_new", of("draft_plan.pk"), query="kind=proof"),
    line("shop:step_new", of("draft_plan.pk")),
    line("shop:step_change", of("draft_plan.pk"), lambda w: w.draft_plan.steps.first().pk),
    post("shop:step_remove", of("draft_plan.pk"), lambda w: w.draft_plan.steps.first().pk),
    *[
        line("shop:place_new", of("draft.pk"), kind_of_place)
        for kind_of_place in (
            "position",
            "component",
            "port",
            "hose",
            "dimension",
            "note",
            "fastening",
            "tool",
        )
    ],
    line("shop:place_change", of("draft.pk"), "position", lambda w: w.draft.positions.first().pk),
    line("shop:place_change", of("draft.pk"), "fastening", lambda w: w.draft.fastening_figures.first().pk),
    post("shop:place_remove", of("draft.pk"), "position", lambda w: w.draft.positions.first().pk),
]

INVENTORY = [
    line("inventory:parts"),
    line("inventory:parts", query="q=no+such+part"),
    line("inventory:part", of("lot.part.pk")),
    line("inventory:part_change", of("lot.part.pk")),
    line("inventory:part_new"),
    line("inventory:suppliers"),
    line("inventory:supplier_change", of("lot.supplier.pk")),
    line("inventory:supplier_new"),
    line("inventory:lots"),
    line("inventory:lots", query="show=expired"),
    line("inventory:lot", of("lot.number")),
    line("inventory:lot", of("held.number")),
    line("inventory:lot_receive"),
    line("inventory:lot_hold", of("lot.number")),
    line("inventory:lot_accept", of("held.number")),
    line("inventory:ledger"),
    line("inventory:ledger", query=lambda w: f"lot={w.lot.number}&sort=-pieces"),
    line("inventory:ledger", query="q=no+such+word"),
    line("inventory:lot_cost", of("lot.number")),
    line("inventory:lot_count", of("lot.number")),
    line("inventory:lot_move", of("lot.number")),
    line("inventory:lot_scrap", of("lot.number")),
    line("inventory:lot_scrap_all", of("lot.number")),
    line("inventory:lot_quarantine", of("lot.number")),
    line("inventory:lot", of("quarantined.number")),
    line("inventory:lot_accept", of("quarantined.number")),
    line("inventory:lot_extend", of("lot.number")),
    line("inventory:lot_certificates", of("lot.number")),
    line("inventory:lot_certificate_withdraw", of("lot.number"), of("lot_certificate.pk")),
    line("inventory:lot_short", of("lot.number"), kind=REDIRECT),
    line("inventory:lot_scanned", of("lot.number"), kind=REDIRECT),
    line("inventory:lot_labels", of("lot.number")),
    line("inventory:lot_label_file", of("lot.number"), "62x29", "png", kind=IMAGE),
    line("inventory:lot_label_file", of("lot.number"), "A4", "pdf", kind=PDF),
    line("inventory:counts"),
    line("inventory:count_new"),
    *many("inventory:count", "{}.pk", over=["open_count", "booked_count"]),
    line("inventory:count_enter", of("open_count.pk")),
    line("inventory:count_book", of("open_count.pk")),
    line("inventory:count_drop", of("open_count.pk")),
    line("inventory:count_sheet", of("open_count.pk"), kind=PDF),
    line("inventory:lot_make"),
    line("inventory:lot_make", query=lambda w: f"part={w.made.part_id}&pieces=3"),
    line("inventory:lot", of("made.number")),
    line("inventory:making_take_back", of("made.number")),
    line("inventory:part", of("made.part_id")),
    line("inventory:recipe_line_new", of("made.part_id")),
    line("inventory:recipe_line_change", of("made.part_id"), of("recipe_line.pk")),
    line("inventory:recipe_line_remove", of("made.part_id"), of("recipe_line.pk")),
    line("inventory:found_in_bin"),
    line("inventory:found_settle", of("found.pk")),
    line("inventory:kits"),
    line("inventory:kit", of("kit.pk")),
    post("inventory:kit_make", of("draft.pk")),
    line("inventory:kit_line_new", of("kit.pk")),
    line("inventory:kit_line_change", of("kit.pk"), of("kit_line.pk")),
    line("inventory:kit_line_remove", of("kit.pk"), of("kit_line.pk")),
    line("inventory:kit_pack", of("kit.pk")),
    line("inventory:packed_kits"),
    line("inventory:packed_kit", of("packed.code")),
    line("inventory:packed_kit_label", of("packed.code"), "62x29", 300, kind=PDF),
    line("inventory:packed_kit_unpack", of("packed.code")),
    line("inventory:walking_order"),
    post("inventory:walking_order_undo"),
    line("inventory:what_to_order"),
    line("inventory:what_to_order", query="show=all&sort=-cover"),
    post("inventory:order_draft", of("lot.supplier.pk")),
    line("inventory:expiring", query="days=3650"),
    line("inventory:dead_stock", query="months=1"),
    line("inventory:purchase_orders"),
    line("inventory:purchase_orders", query="show=all&q=no+such+order"),
    line("inventory:purchase_order_new"),
    *many("inventory:purchase_order", "{}.number", over=["drafted_order", "partly_order"]),
    line("inventory:purchase_order_change", of("drafted_order.number")),
    line("inventory:order_line_new", of("drafted_order.number")),
    line("inventory:order_line_change", of("drafted_order.number"), lambda w: w.drafted_order.lines.get().pk),
    post("inventory:order_line_remove", of("drafted_order.number"), lambda w: w.drafted_order.lines.get().pk),
    post("inventory:purchase_order_send", of("drafted_order.number")),
    line("inventory:purchase_order_cancel", of("drafted_order.number")),
    line("inventory:purchase_order_close", of("partly_order.number")),
    line("inventory:lot_receive", query=lambda w: f"line={w.partly_order.lines.get().pk}"),
    line("inventory:supplier_part_new", of("lot.part.pk")),
    line("inventory:supplier_part_change", of("sold.pk")),
    line("inventory:supplier_part_prices", of("sold.pk")),
    line("workorders:purchase_order_pdf", of("drafted_order.number"), kind=PDF),
]

RECEIVING = [
    line("workorders:receive"),
    line("workorders:receive", query="q=Marram"),
    line("workorders:receive_for", of("customer.pk")),
    line("workorders:work_orders"),
    line("workorders:work_orders", query="show=all&q=no+such+order"),
    line("workorders:work_order", of("received.work_order.number")),
    line("workorders:work_order", of("shipped.work_order.number")),
    line("workorders:work_order_change", of("received.work_order.number")),
    line("workorders:order_owner", of("received.work_order.number")),
    line("workorders:order_owner", of("rushed.number"), query="q=Marram"),
    line("workorders:order_owner_new", of("received.work_order.number")),
    line("workorders:order_owner_named", of("received.work_order.number"), of("twins.0.pk")),
    line("workorders:order_rush", of("received.work_order.number")),
    line("workorders:order_rush_end", of("rushed.number")),
    line("workorders:work_order", of("rushed.number")),
    line("workorders:work_order_customer", of("received.work_order.number")),
    line(
        "workorders:work_order_move", of("received.work_order.number"), of("shipped.work_order.customer.pk")
    ),
    line("workorders:add_unit", of("received.work_order.number")),
    line("workorders:add_unit", of("received.work_order.number"), query="q=no+such+type"),
    line("workorders:add_new", of("received.work_order.number"), of("revision.unit_type.pk")),
    line("workorders:add_known", of("received.work_order.number"), of("shipped.unit.serial")),
    line("workorders:add_unknown", of("received.work_order.number"), query="family=cylinder&bore_mm=32"),
    line("workorders:identify"),
    line("workorders:identify", query="family=power_unit&supply_v=12&numbers=nothing-like-it"),
    line("workorders:identify_for", of("received.work_order.number")),
    line(
        "workorders:identify_for",
        of("received.work_order.number"),
        query="family=cylinder&bore_mm=25&rod_mm=12&numbers=BD+4410+000177340+REV+8&ports=2",
    ),
    line("workorders:identify_again", of("received.pk"), query="family=cylinder&bore_mm=25"),
    line("workorders:other_type", of("received.pk"), query="q=C"),
    line("workorders:other_type_chosen", of("received.pk"), of("draft.unit_type.pk")),
    line("workorders:photo_reference", of("photo.pk")),
    line("workorders:intake", of("received.pk")),
    line("workorders:intake_change", of("received.pk")),
    line("workorders:photos", of("received.pk")),
    post("workorders:shelf", of("received.pk")),
    line("workorders:labels", of("received.unit.serial")),
    line("workorders:label_file", of("received.unit.serial"), "62x29", "pdf", kind=PDF),
    line("workorders:label_file", of("received.unit.serial"), "50x25", "png", kind=IMAGE),
    line("workorders:label_file", of("received.unit.serial"), "tag", "pdf", kind=PDF),
    line("workorders:label_file", of("received.unit.serial"), "A4", "pdf", kind=PDF),
    line("workorders:work_order_labels", of("received.work_order.number")),
    line("workorders:work_order_label_file", of("received.work_order.number"), "Letter", kind=PDF),
]

BOXES = [
    line("workorders:boxes"),
    line("workorders:boxes", query="show=unidentified"),
    line("workorders:box_announce"),
    line("workorders:box_announce", query=lambda w: f"customer={w.customer.pk}"),
    line("workorders:box_links"),
    post("workorders:box_link_revoke", of("link.pk")),
    line("workorders:box_new"),
    *many("workorders:box", "{}.number", over=BOX_STATES),
    line("workorders:box_short", of("lone_box.number"), kind=REDIRECT),
    line("workorders:box_scanned", of("lone_box.number"), kind=REDIRECT),
    *many("workorders:box_change", "{}.number", over=BOX_STATES),
    *many("workorders:box_close", "{}.number", over=BOX_STATES),
    line("workorders:box_line", of("sorted_box.number"), 1),
    line("workorders:box_line", of("lone_box.number"), 1),
    line("workorders:box_line_new", of("lone_box.number")),
    line("workorders:box_photos", of("lone_box.number")),
    line("workorders:box_receive", of("announced_box.number")),
    line("workorders:box_reopen", of("lone_box.number")),
    line("workorders:box_sender", of("lone_box.number"), query="q=Marram"),
    line("workorders:box_sender_named", of("sorted_box.number"), of("customer.pk")),
    line("workorders:box_slip", of("announced_box.number"), kind=PDF),
    line("workorders:box_label", of("lone_box.number"), "62x29", kind=PDF),
    line("workorders:box_tags", of("lone_box.number"), "62x29", kind=PDF),
    *many("workorders:box_order", "{}.number", over=["lone_box", "sorted_box"]),
    line("workorders:add_unit", of("sorted_box.work_order.number"), query=lambda w: f"line={w.box_line.pk}"),
    line(
        "workorders:add_new",
        of("sorted_box.work_order.number"),
        of("revision.unit_type.pk"),
        query=lambda w: f"line={w.box_line.pk}",
    ),
    line("workorders:announce", of("link.token")),
    line("workorders:announce", of("used_link.token")),
    line("workorders:announce_slip", of("used_link.token"), kind=PDF),
]

BENCH = [
    *many("workorders:rebuild", "{}.pk", over=REBUILD_STATES),
    line("workorders:rebuild_changes", of("opened.pk")),
    *many("workorders:teardown", "{}.pk", over=["received", "opened", "dirty", "quoted"]),
    line("workorders:finding", of("opened.pk"), "position", of("finding.position_id")),
    line("workorders:finding", of("received.pk"), "port", lambda w: w.revision.ports.first().pk),
    line("workorders:finding", of("received.pk"), "hose", lambda w: w.revision.hoses.first().pk),
    line("workorders:port_photo", of("received.pk"), lambda w: w.revision.hoses.first().pk),
    line("workorders:finding", of("unknown.pk"), "position", of("found_position.pk")),
    line("workorders:teardown", of("unknown.pk")),
    line("workorders:build", of("unknown.pk")),
    line("workorders:place_found", of("unknown.pk"), "position"),
    line("workorders:place_found", of("unknown.pk"), "component"),
    line("workorders:place_found", of("unknown.pk"), "port"),
    line("workorders:place_found", of("unknown.pk"), "hose"),
    line("workorders:place_found", of("unknown.pk"), "dimension"),
    line("workorders:place_found", of("opened.pk"), "position"),
    line("workorders:place_change", of("unknown.pk"), "component", of("found_component.pk")),
    post("workorders:place_remove", of("unknown.pk"), "component", of("found_component.pk")),
    line("workorders:draft_gland", of("unknown.pk"), of("found_position.pk")),
    post("workorders:gland_take_over", of("unknown.pk"), of("found_position.pk")),
    line("workorders:seal_found", of("unknown.pk"), of("found_position.pk")),
    line("workorders:seal_size", of("unknown.pk"), of("found_position.pk")),
    line("workorders:seal_size", of("opened.pk"), lambda w: w.revision.positions.first().pk),
    line("workorders:finding", of("quoted.pk"), "component", lambda w: w.revision.components.first().pk),
    line(
        "workorders:measurement", of("opened.pk"), lambda w: w.revision.dimension_limits.get().pk, "as_found"
    ),
    line(
        "workorders:measurement", of("building.pk"), lambda w: w.revision.dimension_limits.get().pk, "after"
    ),
    line("workorders:fluid_found", of("opened.pk")),
    line("workorders:debris", of("opened.pk")),
    line("workorders:debris", of("dirty.pk")),
    post("workorders:withdraw_debris", of("dirty.pk")),
    line("workorders:flush_warning", of("dirty.pk"), kind=PDF),
    post("workorders:renew_rest", of("opened.pk")),
    post("workorders:keep_rest", of("opened.pk")),
    line("workorders:close_teardown", of("dirty.pk")),
    line("workorders:close_teardown", of("opened.pk")),
    line("workorders:quote", of("opened.pk")),
    line("workorders:go_ahead", of("quoted.pk")),
    *many("workorders:build", "{}.pk", over=["received", "quoted", "agreed", "building", "built"]),
    line("workorders:use_part", of("building.pk"), "position", of("kit_line.position_id")),
    line("workorders:use_part", of("building.pk"), "port", lambda w: w.revision.ports.first().pk),
    line("workorders:check_hose", of("building.pk"), lambda w: w.revision.hoses.first().pk),
    post("workorders:scan_part", of("building.pk")),
    line("workorders:take_back_part", of("used.pk")),
    line("workorders:operation", of("building.pk")),
    *[
        line("workorders:operation", of("building.pk"), query=f"kind={kind}")
        for kind in ("fastened", "corrosion_removed", "honed", "masked")
    ],
    line("workorders:correct_operation", of("operation.pk")),
    line("workorders:correct_operation", of("masking.pk")),
    post("workorders:masking_off", of("masking.pk")),
    line("workorders:close_build", of("building.pk")),
    line("workorders:lesson_new", of("opened.pk"), query="step=teardown"),
    line("workorders:lessons"),
    line("workorders:lessons", query="show=all&q=no+such+lesson"),
    *many("workorders:lesson", "{}.pk", over=["lesson", "taken_lesson"]),
    line("workorders:lesson_take_over", of("lesson.pk")),
    line("workorders:lesson_decline", of("lesson.pk")),
    line("workorders:lesson_withdraw", of("lesson.pk")),
    line("workorders:margins", query="start=2026-01-01"),
    line("workorders:margins", query="end=2020-01-01&show=warranty"),
    line("workorders:margins_rebuilds", query="start=2026-01-01"),
    line("workorders:margins_rebuilds", query="end=2020-01-01"),
    line("workorders:rebuild_price", of("priced.pk")),
    line("workorders:work_time", of("priced.pk")),
    line("workorders:work_time_correct", of("worked.pk")),
    line("workorders:outside_price", of("out.pk")),
    line("workorders:outside_works"),
    line("workorders:outside_works", query="show=all&q=no+such+supplier"),
    line("workorders:send_out", of("agreed.pk")),
    *many("workorders:outside_work", "{}.pk", over=["out", "back"]),
    line("workorders:outside_work_slip", of("out.pk"), kind=PDF),
    line("workorders:outside_work_due", of("out.pk")),
    line("workorders:outside_work_cancel", of("out.pk")),
    line("workorders:outside_work_return", of("out.pk")),
    line("workorders:outside_work_inspect", of("back.pk")),
]

RIG = [
    *many("workorders:test_start", "{}.pk", over=["received", "built"]),
    line("workorders:fluid_decide", of("built.pk"), of("fluid.pk")),
    *many("workorders:pressure_test", "{}.pk", over=["running", "signed", "stopped"]),
    line("workorders:step_start", of("running.pk"), lambda w: w.hold.order),
    line("workorders:test_step", of("running.pk"), 1),
    line(
        "workorders:test_step",
        of("running.pk"),
        of("hold.order"),
        query=lambda w: f"r{w.logger_file.limit_id}-file={w.logger_file.pk}",
    ),
    post("workorders:logger_file_new", of("running.pk"), of("hold.order"), of("logger_file.limit_id")),
    line(
        "workorders:logger_file_reading",
        of("running.pk"),
        of("hold.order"),
        of("logger_file.limit_id"),
        of("waiting_key"),
    ),
    line("workorders:logger_file_chart", of("logger_file.pk"), kind=IMAGE),
    line("workorders:plan_sheet", of("plan.pk"), kind=PDF),
    line("workorders:plan_sheet", of("draft_plan.pk"), kind=PDF),
    line("workorders:rebuild_sheet", of("built.pk"), kind=PDF),
    line("workorders:test_blank_sheet", of("running.pk"), kind=PDF),
    *many("workorders:test_sheet", "{}.pk", over=["running", "signed", "stopped"], kind=PDF),
    line("workorders:sheet_short", of("built.pk"), kind=REDIRECT),
    line("workorders:sheet_scanned", lambda w: f"P{w.plan.pk}", kind=REDIRECT),
    line("workorders:logger_file_samples", of("logger_file.pk"), kind=JSON),
    line("workorders:test_sign", of("running.pk")),
    line("workorders:test_supersede", of("running.pk")),
    line("workorders:test_supersede", of("signed.pk")),
    line("workorders:trace", of("trace.pk")),
    line("workorders:trace_chart", of("trace.pk"), kind=IMAGE),
    line("workorders:trace_samples", of("trace.pk"), kind=JSON),
    line("workorders:instruments"),
    line("workorders:instruments_to_review"),
    line("workorders:instrument_short", of("transducer.pk"), kind=REDIRECT),
    line("workorders:instrument_scanned", of("transducer.pk"), kind=REDIRECT),
    line("workorders:instrument_labels"),
    line("workorders:instrument_label_file", "Letter", kind=PDF),
    line("workorders:calibration_touched", of("found_out.pk")),
    line("workorders:calibration_review", of("found_out.pk"), of("touched.pk")),
    line("workorders:instrument", of("transducer.pk")),
    line("workorders:instrument_change", of("transducer.pk")),
    line("workorders:instrument_new"),
    line("workorders:calibration_new", of("transducer.pk")),
    line("workorders:calibration_change", lambda w: w.transducer.calibrations.first().pk),
]

RIGS = [
    post("workorders:rig_traces"),
    line("workorders:rig_short", of("rig.pk"), kind=REDIRECT),
    line("workorders:rig_scanned", of("rig.pk"), kind=REDIRECT),
    line("workorders:rigs"),
    line("workorders:rigs", query="show=retired"),
    line("workorders:rig", of("rig.pk")),
    line("workorders:rig_new"),
    line("workorders:rig_change", of("rig.pk")),
    line("workorders:rig_mount", of("rig.pk")),
    line("workorders:rig_take_off", of("rig.pk"), lambda w: w.rig.channels.get().pk),
    line("workorders:rig_label", of("rig.pk")),
    line("workorders:rig_label_file", of("rig.pk"), "62x29", kind=PDF),
    line("workorders:rig_token_new", of("rig.pk")),
    line("workorders:rig_token_revoke", of("rig.pk"), lambda w: w.rig.tokens.first().pk),
    line("workorders:rig_files"),
    line("workorders:rig_files", query="show=all&q=no+such+file"),
    *many("workorders:rig_file", "{}.pk", over=["rig_kept", "rig_aside", "rig_dismissed"]),
    line("workorders:rig_file_give", of("rig_aside.pk")),
    line("workorders:rig_file_dismiss", of("rig_aside.pk")),
    post("workorders:rig_file_take_up", of("rig_dismissed.pk")),
]

PACKING = [
    line("workorders:pack", of("released.work_order.number")),
    line("workorders:pack", of("received.work_order.number")),
    line("workorders:pack", of("packing.work_order.number")),
    line("workorders:pack", of("packing.work_order.number"), query="parcel=2"),
    line("workorders:pack", of("part.work_order.number")),
    post("workorders:packing_begin", of("released.work_order.number")),
    post("workorders:packing_scan", of("packing_parcel.pk")),
    post("workorders:packing_put_in", of("packing_parcel.pk"), of("released.pk")),
    line("workorders:packing_exchange", of("packing_parcel.pk"), of("on_shelf.pk")),
    line("workorders:packing_parcel_close", of("packing_parcel.pk")),
    post("workorders:packing_parcel_reopen", of("packing_parcel.pk")),
    post("workorders:packing_parcel_add", of("packing.pk")),
    line("workorders:packing_line_add", of("packing_unit.pk")),
    post("workorders:packing_move", of("packing_unit.pk")),
    post("workorders:packing_take_out", of("packing_unit.pk")),
    line("workorders:packing_keep_back", of("packing_line.pk")),
    post("workorders:packing_line_pack", of("packing_line.pk")),
    post("workorders:packing_line_undo", of("packing_line.pk")),
    line("workorders:packing_send", of("packing.pk")),
    line("workorders:packing_cancel", of("packing.pk")),
    line("workorders:cores_owed"),
    line("workorders:cores_owed", query="show=all"),
    line("workorders:core_came", of("owed.pk")),
    line("workorders:core_due", of("owed.pk")),
    line("workorders:core_waive", of("owed.pk")),
    line("workorders:core_letter", of("owed.pk"), kind=PDF),
    line("workorders:shortages"),
    line("workorders:shortages", query="show=all"),
    line("workorders:shortages", query=lambda w: f"show=all&order={w.received.work_order.number}"),
    line("workorders:shortages_by_unit"),
    line("workorders:shortages_by_unit", query="show=all"),
    line("workorders:pick_list", of("received.work_order.number"), kind=PDF),
    line("workorders:work_order_short", of("received.work_order.number"), kind=REDIRECT),
    line("workorders:work_order_scanned", of("received.work_order.number"), kind=REDIRECT),
    line("workorders:shipment_short", of("shipment.number"), kind=REDIRECT),
    line("workorders:shipment_scanned", of("shipment.number"), kind=REDIRECT),
    line("workorders:shipment", of("part.number")),
    line("workorders:unit", of("core.unit.serial")),
    line("workorders:rebuild", of("core.pk")),
    line("workorders:work_order", of("part.work_order.number")),
]

DESK = [
    line("workorders:home"),
    line("workorders:home", query="stage=building"),
    line("workorders:drafts"),
    line("workorders:draft", of("unknown.revision_id")),
    line("workorders:draft", of("lone_draft.pk")),
    line("workorders:draft", of("revision.pk"), kind=REDIRECT),
    line("workorders:draft_known", of("unknown.revision_id")),
    line("workorders:draft_known", of("unknown.revision_id"), query="q=nothing+like+it"),
    line("workorders:draft_merge", of("unknown.revision_id"), of("revision.pk")),
    line("shop:unit_type", of("lone_draft.unit_type_id")),
    line("workorders:find", query="q=Customer"),
    line("workorders:find", query="q=nothing+like+it"),
    line("workorders:find", query=lambda w: f"q={w.received.unit.serial}", kind=REDIRECT),
    *many("workorders:unit", "{}.unit.serial", over=["received", "released", "shipped", "old", "returned"]),
    line("workorders:unit_scanned", of("received.unit.serial")),
    line("workorders:unit_json", of("shipped.unit.serial"), kind=JSON),
    *many("workorders:release_rebuild", "{}.pk", over=["received"]),
    line("workorders:release_rebuild", of("signed.rebuild.pk")),
    line("workorders:release", of("reissued.number")),
    line("workorders:release", of("replaced.number")),
    line("workorders:reissue", of("reissued.number")),
    line("workorders:side_exit", of("received.pk")),
    line("workorders:as_found", of("returned.pk"), kind=PDF),
    line("workorders:shipments"),
    line("workorders:shipment", of("shipment.number")),
    line("workorders:address_labels", of("shipment.number"), kind=PDF),
    line("workorders:port_tags", of("shipment.number"), kind=PDF),
    post("workorders:tracking", lambda w: w.shipment.parcels.get().pk),
    line("workorders:claims"),
    line("workorders:claims", query="state=all"),
    line("workorders:claim", of("claim.number")),
    line("workorders:claim", of("again.from_claim.number")),
    post("workorders:claim_add", of("claim.number")),
    line("workorders:recalls"),
    line("workorders:recalls", query="show=withdrawn&sort=-units"),
    line("workorders:recalls", query="show=closed&q=no+such+recall"),
    line("workorders:recall_new"),
    line("workorders:recall_new", query=lambda w: f"lot={w.lot.number}"),
    line("workorders:recall", of("recall.number")),
    line("workorders:recall", of("withdrawn_recall.number")),
    line("workorders:recall_call", of("recall.number"), of("recall_customer.pk")),
    line("workorders:recall_call_sheet", of("recall.number"), kind=PDF),
    line("workorders:recall_change", of("recall.number")),
    line("workorders:recall_close", of("recall.number")),
    line("workorders:recall_decide", of("recall.number"), of("recalled_here")),
    line("workorders:recall_letter_reissue", of("recall_letters.0.pk")),
    line("workorders:recall_letters", of("recall.number"), kind=ZIP),
    post("workorders:recall_letters_issue", of("recall.number")),
    line("workorders:recall_lots", of("recall.number"), query="q=no-such-lot"),
    line("workorders:recall_reopen", of("recall.number")),
    post("workorders:recall_units", of("recall.number")),
    line("workorders:recall_withdraw", of("recall.number")),
    line("workorders:unit", of("recalled.unit.serial")),
    line("workorders:rebuild", of("stopped_unit.pk")),
    line("workorders:build", of("stopped_unit.pk")),
    line("workorders:where_used", of("lot.number")),
    line("workorders:where_used", of("lot.number"), query="where=shop&sort=-unit&q=no+such+unit"),
    line("workorders:where_used", of("held.number")),
    line("workorders:unit_lots", of("old.unit.serial")),
    line("workorders:unit_lots", of("received.unit.serial")),
    post("workorders:claim_compare", of("claim.number")),
    post("workorders:claim_judge", of("claim.number")),
    post("workorders:claim_receive", of("claim.number")),
    line("workorders:claim_open", of("old.warranty.pk")),
    line("workorders:warranty_holder", of("old.warranty.pk"), query="q=Marram"),
    line("workorders:warranty_holder_new", of("old.warranty.pk")),
    line("workorders:warranty_holder_named", of("old.warranty.pk"), of("twins.0.pk")),
]

TABLE = [*SHOP, *INVENTORY, *RECEIVING, *BOXES, *BENCH, *RIG, *RIGS, *PACKING, *DESK]


def addresses(world: World, patterns: Any = None) -> list[Example]:
    """Return every example; LookupError names the patterns that have none, and names that are gone.

    ``patterns`` are those of the project unless given.
    """
    named, told = set(pattern_names(patterns)), {each.name for each in TABLE}
    if missing := sorted(named - told):
        raise LookupError(f"Add an example to tests/every_address.py for: {', '.join(missing)}")
    if gone := sorted(told - named):
        raise LookupError(
            f"No URL pattern is called {', '.join(gone)}; take it out of tests/every_address.py"
        )
    return [_example(world, each) for each in TABLE]


def _example(world: World, each: Line) -> Example:
    query = each.query(world)
    address = reverse(each.name, args=each.args(world)) + (f"?{query}" if query else "")
    return Example(each.name, address, each.kind)


def pattern_names(patterns: Any = None, space: str = "") -> Iterator[str]:
    """Walk the resolver and yield the full name of every URL pattern."""
    for entry in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(entry, URLPattern):
            yield f"{space}{entry.name}" if entry.name else f"{space}{entry.pattern}"
        else:
            inner = f"{space}{entry.namespace}:" if entry.namespace else space
            yield from pattern_names(entry.url_patterns, inner)
