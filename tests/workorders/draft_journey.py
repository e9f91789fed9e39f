"""A unit of an unknown type, opened at the bench by the services, as far as a test wants it."""

from dataclasses import dataclass, field

from inventory.services import kit_lines
from shop.services import catalogue, test_plans
from shop.services.draft_types import SeenOutside
from tests import factories
from tests.asking import picture
from tests.workorders.journey import Journey
from workorders.services import draft_glands, draft_places, receiving, seals_found, teardown
from workorders.services.draft_approval import approve_draft
from workorders.services.unknown_units import add_unknown_unit

SEEN = SeenOutside(family="cylinder", name="black ramp cylinder", maker_numbers="77-4", bore_mm=32)
PLACES = [
    ("position", {"kind": "rod_seal"}),
    ("position", {"kind": "piston_seal"}),
    ("component", {"kind": "barrel"}),
    ("port", {"fitting": "screwed"}),
    ("dimension", {"quantity": "rod_diameter", "stations": 2}),
]


@dataclass
class DraftJourney(Journey):
    """A journey whose type nobody knew; ``revision`` is the draft once it is received."""

    revision: object = None
    places: list = field(default_factory=list)

    def receive_unknown(self, **told):
        order = receiving.open_work_order(act=self.act("receiving"), customer=factories.CustomerFactory())
        self.rebuild = add_unknown_unit(
            **{
                "act": self.act("receiving"),
                "work_order": order,
                "seen": SEEN,
                "opened_before": "by_others",
                "arrival_condition": "wet at the rod",
                "photos": [picture()],
                **told,
            }
        )
        self.revision = self.rebuild.revision
        return self

    def twin(self):
        """Another unit of the same draft, on a journey of its own with the same people."""
        other = DraftJourney(people=self.people, now=self.now, revision=self.revision)
        other.rebuild = receiving.add_new_unit(
            act=self.act("receiving"),
            work_order=self.rebuild.work_order,
            unit_type=self.revision.unit_type,
            opened_before="by_others",
            arrival_condition="wet as well",
        )
        other.places = self.places
        return other

    def add(self, place, **fields):
        row = draft_places.save_found_place(
            act=self.act("bench"), rebuild=self.rebuild, place=place, **fields
        )
        self.places.append(row)
        return row

    def add_all(self):
        for place, fields in PLACES:
            self.add(place, **fields)
        return self

    def gland(self, position, **readings):
        told = readings or {"depth": {1: 2.85, 2: 2.9}, "width": {1: 4.9, 2: 5.0}, "diameter": {1: 25.4}}
        return draft_glands.record_gland(
            act=self.act("bench"),
            rebuild=self.rebuild,
            position=position,
            readings=told,
            instrument=self.micrometer,
            arrangement="piston",
        )

    def seal(self, position, **sizes):
        told = sizes or {"profile": "o_ring", "inside_mm": 24.9, "section_mm": 3.45}
        return seals_found.record_seal(
            act=self.act("bench"),
            rebuild=self.rebuild,
            position=position,
            instrument=self.micrometer,
            **told,
        )

    def find_all(self):
        """A finding at every place, the readings and the fluid."""
        for place in (*self.revision.positions.all(), *self.revision.components.all()):
            seal = hasattr(place, "motion")
            teardown.record_finding(
                act=self.act("bench"),
                rebuild=self.rebuild,
                place=place,
                condition="hardened" if seal else "sound",
                cause="age" if seal else "none",
                action="renewed" if seal else "kept",
                note=f"seen at {place.code}",
                photos=[picture(f"{place.code}.png")],
            )
        for place in self.revision.ports.all():
            teardown.record_finding(
                act=self.act("bench"),
                rebuild=self.rebuild,
                place=place,
                condition="sound",
                cause="none",
                action="kept",
            )
        for limit in self.revision.dimension_limits.filter(gland_figure=""):
            teardown.record_readings(
                act=self.act("bench"),
                rebuild=self.rebuild,
                limit=limit,
                readings={1: 11.99, 2: 11.98},
                instrument=self.micrometer,
            )
        teardown.record_fluid(
            act=self.act("bench"),
            rebuild=self.rebuild,
            fluid=None,
            kind_note="oil",
            colour="brown",
            water="none",
        )
        return self

    def torn_down(self):
        return self.receive_unknown().add_all().find_all().close_teardown()

    def give_limits(self):
        """The lead enters the limits that were left to him."""
        for limit in self.revision.dimension_limits.filter(limits_open=True):
            catalogue.save_place(
                act=self.act("lead"),
                revision=self.revision,
                place="dimension",
                row=limit,
                lower=11.95,
                upper=12.0,
                basis="the next whole size",
            )
        return self

    def approve(self, **told):
        self.revision = approve_draft(
            **{
                "act": self.act("lead", "opened and measured"),
                "revision": self.revision,
                "code": "RC-32",
                "name": "Ramp cylinder 32",
                "service_fluid": factories.FluidFactory(),
                **told,
            }
        )
        self.rebuild.refresh_from_db()
        return self

    def prepare(self):
        """What the lead enters before the unit is built: a kit, and a plan that somebody watches."""
        act, revision = self.act("lead", "first plan"), self.revision
        kit = kit_lines.make_kit(act=act, revision=revision)
        for position in revision.positions.all():
            part = factories.PartFactory(kind="lip_seal", size_designation="")
            factories.LotFactory(part=part)
            kit_lines.save_kit_line(act=act, kit=kit, place=position, part=part)
        plan = test_plans.draft_plan(act=act, revision=revision)
        low = {"pressure_bar": 10.0, "hold_s": 60.0}
        for kind, title, told in (
            ("low_pressure_leak", "Low-pressure leak", low),
            ("dryness", "Outside dry", {}),
        ):
            limit = {"reading": "dry outside", "judged": "witness", "quantity": "", "unit": ""}
            limit |= {"lower": None, "upper": None, "basis": "looked at"}
            test_plans.save_step(act=act, plan=plan, limits=[limit], kind=kind, title=title, **told)
        test_plans.approve_plan(act=act, plan=plan)
        return self
