"""The demo's rigs: one whose logger sends by itself since this week, one that is read by hand."""

import datetime as dt
from contextlib import suppress

from shop.roles import BENCH, LEAD
from shop.services.writing import Act
from workorders.demo.rig import LOGGER, TRACE_FILES, TRACES
from workorders.demo.world import World
from workorders.models import RigFile, RigToken
from workorders.services import rig_files, rigs
from workorders.services.rig_sends import Refused, Sent

FLUID = "HM 32 mineral oil"


def connect_rigs(world: World) -> None:
    """Put two rigs into the register and let the first send what its logger kept this morning."""
    at = world.now - dt.timedelta(hours=70)
    act = Act(by=world.people[LEAD][0], at=at, why="the logger of the left bench is on the network now")
    left = rigs.save_rig(
        act=act,
        code="TQ-R1",
        name="Hand-pump rig with logger, to 160 bar",
        place="test room, left bench",
        fluid=world.fluids[FLUID],
        note="Bleed the return hose before the first hold of the day.",
    )
    rigs.mount_instrument(act=act, rig=left, instrument=world.instruments[LOGGER])
    old, _secret = rigs.make_token(act=act, rig=left, used_for="logger PC, first trial")
    token, _secret = rigs.make_token(
        act=act, rig=left, used_for="logger PC of the left bench", last_day=rigs.usual_last_day(at.date())
    )
    revoked = Act(by=act.by, at=at + dt.timedelta(hours=1), why="written on a note that everybody saw")
    rigs.revoke_token(act=revoked, token=old)
    rigs.save_rig(
        act=act,
        code="TQ-R2",
        name="Power-unit rig, read by hand",
        place="test room, right bench",
        fluid=world.fluids["HEES 32 ester"],
    )
    _send_this_morning(world, token)


def _send_this_morning(world: World, token: RigToken) -> None:
    trial = _send(world, token, "stroke", hours=69)
    act = Act(by=world.people[BENCH][0], at=world.now - dt.timedelta(hours=68), why="a trial of the logger")
    rig_files.dismiss_file(act=act, rig_file=trial)
    with suppress(Refused):
        _send(world, token, "slow", hours=3, serial="7F3 K9Q XM3")
    waiting = rig_files.running_readings()
    if waiting:
        test, limit = waiting[0]
        told = {"serial": test.rebuild.unit.serial, "step": str(limit.step.order), "reading": limit.reading}
        _send(world, token, "tight", hours=0.2, **told)
    _send(world, token, "slow", hours=0.1)


def _send(world: World, token: RigToken, trace: str, *, hours: float, **told: str) -> RigFile:
    path = TRACES / TRACE_FILES[trace]
    sent = Sent(data=path.read_bytes(), name=path.name, **told)
    return rig_files.receive_file(token=token, sent=sent, at=world.now - dt.timedelta(hours=hours))[0]
