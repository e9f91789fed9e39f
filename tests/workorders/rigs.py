"""A rig with its instrument and token, and what its logger sends, for the tests of rigs."""

from django.urls import reverse

from shop.services.writing import Act
from tests.factories import NOW, person
from tests.workorders import bench as at_bench
from workorders.services import rigs

URL = "/rig/traces"
TIGHT = (at_bench.TRACES / "hold_tight.csv").read_bytes()
SLOW = (at_bench.TRACES / "hold_slow_leak.csv").read_bytes()


def make_rig(lead=None, code="R-1", instrument=None, column="", **fields):
    """A rig with one transducer mounted, and a token: the rig and its secret."""
    act = Act(by=lead or person("lead"), at=NOW)
    rig = rigs.save_rig(act=act, code=code, name="Bench rig", **fields)
    rigs.mount_instrument(act=act, rig=rig, instrument=instrument or at_bench.transducer(), column=column)
    return rig, rigs.make_token(act=act, rig=rig, used_for="logger PC")[1]


def at_the_hold(by):
    """A running test whose step in turn is the hold, step 3."""
    test = at_bench.started(by)
    for step in at_bench.steps_of(test)[:2]:
        at_bench.record(by, test, step)
    return test


def send_trace(client, secret, data=TIGHT, headers=None, **query):
    """Send a file as a logger does, as the body of a request."""
    known = {"Authorization": f"Bearer {secret}"} if secret is not None else {}
    return client.post(
        URL, data, content_type="text/csv", query_params=query, headers={**known, **(headers or {})}
    )


def url(name, *args):
    """The address of a page of rigs."""
    return reverse(f"workorders:{name}", args=args)
