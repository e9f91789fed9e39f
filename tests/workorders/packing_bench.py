"""Units of one work order, ready to be packed, for the tests of the packing bench."""

import copy

from tests.workorders.journey import Journey
from workorders.services import packing, shipping


class Bench:
    """A journey with more units of the same type, and its packing."""

    def __init__(self, **intake):
        self.way = Journey()
        self.one = self.unit(**intake)
        self.order = self.one.work_order
        self.packing = packing.begin_packing(act=self.clerk(), work_order=self.order)
        self.parcel = self.packing.parcels.get()

    def clerk(self, why=""):
        return self.way.act("receiving", why)

    def unit(self, *, stage="released", order=None, **intake):
        """One more unit: released, going back as found, kept as core, or only received."""
        way = copy.copy(self.way)
        way.receive(order=order, **intake)
        if stage in ("returned_as_found", "exchange_core"):
            way.find()
            shipping.exit_rebuild(act=way.act("lead"), rebuild=way.rebuild, exit=stage, reason="too worn")
        elif stage == "released":
            way.find().close_teardown().go_ahead().fit().close_build()
            way.start_test().run_steps().sign_test().release()
        self.way.now = way.now
        way.rebuild.refresh_from_db()
        return way.rebuild

    def another(self, **told):
        """One more unit of the same work order."""
        return self.unit(order=self.order, **told)

    def put_in(self, rebuild=None, parcel=None, **told):
        return packing.put_in(
            act=self.clerk(), parcel=parcel or self.parcel, rebuild=rebuild or self.one, **told
        )

    def pack_all(self, unit):
        """Check everything of a unit."""
        for line in unit.lines.all():
            if line.is_open:
                packing.pack_line(act=self.clerk(), line=line)

    def full(self, rebuild=None, parcel=None, **told):
        """A unit in a parcel with everything checked."""
        unit = self.put_in(rebuild, parcel, **told)
        self.pack_all(unit)
        return unit

    def send(self, packed=None, **told):
        data = {
            "recipient": self.order.customer,
            "address": "1 Quay\nNorthhaven",
            "carrier": "Coast Post",
            **told,
        }
        return packing.send_off(act=self.clerk(), packing=packed or self.packing, **data)
