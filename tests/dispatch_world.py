"""The part of the world where units leave: an open packing, a part shipment, exchanges."""

import datetime as dt

from workorders.services import packing, shipping


class Dispatch:
    """What `tests.world.World` shows of packing; it needs the journeys and acts of that class."""

    def _dispatch(self):
        """A bench with one unit half checked, a part shipment, an exchange with its core, a core owed."""
        clerk = self.act("receiving")
        left = self.journey().tested().release()
        order = left.rebuild.work_order
        half = self._another(order, extra=["mounting pin, stainless, with its circlip still on it"])
        self.core = self._another(order, finished=False)
        self.core = shipping.exit_rebuild(
            act=self.act("lead"), rebuild=self.core, exit="exchange_core", reason="barrel scored"
        )
        self.on_shelf = self._from_the_shelf()
        given = self._from_the_shelf()
        self.part = self._sent(order, [left.rebuild], {given: {"replaces": self.core}})
        self.packing = packing.begin_packing(act=clerk, work_order=order)
        self.packing_parcel = self.packing.parcels.get()
        self.packing_unit = packing.put_in(act=clerk, parcel=self.packing_parcel, rebuild=half)
        done, kept, _cap, self.packing_line = self.packing_unit.lines.all()[:4]
        packing.pack_line(act=clerk, line=done)
        packing.keep_back(act=clerk, line=kept, reason="The customer has one.")
        packing.add_parcel(act=clerk, packing=self.packing)
        self._core_owed()

    def _core_owed(self):
        owing = self.received.work_order
        due = self.act("receiving").at.date() + dt.timedelta(days=30)
        shipment = self._sent(owing, [], {self._from_the_shelf(): {"core_due": due}})
        self.owed = shipment.parcels.get().units.get().exchange

    def _another(self, order, finished=True, **intake):
        """Another unit of a work order, released or only received."""
        journey = self.journey().receive(order=order, **intake)
        if finished:
            journey.find().close_teardown().go_ahead().fit().close_build()
            journey.start_test().run_steps().sign_test().release()
        return journey.rebuild

    def _from_the_shelf(self):
        """An exchange unit that waits on the shelf."""
        journey = self.journey().receive(destination="exchange").find().close_teardown().go_ahead().fit()
        return journey.close_build().start_test().run_steps().sign_test().release().rebuild

    def _sent(self, order, own, given):
        """Ship units of a work order and units from the shelf in one parcel."""
        packs = [
            shipping.UnitPack(rebuild=row, packed=shipping.packing_items(row), caps_on=True, **told)
            for row, told in {**{row: {} for row in own}, **given}.items()
        ]
        return shipping.ship(
            act=self.act("receiving"),
            work_order=order,
            recipient=order.customer,
            address="3 Groyne Lane\nSallow Bay",
            carrier="Coast Post",
            parcels=[shipping.ParcelPlan(units=packs, weight_kg=4.2, size_cm=(60, 20, 15))],
        )
