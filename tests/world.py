"""A shop with units in every state, made by the services, for tests that look at every page."""

import copy
import datetime as dt
import uuid
from contextlib import suppress
from decimal import Decimal

from django.core.files.uploadedfile import SimpleUploadedFile

import inventory.models as inventory
from inventory.services import (
    counting,
    kit_lines,
    kits,
    lot_papers,
    lot_state,
    making,
    purchasing,
    stock,
    supplier_parts,
)
from inventory.services.purchasing import Wanted
from inventory.services.upgrades import Upgrade
from shop import models as shop
from shop.importers import importer_of
from shop.roles import ROLES
from shop.services import (
    applications,
    catalogue,
    customers,
    imports,
    interchange,
    maker_numbers,
    merging,
    profile,
    reference_photos,
    test_plans,
)
from shop.services.draft_types import SeenOutside, open_draft_type
from tests import factories
from tests.asking import picture
from tests.dispatch_world import Dispatch
from tests.workorders.journey import Journey, make_type, trace_upload
from workorders.models import Rebuild, Trace
from workorders.services import (
    box_links,
    boxes,
    build,
    calibration_reviews,
    claims,
    draft_glands,
    draft_places,
    go_ahead,
    instruments,
    lessons,
    outside_work,
    prices,
    recall_papers,
    recall_progress,
    recalls,
    releasing,
    rig_files,
    rigs,
    seals_found,
    shipping,
    teardown,
    testing,
    work_orders,
)
from workorders.services.logger_files import Choices, offer_file, propose
from workorders.services.operation_values import Recorded
from workorders.services.photos import add_photo
from workorders.services.rig_sends import Refused, Sent
from workorders.services.step_results import TraceEntry, record_step
from workorders.services.trace_kept import refusal_file
from workorders.services.trace_waiting import keep_waiting
from workorders.services.unknown_units import add_unknown_unit


class World(Dispatch):
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
        self._customers()
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
        self._unknown()
        self._outside()
        self._rig()
        self._desk()
        self._boxes()
        self._lists()
        self._dispatch()
        self._money()
        self._recalls()
        self._found_out()
        self._rigs()

    def _rigs(self):
        """A rig that sent three files: one for the running test, two that are kept aside."""
        act = self.act("lead", "the logger is on the network now")
        self.rig = rigs.save_rig(
            act=act, code="R-1", name="Bench rig, left", place="test room", fluid=self.fluid
        )
        rigs.mount_instrument(act=act, rig=self.rig, instrument=self.transducer)
        token, _secret = rigs.make_token(act=act, rig=self.rig, used_for="logger PC of the left bench")
        serial = self.running.rebuild.unit.serial
        data = trace_upload().read()

        def sent(**words):
            told = Sent(data=data, name="hold_tight.csv", **words)
            return rig_files.receive_file(token=token, sent=told, at=act.at)[0]

        self.rig_kept, self.rig_aside = sent(serial=serial), sent()
        self.rig_dismissed = rig_files.dismiss_file(act=act, rig_file=sent(instrument="T-01"))
        with suppress(Refused):
            sent(serial=serial, step="99")

    def _found_out(self):
        """A gauge found out of tolerance after one unit was tested with it; the lead has one word on it."""
        journey = self.journey()
        journey.gauge = factories.InstrumentFactory(code="G-OUT", accuracy=0.4, resolution=0.01)
        self.touched = journey.tested().rebuild
        act = self.act("lead", "tried beside the other gauge, 2 bar of 5 bar margin")
        self.found_out = instruments.add_calibration(
            act=act,
            instrument=journey.gauge,
            calibrated_on=act.at.date(),
            due_on=act.at.date() + dt.timedelta(days=365),
            certificate_no="NC-221",
            done_by="Northhaven Calibration",
            in_tolerance=False,
            adjusted=True,
            error_found=1.2,
            error_at=100.0,
            certificate=picture("NC-221.png"),
        )
        told = {"calibration": self.found_out, "rebuild": self.touched}
        calibration_reviews.review_rebuild(act=act, **told, decision="again")

    def _money(self):
        """A released rebuild with its invoice corrected, minutes of work, and a rate of labour."""
        act, self.priced = self.act("lead", "a port seal was forgotten"), self.released
        profile.set_labour_rate(act=act, valid_from=dt.date(2026, 1, 1), per_hour=Decimal("41.50"))
        for amount in ("231.90", "236.40"):
            prices.record_price(act=act, rebuild=self.priced, amount=Decimal(amount), invoice="R26-0417")
        told = {"done_by": act.by, "worked_on": act.at.date(), "minutes": 95}
        self.worked = prices.record_work_time(act=act, rebuild=self.priced, kind="build", **told)

    def _customers(self):
        """An account with its addresses, one row merged into it, and a pair that may be one."""
        lead = self.act("lead", "same office, said on the telephone")
        for label, default in (
            ("harbour office", True),
            ("north yard, the gate behind the ferry hall", False),
        ):
            customers.save_ship_to(
                act=lead,
                customer=self.customer,
                label=label,
                name=self.customer.name,
                address="Pier 2, gate behind the ferry hall\nSallow Bay",
                is_default=default,
            )
        told = {"name": "Marram Boat Lifts", "phone": "+44 1632 960142"}
        self.merged = customers.save_customer(act=lead, **told)
        merging.merge_customers(act=lead, gone=self.merged, stays=self.customer, values={})
        self.merged.refresh_from_db()
        self.twins = [
            customers.save_customer(act=lead, name=name, phone="01632 960778", street="4 Groyne Lane")
            for name in ("Sallow Bay Ferry and Pontoon Company", "Sallow Bay Ferries")
        ]
        apart = customers.save_customer(act=lead, name="Sallow Bay Rowing Club", phone="01632 960778")
        merging.record_different(act=lead, one=self.twins[0], other=apart)

    def _long_words(self):
        """Names as long as real ones get, some without a blank: no page is laid out for short ones."""
        shop.UnitType.objects.filter(pk=self.revision.unit_type_id).update(
            name="Boarding platform lift cylinder, starboard, with pilot-operated check valve",
            maker="Ballast Deckworks and Hydraulics Manufacturing",
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
        self._technique(self.revision)
        self._technique(other)
        self._relations(other.unit_type)
        self.draft = catalogue.draft_revision(act=act, unit_type=other.unit_type)
        self.draft_plan = self.draft.test_plans.get()
        test_plans.draft_plan(act=act, revision=other)

    def _technique(self, revision):
        """A note, figures and a tool at one place and for the whole unit."""
        seal = revision.positions.first()
        self.tool = factories.SpecialToolFactory(name="tapered sleeve for the lip of the rod seal")
        factories.TechniqueNoteFactory(revision=revision, position=seal)
        factories.TechniqueNoteFactory(revision=revision, step="packing", text="Caps on both ports.")
        self.figure = factories.FasteningFigureFactory(
            revision=revision,
            component=revision.components.first(),
            what="gland nut, left-hand thread",
            threads="oiled",
            sequence="crosswise in two stages",
            locker="medium",
            cure_h=24.0,
        )
        factories.ToolNeedFactory(
            revision=revision, position=seal, tool=self.tool, note="keeps the lip whole"
        )

    def _relations(self, other):
        act, why, unit_type = self.act("lead"), self.act("lead", "maker's list"), self.revision.unit_type
        later = maker_numbers.save_maker_number(
            act=act, unit_type=other, number="BD-4410-000177341/REV-C", year_from=2009
        )
        self.maker_number = maker_numbers.save_maker_number(
            act=act,
            unit_type=unit_type,
            number="BD-4410-000177340/REV-B",
            year_to=2008,
            superseded_by=later,
        )
        maker_numbers.save_variant(
            act=why, unit_type=unit_type, variant_of=other, built_to=2008, differs="two ports on one side"
        )
        self.interchange = interchange.save_interchange(
            act=act, stand_in=other, replaced=unit_type, both_ways=False, basis="compared on the bench"
        )
        self.reference_photo = reference_photos.add_reference_photo(
            act=act, unit_type=unit_type, shows="number_plate", upload=picture("plate.png")
        )

    def _stores(self):
        self.kit = self.revision.kit
        self.kit_line = self.kit.lines.first()
        kit_lines.save_kit_line(
            act=self.act("lead", "statement of the shop"),
            kit=self.kit,
            line=self.kit_line,
            place=self.kit_line.position,
            part=self.kit_line.part,
            upgrade=Upgrade(
                reasons=tuple(inventory.KitLine.UPGRADES),
                original_polymer="CR",
                words="carboxylated compound of the maker's second line, post-cured at 120 °C",
            ),
        )
        self.lot = self.kit_line.part.lots.get()
        other = factories.PartFactory()  # a journey takes the only lot of each part of its kit
        self.held = factories.LotFactory(part=other)
        lot_state.hold_lot(act=self.act("stores"), lot=self.held, reason="hardness differs")
        factories.LotFactory(part=other, use_by=dt.date(2026, 1, 1))
        self._made_lots()
        self._counts()
        lots = {line: line.part.lots.first() for line in self.kit.lines.all()}
        self.packed = kits.pack_kit(act=self.act("stores"), kit=self.kit, lots=lots)
        self._purchasing()

    def _purchasing(self):
        """A supplier of a part with its prices, an order drafted and one partly delivered."""
        act, part, supplier = self.act("stores"), self.lot.part, self.lot.supplier
        self.sold = supplier_parts.save_supplier_part(
            act=act, part=part, supplier=supplier, number="SN-000177340-REV-B", lead_days=14
        )
        prices = [(1, Decimal("2.5")), (100, Decimal("2.125"))]
        supplier_parts.save_prices(
            act=act, supplier_part=self.sold, valid_from=dt.date(2026, 1, 1), prices=prices
        )
        wanted = [Wanted(part=part, quantity=100)]
        self.drafted_order = purchasing.draft_order(act=act, supplier=supplier, wanted=wanted)
        other = [Wanted(part=self.held.part, quantity=100)]
        self.partly_order = purchasing.draft_order(act=act, supplier=supplier, wanted=other)
        purchasing.send_order(act=act, order=self.partly_order)
        stock.receive_lot(
            act=act,
            part=self.held.part,
            supplier=supplier,
            number="",
            quantity=40,
            place="B7",
            received_on=act.at.date(),
            cure_date="3Q25",
            order_line=self.partly_order.lines.get(),
        )
        self.partly_order.refresh_from_db()

    def _counts(self):
        """A place that was counted and booked, and one that is being counted."""
        counted = counting.begin_count(act=self.act("stores"), place="D4")
        counting.enter_counted(act=self.act("stores"), count=counted, counted={self.made: 1})
        self.booked_count = counting.book_count(act=self.act("lead", "yearly count"), count=counted)
        self.open_count = counting.begin_count(act=self.act("stores"), place="A1")
        counting.enter_counted(act=self.act("stores"), count=self.open_count, counted={self.lot: 3})

    def _made_lots(self):
        """A lot in quarantine, a certificate, and a lot made here from the first one."""
        act = self.act("stores", "as the drawing says")
        self.quarantined = factories.LotFactory(state="quarantined", hold_reason="arrived; not checked yet")
        (self.lot_certificate,) = lot_papers.add_certificates(
            act=act, lot=self.lot, uploads=[picture("certificate.png")], title="Certificate 4471 of the maker"
        )
        block = factories.PartFactory(name="valve block, rebuilt ahead", kind="component", polymer="")
        self.recipe_line = making.save_recipe_line(act=act, made=block, part=self.lot.part, quantity=2)
        told = {"part": block, "quantity": 1, "place": "D4", "note": "cleaned, lapped, new seals"}
        self.made = making.make_lot(act=act, inputs=[making.Input(lot=self.lot, quantity=2)], **told)

    def _bench(self):
        self.received = (
            self.journey()
            .receive(
                customer=self.customer, mounting_place=self.place, shelf="B2", reported="drips at the rod"
            )
            .rebuild
        )
        self.rushed = work_orders.set_rush(
            act=self.act("warranty desk"),
            work_order=self.received.work_order,
            wanted_by=dt.date(2026, 4, 2),
            agreed_by="Robin Lead, for the harbour office of Marram Boat Lifts",
            why="the ferry sails with guests on Good Friday and its ramp is out",
        )
        self.received.work_order.refresh_from_db()
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

    def _unknown(self):
        """A unit that nobody knew, received on a draft type of its own."""
        self.unknown = add_unknown_unit(
            act=self.act("receiving"),
            work_order=self.received.work_order,
            seen=SeenOutside(
                family="cylinder",
                name="Ramp cylinder with two eyes and a welded-on bracket, painted black over red",
                maker_numbers="7741-B-000162",
                bore_mm=32,
            ),
            opened_before="by_others",
            arrival_condition="dirty, rod wet",
            photos=[picture("unknown.png")],
        )
        bench, told = self.act("bench"), {"rebuild": self.unknown}
        self.found_position = draft_places.save_found_place(
            act=bench, place="position", kind="rod_seal", **told
        )
        self.found_component = draft_places.save_found_place(
            act=bench, place="component", kind="barrel", **told
        )
        draft_places.save_found_place(act=bench, place="port", fitting="crimped", thread="M14x1.5", **told)
        self.found_dimension = draft_places.save_found_place(
            act=bench, place="dimension", quantity="bore", stations=2, **told
        )
        told |= {"position": self.found_position, "instrument": self.first.micrometer}
        seals_found.record_seal(
            act=bench, **told, profile="o_ring", inside_mm=24.9, section_mm=3.4, set_most_pct=30.0
        )
        readings = {"depth": {1: 2.85, 2: 2.9}, "width": {1: 4.9}, "diameter": {1: 25.4}}
        draft_glands.record_gland(act=bench, **told, readings=readings, arrangement="piston")
        self.found_position.refresh_from_db()
        self.lone_draft = open_draft_type(
            act=self.act("receiving"), seen=SeenOutside(family="power_unit", name="motor with two coils")
        )

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
        self.masking = build.record_operation(
            act=self.act("bench"),
            rebuild=self.building,
            kind="masked",
            place=self.revision.components.first(),
            tool="tape and plugs",
            recorded=Recorded(values={"masked": "bore and both port threads"}),
        )

        self._lessons()

    def _lessons(self):
        """One that waits, with a photo, and one that became a note of the next revision."""
        told = {"rebuild": self.opened, "step": "teardown", "place": self.revision.positions.first()}
        words = "The nut is left-hand; turn it with the pin spanner F-12, never with grips."
        self.lesson = lessons.write_lesson(act=self.act("bench"), text=words, photo=picture(), **told)
        building = {**told, "step": "building"}
        self.taken_lesson = lessons.write_lesson(act=self.act("bench"), text=words, **building)
        lessons.take_over_lesson(act=self.act("lead"), lesson=self.taken_lesson, text=words, step="building")

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
        self.waiting_key = self._waiting()
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
        journey.start_test().run_steps(leave_out=(self.hold.title, *self.after))
        return journey.start_step(self.hold)

    def _hand_in(self, test):
        return offer_file(
            act=self.act("bench"),
            test=test,
            limit=self.hold.limits.get(),
            instrument=self.transducer,
            upload=trace_upload(),
        )

    def _waiting(self):
        """A long file waits so until it is read; this one was read, and refused."""
        key = uuid.UUID(int=7)
        waiting = keep_waiting(key=key, upload=trace_upload(), facts={"form": "", "query": ""})
        refusal_file(waiting.path).write_text("The file is empty.")
        return key

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
            claimant=rebuild.warranty.holder,
            reported="Wet at the rod again.",
        )

    def _recalls(self):
        """A recall with letters, calls and a word of the lead; one withdrawn."""
        stores, desk = self.act("stores"), self.act("warranty desk")
        told = {
            "reason": "The lip cracks within months; the supplier confirmed an under-cured batch.",
            "instructions": "Take the unit out of use and call us.\nWe fetch it and pay the way.",
        }
        self.recall = recalls.open_recall(act=stores, lots=[self._recalled_lot()], advice="stop", **told)
        self.recall_letters = recall_papers.issue_letters(act=desk, recall=self.recall)
        progress = recall_progress.progress_of(self.recall, on=desk.at.date())
        line = progress.lines[0]
        self.recall_customer = line.customer
        next_on = desk.at.date() + dt.timedelta(days=3)
        for way in ("no_answer", "left_word"):
            recalls.record_call(
                act=desk, recall=self.recall, customer=line.customer, outcome=way, next_on=next_on
            )
        self.recalled_here = progress.here[0].now.at.now_id
        recalls.decide(
            act=self.act("lead", "tried at 160 bar for an hour"),
            recall=self.recall,
            rebuild=Rebuild.objects.get(pk=self.recalled_here),
            may_go=True,
        )
        lot = factories.LotFactory(supplier_batch="88-1115")
        self.withdrawn_recall = recalls.open_recall(act=stores, lots=[lot], advice="look", **told)
        recalls.withdraw_recall(act=self.act("lead", "another batch was meant"), recall=self.withdrawn_recall)
        self.withdrawn_recall.refresh_from_db()

    def _recalled_lot(self):
        """A lot of its own in one unit that left and in one on the bench, so that no other unit stops."""
        lot = factories.LotFactory(part=factories.PartFactory(kind="component", polymer=""))
        for left in (True, False):
            journey = self.journey().receive(customer=self.customer).find().close_teardown().go_ahead()
            journey.fit()
            build.use_part(
                act=journey.act("bench"),
                rebuild=journey.rebuild,
                place=self.revision.components.first(),
                lot=lot,
                quantity=1,
                fit_reason="as the drawing says",
            )
            if left:
                journey.close_build().start_test().run_steps().sign_test().release().ship()
                self.recalled = journey.rebuild
            else:
                self.stopped_unit = journey.rebuild
        return lot

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
