"""Every act of the packing bench and of cores owed as a page sends it, ready to be asked."""

import datetime as dt

from django.urls import reverse

from tests import writes
from workorders.models import Exchange, Packing, PackingLine, PackingParcel, PackingUnit
from workorders.services import packing

FAR = "2090-01-31"


def url(name, *args):
    return reverse(f"workorders:{name}", args=args)


def owed(bench):
    shelf = bench.unit(destination="exchange")
    bench.full(shelf, core_due=dt.date(2026, 12, 1))
    return bench.send().parcels.get().units.get().exchange


def write_of(bench, name):
    """One act, ready to be sent; ``bad`` is a wrong form and ``broken`` breaks a rule."""
    told = TOLD[name](bench)
    return writes.Write(role="receiving", refused_role="bench", **told)


def begin(bench):
    packing.cancel_packing(act=bench.clerk("anew"), packing=bench.packing)
    return {"url": url("packing_begin", bench.order.number), "unknown": url("packing_begin", "W00-0000")} | {
        "history": Packing.history
    }


def of(name, key, history, **more):
    return {"url": url(name, key), "unknown": url(name, 99999), "history": history, **more}


def scan(bench):
    return of(
        "packing_scan",
        bench.parcel.pk,
        PackingUnit.history,
        data={"code": bench.one.unit.serial, "unit": ""},
    )


def put_in(bench):
    return {
        "url": url("packing_put_in", bench.parcel.pk, bench.one.pk),
        "unknown": url("packing_put_in", bench.parcel.pk, 99999),
        "history": PackingUnit.history,
    }


def exchange(bench):
    shelf = bench.unit(destination="exchange")
    return {
        "url": url("packing_exchange", bench.parcel.pk, shelf.pk),
        "unknown": url("packing_exchange", bench.parcel.pk, 99999),
        "history": PackingUnit.history,
        "data": {"core": "later", "due": FAR},
        "bad": {"due": ""},
        "broken": {"due": "2001-01-01"},
    }


def close(bench):
    bench.full()
    bad = {"weight_kg": "heavy"}
    broken = {"weight_kg": "4", "length_cm": "20"}
    more = {"data": {"weight_kg": "4.2"}, "bad": bad, "broken": broken}
    return of("packing_parcel_close", bench.parcel.pk, PackingParcel.history, **more)


def reopen(bench):
    bench.full()
    packing.close_parcel(act=bench.clerk(), parcel=bench.parcel)
    return of("packing_parcel_reopen", bench.parcel.pk, PackingParcel.history)


def parcel_add(bench):
    return of("packing_parcel_add", bench.packing.pk, PackingParcel.history)


def take_out(bench):
    return of("packing_take_out", bench.put_in().pk, PackingUnit.history)


def move(bench):
    return of("packing_move", bench.put_in().pk, PackingUnit.history, data={"parcel": ""})


def line_add(bench):
    data = {"text": "warranty card", "fluid": "", "volume_ml": ""}
    broken = {"text": ""}
    more = {"data": data, "bad": {"volume_ml": "much"}, "broken": broken}
    return of("packing_line_add", bench.put_in().pk, PackingLine.history, **more)


def line_pack(bench):
    line = bench.put_in().lines.get(kind="inside")
    return of("packing_line_pack", line.pk, PackingLine.history, data={"volume_ml": "35"})


def keep_back(bench):
    line = bench.put_in().lines.get(kind="hose")
    more = {"data": {"reason": "cracked"}, "bad": {"reason": ""}, "why": "cracked"}
    return of("packing_keep_back", line.pk, PackingLine.history, **more)


def undo(bench):
    line = bench.put_in().lines.get(kind="hose")
    packing.pack_line(act=bench.clerk(), line=line)
    return of("packing_line_undo", line.pk, PackingLine.history)


def cancel(bench):
    more = {"data": {"why": "wrong order"}, "bad": {"why": ""}, "why": "wrong order"}
    return of("packing_cancel", bench.packing.pk, Packing.history, **more)


def send_off(bench):
    bench.full()
    data = {"recipient": bench.order.customer_id, "address": "1 Quay", "carrier": "Coast Post"}
    more = {"data": data, "bad": {"address": ""}}
    return of("packing_send", bench.packing.pk, Packing.history, **more)


def core_came(bench):
    row = owed(bench)
    core = bench.another(stage="received", destination="exchange")
    more = {"data": {"core": core.pk}, "bad": {"core": "nonsense"}}
    return of("core_came", row.pk, Exchange.history, **more)


def core_due(bench):
    more = {"data": {"due": FAR, "why": "ferry late"}, "bad": {"why": ""}, "broken": {"due": "2001-01-01"}}
    return of("core_due", owed(bench).pk, Exchange.history, why="ferry late", **more)


def core_waive(bench):
    more = {"data": {"why": "paid for"}, "bad": {"why": ""}, "why": "paid for"}
    return of("core_waive", owed(bench).pk, Exchange.history, **more)


TOLD = {
    make.__name__: make
    for make in (
        begin,
        scan,
        put_in,
        exchange,
        close,
        reopen,
        parcel_add,
        take_out,
        move,
        line_add,
        line_pack,
        keep_back,
        undo,
        cancel,
        send_off,
        core_came,
        core_due,
        core_waive,
    )
}
