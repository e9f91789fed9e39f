"""A shop with units in every state, made by the services, for tests that look at every page."""

import copy
import datetime as dt
from decimal import Decimal

from django.core.files.uploadedfile import SimpleUploadedFile

import inventory.models as inventory
from inventory.services import kits, stock
from shop import models as shop
from shop.importers import importer_of
from shop.roles import ROLES
from shop.services import applications, catalogue, customers, imports, profile, test_plans
from tests import factories
from tests.asking import picture
from tests.workorders.journey import Journey, make_type, trace_upload
from workorders.models import Trace
from workorders.services import (
    box_links,
    boxes,
    build,
    claims,
    go_ahead,
    outside_work,
    releasing,
    shipping,
    teardown,
    testing,
)
from workorders.services.logger_files import Choices, offer_file, propose
from workorders.services.photos import add_photo
from workorders.services.step_results import TraceEntry, record_step


class World:
    """Rows by name; each unit stands where its name says.

    Needs a database, and a folder for files in ``settings.FILES_DIR``. ``addresses()`` of
    `tests.every_address` gives an example address for every URL pattern.
    """

    def __init__(self):
        self.people = {role: factories.person(role, printed_name=f"Robin {role.title()}") for role in ROLES}
        self.revision = make_type()
        self._long_words()
        self.first = Journey(revision=self.revision, people=self.people)
        self.journeys = [self.first]
        self.transducer = factories.InstrumentFactory(
            code="T-01", name="transducer", range_high=160, accuracy=0.04
        )
        self.profile = shop.ShopProfile.objects.get()
        self.customer = customers.save_customer(
            act=self.act("receiving"),
            name="Marram Boat Lifts and Harbour Engineering Cooperative",
            phone="+44 1632 960142 extension 7731",
            email="accounts-receivable.harbour-office@marram-boat-lifts.example.com",
            street="3 Groyne Lane",
            town="Sallow Bay",
        )
        self.fluid = shop.Fluid.objects.create(name="Glycol 46", family=shop.FluidFamily.HFC)
        shop.LimitSetting.objects.get_or_create(
            key="hold-decay",
            defaults={
                "title": "Decay in a hold",
                "value": 0.1,
                "source": "memory",
                "basis": "usual in the shop",
            },
        )
        self.setting = shop.LimitSetting.objects.first()
        self._catalogue()
        self._stores()
        self._bench()
        self._outside()
        self._rig()
        self._desk()
        self._boxes()
        self._lists()

    def _long_words(self):
        """Names as long as real ones get, some without a blank: no page is laid out for short ones."""
        shop.UnitType.objects.filter(pk=self.revision.unit_type_id).update(
            name="Boarding platform lift cylinder, starboard, with pilot-operated check valve",
            maker="Ballast Deckworks and Hydraulics Manufacturing",
            maker_numbers="BD-4410-000177340/REV-B, BD-4410-000177341/REV-C",
        )
        shop.SealPosition.objects.filter(revision=self.revision, code="S2").update(
            name="piston seal, glass-filled, energised by an O-ring",
            size_designation="25x17.3x5.7-AS568-212/NBR70",
        )
        inventory.Part.objects.filter(kit_lines__position__code="S2").update(
            number="PS-25-PT-GLASS-FILLED-0001", name="piston seal, glass-filled PTFE, energised by an O-ring"
        )
        self.revision.refresh_from_db()

    def act(self, role, why=""):
        """An act later than everything so far."""
        self.first.now = max(journey.now for journey in self.journeys)
        return self.first.act(role, why)

    def journey(self):
        """Another unit of the same type, with nothing done yet."""
        journey = copy.copy(self.first)
        journey.rebuild = None
        journey.now = max(each.now for each in self.journeys)
        self.journeys.append(journey)
        return journey

    def _catalogue(self):
        act = self.act("lead")
        self.application = applications.save_application(act=act, application=None, name="Boarding ramp")
        unit_type = self.revision.unit_type
        self.place = applications.save_mounting_place(
            act=act, application=self.application, unit_type=unit_type, name="left", access_labour_h=1.5
        )
        applications.save_mounting_place(
            act=act, application=self.application, unit_type=unit_type, name="right", twin_of=self.place
        )
        self.plan = self.revision.test_plans.get()
        other = make_type()
        self.draft = catalogue.draft_revision(act=act, unit_type=other.unit_type)
        self.draft_plan = self.draft.test_plans.get()
        test_plans.draft_plan(act=act, revision=other)

    def _stores(self):
        self.kit = self.revision.kit
        self.kit_line = self.kit.lines.first()
        self.lot = self.kit_line.part.lots.get()
        other = factories.PartFactory()  # a journey takes the only lot of each part of its kit
        self.held = factories.LotFactory(part=other)
        stock.hold_lot(act=self.act("stores"), lot=self.held, reason="hardness differs")
        factories.LotFactory(part=other, use_by=dt.date(2026, 1, 1))
        lots = {line: line.part.lots.first() for line in self.kit.lines.all()}
        self.packed = kits.pack_kit(act=self.act("stores"), kit=self.kit, lots=lots)

    def _bench(self):
        self.received = (
            self.journey()
            .receive(
                customer=self.customer, mounting_place=self.place, shelf="B2", reported="drips at the rod"
            )
            .rebuild
        )
        self.photo = add_photo(
            act=self.act("receiving"), rebuild=self.received, upload=picture(), moment="receiving"
        )
        self.opened = self.journey().receive().rebuild
        self.finding = teardown.record_finding(
            act=self.act("bench"),
            rebuild=self.opened,
            place=self.revision.positions.first(),
            condition="hardened",
            cause="age",
            action="renewed",
            photos=[picture("seal.png")],
        )
        self.dirty = self.journey().receive().find().rebuild
        teardown.record_debris(act=self.act("bench"), rebuild=self.dirty, origin="piston seal in crumbs")
        self.quoted = self.journey().receive().find().close_teardown().rebuild
        go_ahead.record_quote(
            act=self.act("warranty desk"), rebuild=self.quoted, amount=Decimal("310"), scope="all seals"
        )
        self.agreed = self.journey().receive().find().close_teardown().go_ahead().rebuild
        self._half_built()
        self.built = self.journey().receive().find().close_teardown().go_ahead().fit().close_build().rebuild

    def _half_built(self):
        self.building = self.journey().receive().find().close_teardown().go_ahead().rebuild
        lines = list(self.kit.lines.all())

        def use(line, **told):
            return build.use_part(
                act=self.act("bench"),
                rebuild=self.building,
                place=line.place,
                lot=line.part.lots.first(),
                quantity=1,
                **told,
            )

        self.used = use(lines[0])
        use(lines[1], use="spoiled")
        build.take_back_part(act=self.act("bench", "wrong bag"), part_used=use(lines[2]))
        empty = factories.LotFactory(part__kind="o_ring", quantity_received=1)
        stock.scrap(act=self.act("stores", "nicked"), lot=empty, quantity=1, place="A1")
        build.use_part(
            act=self.act("bench"),
            rebuild=self.building,
            place=lines[3].place,
            lot=empty,
            quantity=1,
            found_in_bin=True,
        )
        self.found = inventory.Movement.objects.get(kind=inventory.Movement.Kind.FOUND)
        self.operation = build.record_operation(
            act=self.act("bench"),
            rebuild=self.building,
            kind="crimp_removed",
            place=self.revision.ports.first(),
            tool="lathe 2",
        )

    def _outside(self):
        """The barrel is at the grinder's, and the whole unit is back from the plater's."""
        at_supplier = self.journey().receive().find().close_teardown().go_ahead().rebuild
        told = {"rebuild": at_supplier, "due": self.act("bench").at.date(), "supplier": self.lot.supplier}
        self.out = outside_work.send_out(
            act=self.act("bench"),
            component=self.revision.components.first(),
            kind="grinding",
            asked="Hone the bore to 25.00 to 25.03 mm, Ra 0.2.",
            **told,
        )
        whole_unit = outside_work.send_out(
            act=self.act("bench"), component=None, kind="rechroming", asked="Strip and chrome.", **told
        )
        self.back = outside_work.record_return(act=self.act("bench"), work=whole_unit)

    def _rig(self):
        self.hold = self.plan.steps.get(kind="hold")
        self.before = [step.title for step in self.plan.steps.filter(order__lt=self.hold.order)]
        self.after = [step.title for step in self.plan.steps.filter(order__gt=self.hold.order)]
        self.running = self._at_the_hold().test
        self.logger_file = self._hand_in(self.running)
        tested = self._at_the_hold()
        self.trace = self._hold_by_trace(tested.test)
        tested.run_steps(leave_out=(*self.before, self.hold.title)).sign_test()
        self.signed = tested.test
        stopped = self._at_the_hold()
        self.stopped = testing.supersede_test(
            act=self.act("bench"), test=stopped.test, reason="A hose of the rig burst."
        )

    def _at_the_hold(self):
        journey = self.journey().receive().find().close_teardown().go_ahead().fit().close_build()
        return journey.start_test().run_steps(leave_out=(self.hold.title, *self.after))

    def _hand_in(self, test):
        return offer_file(
            act=self.act("bench"),
            test=test,
            limit=self.hold.limits.get(),
            instrument=self.transducer,
            upload=trace_upload(),
        )

    def _hold_by_trace(self, test):
        file = self._hand_in(test)
        told = propose(file, Choices(), self.act("bench"))
        fit = told.evaluated.fit
        entry = TraceEntry(
            logger_file=file,
            mapping=told.trace.mapping,
            window_start_s=fit.start_s,
            window_end_s=fit.end_s,
        )
        record_step(act=self.act("bench"), test=test, step=file.limit.step, entries={file.limit: entry})
        return Trace.objects.get()

    def _desk(self):
        self.released = self.journey().tested().release().rebuild
        reissued = self.journey().tested().release()
        self.replaced = reissued.released
        self.reissued = releasing.reissue_release(
            act=self.act("lead", "The customer's name was spelt wrongly."), release=self.replaced
        )
        out = self.journey().tested().release().ship()
        self.shipment, self.shipped = out.shipment, out.rebuild
        self.claim = self._claim(out.rebuild)
        self._came_back()
        self.scrapped = self.journey().receive().find().rebuild
        self.returned = self.journey().receive().find().rebuild
        for rebuild, way in ((self.scrapped, "scrapped"), (self.returned, "returned_as_found")):
            shipping.exit_rebuild(
                act=self.act("lead"), rebuild=rebuild, exit=way, reason="The bore is cracked."
            )

    def _came_back(self):
        """A unit out of warranty whose accepted claim led to a new rebuild."""
        months = self.profile.warranty_months
        self._warranty_of(3)
        self.old = self.journey().tested().release().ship(recipient=self.customer).rebuild
        self._warranty_of(months)
        claims.judge_claim(
            act=self.act("warranty desk"),
            claim=self._claim(self.old),
            judgement="goodwill",
            reason="long kept",
        )
        self.again = self.journey().receive(customer=self.customer, unit=self.old.unit).rebuild

    def _warranty_of(self, months):
        profile.save_profile(act=self.act("lead", "terms of the year"), warranty_months=months)

    def _claim(self, rebuild):
        return claims.open_claim(
            act=self.act("warranty desk"),
            warranty=rebuild.warranty,
            claimant=rebuild.warranty.recipient,
            reported="Wet at the rod again.",
        )

    def _lists(self):
        upload = SimpleUploadedFile("old suppliers.csv", b"Name,Note\nSallow Bay Seals,closed in winter\n")
        file = imports.store_file(act=self.act("lead"), upload=upload)
        importer = importer_of("suppliers")
        self.imported = imports.enter_file(act=self.act("lead"), importer=importer, file=file)

    def _boxes(self):
        clerk = self.act("receiving")
        told = [
            boxes.Expected(
                what="Lift cylinder, starboard, painted grey over the old blue", symptoms="drifts"
            ),
            boxes.Expected(what="Power unit"),
        ]
        self.link = box_links.make_link(
            act=clerk, for_whom="Marram Boat Lifts, harbour office", days=30, customer=self.customer
        )
        self.used_link = box_links.make_link(act=clerk, for_whom="walk-in", days=7)
        # Good on the day that the tests run, whichever it is.
        far = dt.datetime(2126, 1, 1, tzinfo=dt.UTC)
        for link in (self.link, self.used_link):
            link.expires_at = far
            link.save()
        self.announced_box = box_links.announce_by_link(
            act=clerk,
            link=self.used_link,
            expected=told,
            sender_as_written="Sallow Bay Ferry and Pontoon Company",
            return_address="Pier 2\nSallow Bay",
            contact="01632 960188",
        )
        self.lone_box = boxes.receive_box(
            act=clerk,
            packing="damaged",
            damage_note="corner torn open, oil outside",
            photos=[picture("box.png")],
        )
        boxes.add_line(act=clerk, box=self.lone_box, what="black cylinder", outcome="unidentified")
        self.sorted_box = boxes.announce_box(
            act=clerk, how="telephone", expected=told, customer=self.received.work_order.customer
        )
        boxes.receive_box(act=clerk, box=self.sorted_box, carrier="Quay Freight", tracking="QF-000123")
        self.sorted_box = boxes.put_into_work_order(
            act=clerk, box=self.sorted_box, work_order=self.received.work_order
        )
        self.box_line = self.sorted_box.lines.first()
