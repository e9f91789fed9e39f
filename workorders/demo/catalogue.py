"""The shop before its first day: people, fluids, parts, unit types with kits and plans, instruments."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group

from inventory.models import Kit
from inventory.services.kit_lines import make_kit, save_kit_line
from inventory.services.parts import save_part, save_supplier
from inventory.services.upgrades import NO_UPGRADE, Upgrade
from shop.models import Component, StepLimit, TestPlan, TypeRevision, User
from shop.roles import LEAD
from shop.services.applications import save_application, save_mounting_place
from shop.services.catalogue import (
    approve_revision,
    draft_revision,
    save_fluid,
    save_place,
    save_unit_type,
)
from shop.services.profile import save_profile
from shop.services.test_plans import approve_plan, draft_plan, save_step
from shop.services.writing import Act, acting, keep
from workorders.demo.relatives import enter_relatives
from workorders.demo.technique import enter_technique, enter_tools
from workorders.demo.world import DemoType, Process, World, shop_data
from workorders.models import Instrument
from workorders.services.instruments import add_calibration, save_instrument

PASSWORD = "tern-quay-demo"  # noqa: S105 - printed beside the sign-in form of the demo
REASON = "the demo shop"
CALIBRATED_BY = "Northhaven Calibration"
OVERDUE = "TQ-G3"  # the gauge that nobody sent in for its last calibration, and nobody uses
FIGURES = (
    "bore_mm",
    "rod_mm",
    "stroke_mm",
    "closed_length_mm",
    "volume_ml",
    "displacement_cm3",
    "supply_v",
    "rated_pressure_bar",
    "proof_pressure_bar",
    "proof_hold_s",
    "proof_basis",
    "teardown_procedure",
    "filling_note",
    "spare_fluid_ml",
    "mark_place",
    "mark_note",
)

GLAND_FIGURES = (
    "gland_diameter_mm",
    "gland_diameter_tol_mm",
    "gland_depth_min_mm",
    "gland_depth_max_mm",
    "gland_width_min_mm",
    "gland_width_max_mm",
    "clearance_max_mm",
)


HOSE_FIGURES = (
    "attachment",
    "length_mm",
    "inside_diameter_mm",
    "end_fitting",
    "connects_to",
    "rated_pressure_bar",
)


def sign_ins() -> list[tuple[str, str, str]]:
    """Return user name, printed name and role of everybody in the demo."""
    return [(row["username"], row["printed_name"], row["role"]) for row in shop_data()["people"]]


def enter_catalogue(world: World) -> None:
    """Enter everything that the shop knew before its first unit, by its lead."""
    data = shop_data()
    world.time = world.start - dt.timedelta(days=1)
    _enter_people(world, data["people"])
    profile = {**data["profile"], "warranty_terms": data["profile"]["warranty_terms"].strip()}
    save_profile(act=world.act(LEAD, REASON), **profile)
    for row in data["fluids"]:
        world.fluids[row["name"]] = save_fluid(act=world.act(LEAD), **row)
    world.suppliers = [save_supplier(act=world.act(LEAD), **row) for row in data["suppliers"]]
    _enter_parts(world, data["parts"]["rows"])
    enter_tools(world)
    for row in data["types"]:
        world.types[row["code"]] = _enter_type(world, row)
    enter_relatives(world, data["relatives"])
    _enter_applications(world, data["applications"])
    _enter_instruments(world, data["instruments"]["rows"])


def _enter_people(world: World, rows: list[dict[str, str]]) -> None:
    """Enter the people; the lead comes first, since every row names who entered it."""
    password = make_password(PASSWORD)  # hashed once: each would take a fifth of a second
    for row in sorted(rows, key=lambda row: row["role"] != LEAD):
        user = User(
            username=row["username"],
            printed_name=row["printed_name"],
            authority_no=row["authority_no"],
            first_name=row["printed_name"].split()[0],
            last_name=row["printed_name"].split()[-1],
            password=password,
            date_joined=world.time,
        )
        lead = world.people.get(LEAD, [user])[0]
        if lead is user:
            keep(user)
        else:
            with acting(Act(by=lead, at=world.time, why=REASON)):
                keep(user)
        user.groups.add(Group.objects.get(name=row["role"]))
        world.people.setdefault(row["role"], []).append(user)


def _enter_parts(world: World, rows: list[list[Any]]) -> None:
    for number, name, kind, polymer, hardness, size, _cost in rows:
        world.parts[number] = save_part(
            act=world.act(LEAD),
            number=number,
            name=name,
            kind=kind,
            polymer=polymer,
            hardness_shore_a=hardness or None,
            size_designation=size,
        )


def _enter_type(world: World, row: dict[str, Any]) -> DemoType:
    unit_type = save_unit_type(
        act=world.act(LEAD),
        code=row["code"],
        name=row["name"],
        family=row["family"],
        maker=row["maker"],
        maker_numbers=row["maker_numbers"],
    )
    figures = {name: row[name] for name in FIGURES if name in row}
    figures["filling_note"] = row["filling_note"].strip()
    draft = draft_revision(
        act=world.act(LEAD), unit_type=unit_type, service_fluid=world.fluids[row["fluid"]], **figures
    )
    _enter_places(world, draft, row)
    enter_technique(world, draft)
    kit = _enter_kit(world, draft, row)
    plan = _enter_plan(world, draft, row)
    approve_revision(act=world.act(LEAD, "first revision of the type"), revision=draft)
    approve_plan(act=world.act(LEAD, "first version of the plan"), plan=plan)
    return DemoType(
        data=row,
        unit_type=unit_type,
        revision=_read_once(draft),
        plan=TestPlan.objects.prefetch_related("steps__limits").get(pk=plan.pk),
        kit_lines=list(
            kit.lines.filter(preference=1).select_related("part", "position", "component", "port", "hose")
        ),
    )


def _read_once(revision: TypeRevision) -> TypeRevision:
    """Read a revision with its places: an approved one never changes, so once is enough."""
    rows = TypeRevision.objects.select_related("unit_type", "service_fluid")
    return rows.prefetch_related(
        "positions", "components", "ports", "hoses__port", "dimension_limits__position"
    ).get(pk=revision.pk)


def _enter_places(world: World, draft: TypeRevision, row: dict[str, Any]) -> None:
    glands = {code: figures for code, *figures in row["glands"]}
    hints = shop_data()["hints"]

    def save(place: str, order: int, **fields: Any) -> Any:
        return save_place(act=world.act(LEAD), revision=draft, place=place, order=order, **fields)

    positions = {}
    for order, (code, name, kind, motion, size) in enumerate(row["positions"], 1):
        fields = {"code": code, "name": name, "kind": kind, "motion": motion, "size_designation": size}
        gland = _gland(*glands[code]) if code in glands else {}
        positions[code] = save("position", order, hint=hints.get(kind, ""), **fields, **gland)
    for order, (code, name, kind) in enumerate(row["components"], 1):
        save("component", order, code=code, name=name, kind=kind)
    ports = {}
    for order, (code, name, fitting, thread, along) in enumerate(row["ports"], 1):
        fields = {"code": code, "name": name, "fitting": fitting, "thread": thread}
        ports[code] = save("port", order, along=_number(along), **fields)
    for order, (port, code, *figures) in enumerate(row.get("hoses", ()), 1):
        told = dict(zip(HOSE_FIGURES, figures, strict=True))
        save("hose", order, port=ports[port], code=code, name=f"hose, {ports[port].name}", **told)
    for order, told in enumerate(row["dimensions"], 1):
        save("dimension", order, **_dimension(positions, *told))


def _gland(arrangement: str, *figures_mm: float) -> dict[str, Any]:
    return {"arrangement": arrangement} | dict(zip(GLAND_FIGURES, map(_number, figures_mm), strict=True))


def _dimension(
    positions: dict[str, Any],
    code: str,
    name: str,
    quantity: str,
    unit: str,
    stations: int,
    lower: float,
    upper: float,
    basis: str,
    by_sum: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """Return a dimension with its limits and, where a sum judges it as well, what the sum needs."""
    fields: dict[str, Any] = {"code": code, "name": name, "quantity": quantity, "unit": unit}
    fields |= {
        "stations": stations,
        "lower": _number(lower),
        "upper": _number(upper),
        "basis": basis,
        **(by_sum or {}),
    }
    if "position" in fields:
        fields["position"] = positions[fields["position"]]
    return fields


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value


def _enter_kit(world: World, draft: TypeRevision, row: dict[str, Any]) -> Kit:
    places = {
        place.code: place
        for rows in (draft.positions.all(), draft.components.all(), draft.ports.all())
        for place in rows
    }
    kit = make_kit(act=world.act(LEAD), revision=draft, name=f"Kit {row['code']}")
    lines = [*((1, *line) for line in row["kit"]), *((2, *line) for line in row.get("alternatives", ()))]
    for preference, code, part, pieces, reason, *upgrade in lines:
        save_kit_line(
            act=world.act(LEAD),
            kit=kit,
            place=places[code],
            part=world.parts[part],
            quantity=pieces,
            preference=preference,
            reason=reason,
            upgrade=_upgrade(*upgrade),
            required=not isinstance(places[code], Component),
        )
    return kit


def _upgrade(told: dict[str, Any] | None = None) -> Upgrade:
    """Return what the shop states of a material, by the data file."""
    if told is None:
        return NO_UPGRADE
    reasons = tuple(f"upgrade_{name}" for name in told["better"])
    return Upgrade(reasons=reasons, original_polymer=told["before"], words=told.get("words", ""))


def _enter_plan(world: World, draft: TypeRevision, row: dict[str, Any]) -> TestPlan:
    data = shop_data()
    plan = draft_plan(act=world.act(LEAD), revision=draft, title=f"Test of {row['code']}")
    words = {
        "proof": row["proof_pressure_bar"],
        "proof_hold": row["proof_hold_s"],
        "rated": row["rated_pressure_bar"],
    }

    def figure(value: float | str) -> float | None:
        return float(words[value]) if isinstance(value, str) else _number(value)

    for kind, side, title, pressure, hold, limits, *stated in data["plans"][row.get("plan", row["family"])]:
        save_step(
            act=world.act(LEAD),
            plan=plan,
            kind=kind,
            side=side,
            title=title,
            pressure_bar=figure(pressure),
            hold_s=figure(hold),
            instruction=data["instructions"].get(kind, ""),
            limits=[_limit(row, figure, *limit) for limit in limits],
            **(stated[0] if stated else {}),
        )
    return plan


def _limit(
    row: dict[str, Any],
    figure: Any,
    reading: str,
    judged: str,
    quantity: str,
    unit: str,
    lower: float | str,
    upper: float | str,
    source: str,
    basis: str,
    more: str = "",
) -> dict[str, Any]:
    if source == StepLimit.Source.TYPE:
        basis = f"{basis}: {row['proof_basis']}"
    return {
        "reading": reading,
        "judged": judged,
        "quantity": quantity,
        "unit": unit,
        "lower": figure(lower),
        "upper": figure(upper),
        "source": source,
        "basis": basis[:300],
        **_more(row, judged, more),
    }


def _more(row: dict[str, Any], judged: str, more: str) -> dict[str, Any]:
    """Return what a way of judging wants beyond two limits: the pump's displacement, or a code."""
    if judged == StepLimit.Judged.EFFICIENCY:
        return {"displacement_cm3": row["displacement_cm3"], "displacement_error_pct": 1.0}
    return {"code_at_most": more} if judged == StepLimit.Judged.CLEANLINESS else {}


def _enter_applications(world: World, rows: list[dict[str, str]]) -> None:
    applications = {
        row["name"]: save_application(act=world.act(LEAD), name=row["name"], note=row["note"]) for row in rows
    }
    for kind in world.types.values():
        for name, labour_h in kind.data["places"]:
            place = save_mounting_place(
                act=world.act(LEAD),
                application=applications[kind.data["application"]],
                unit_type=kind.unit_type,
                name=name,
                access_labour_h=labour_h,
                twin_of=kind.places[0] if kind.places else None,
            )
            kind.places.append(place)


def _enter_instruments(world: World, rows: list[list[Any]]) -> None:
    for number, (code, name, quantity, unit, end, accuracy, step, months) in enumerate(rows, 1):
        instrument = save_instrument(
            act=world.act(LEAD),
            code=code,
            name=name,
            serial=f"{2300 + 17 * number}",
            quantity=quantity,
            unit=unit,
            range_high=end,
            accuracy=accuracy,
            resolution=step,
        )
        world.instruments[code] = instrument
        world.begin(_calibrations(world, code, months), world.time)


def _calibrations(world: World, code: str, months: int) -> Process:
    """Have an instrument calibrated in time, year after year; the overdue one misses its last turn."""
    days = round(months * 30.4)
    while True:
        on = world.time.date()
        if code == OVERDUE and world.now.date() - on < dt.timedelta(days=days):
            return
        add_calibration(
            act=world.act(LEAD),
            instrument=world.instruments[code],
            calibrated_on=on,
            due_on=on + dt.timedelta(days=days),
            certificate_no=f"NC-{on:%y%m}-{code.removeprefix('TQ-')}",
            done_by=CALIBRATED_BY,
        )
        rows = Instrument.objects.prefetch_related("calibrations")
        world.instruments[code] = rows.get(code=code)
        yield world.after(days=days - 12)
