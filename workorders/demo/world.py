"""What the whole demo shares: the data file, its clock, its dice, its people and its catalogue."""

import datetime as dt
import heapq
import random
import tomllib
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from inventory.models import KitLine, Part, Supplier
from shop.models import Customer, Fluid, MountingPlace, SpecialTool, TestPlan, TypeRevision, UnitType, User
from shop.services.writing import Act
from workorders.models import Instrument

SHOP_FILE = Path(__file__).resolve().parents[2] / "fixtures" / "demo_shop.toml"
SEED = "tern quay 7"
YEARS = 4
OPENS_H, CLOSES_H = 8, 17
NEVER = dt.datetime.max.replace(tzinfo=dt.UTC)

# A process does its next service call and yields the time of the one after it.
Process = Generator[dt.datetime, None, None]


@cache
def shop_data() -> dict[str, Any]:
    """Return the catalogue of the demo, as it stands in its file."""
    return tomllib.loads(SHOP_FILE.read_text(encoding="utf-8"))


def dice(*names: object) -> random.Random:
    """Return the generator of one part of the story; the same names give the same throws."""
    return random.Random(":".join(map(str, (SEED, *names))))  # noqa: S311 - a story, no secret


def in_hours(at: dt.datetime) -> dt.datetime:
    """Return the time itself, or the morning of the next working day where the shop is closed."""
    if at.hour >= CLOSES_H:
        at = at.replace(hour=OPENS_H, minute=at.minute // 2) + dt.timedelta(days=1)
    if at.hour < OPENS_H:
        at = at.replace(hour=OPENS_H, minute=at.minute // 2)
    while at.weekday() >= 5:
        at += dt.timedelta(days=1)
    return at


@dataclass
class DemoType:
    """A unit type with everything that the bench needs of it, read once."""

    data: dict[str, Any]
    unit_type: UnitType
    revision: TypeRevision
    plan: TestPlan
    kit_lines: list[KitLine] = field(default_factory=list)
    places: list[MountingPlace] = field(default_factory=list)

    @property
    def code(self) -> str:
        """The catalogue code."""
        return self.unit_type.code

    @property
    def service_fluid(self) -> Fluid:
        """The fluid that the approved revision names."""
        fluid = self.revision.service_fluid
        assert fluid is not None
        return fluid


@dataclass
class World:
    """The shop at one moment of its history; processes run in order of their time."""

    now: dt.datetime
    size: int
    time: dt.datetime = NEVER
    people: dict[str, list[User]] = field(default_factory=dict)
    fluids: dict[str, Fluid] = field(default_factory=dict)
    suppliers: list[Supplier] = field(default_factory=list)
    parts: dict[str, Part] = field(default_factory=dict)
    types: dict[str, DemoType] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    tools: dict[str, SpecialTool] = field(default_factory=dict)
    customers: list[Customer] = field(default_factory=list)
    rebuilds: int = 0
    say: Callable[[str], None] = lambda _line: None
    _events: list[tuple[dt.datetime, int, Process]] = field(default_factory=list)
    _sequence: int = 0

    @property
    def start(self) -> dt.datetime:
        """The first working day of the history."""
        first = self.now - dt.timedelta(days=round(365.25 * YEARS))
        return in_hours(first.replace(hour=OPENS_H, minute=0, second=0, microsecond=0))

    @property
    def words(self) -> dict[str, list[str]]:
        """What is written down in the shop's own words."""
        words: dict[str, list[str]] = shop_data()["words"]
        return words

    def act(self, role: str, why: str = "", *, hand: int = 0) -> Act:
        """Return an act, now, of a person of the role; ``hand`` tells people of one role apart."""
        people = self.people[role]
        return Act(by=people[hand % len(people)], at=self.time, why=why)

    def after(self, *, minutes: float = 0, hours: float = 0, days: float = 0) -> dt.datetime:
        """Return a time within working hours, so long after the present one."""
        at = self.time + dt.timedelta(days=days, hours=hours, minutes=round(minutes))
        return in_hours(at.replace(second=0, microsecond=0))

    def begin(self, process: Process, at: dt.datetime) -> None:
        """Let a process take its first step at a time."""
        self._sequence += 1
        heapq.heappush(self._events, (at, self._sequence, process))

    def run(self) -> None:
        """Run every process, always the earliest, until the present; what is under way stays so."""
        while self._events and self._events[0][0] <= self.now:
            at, sequence, process = heapq.heappop(self._events)
            self.time = at
            following = next(process, None)
            if following is not None:
                heapq.heappush(self._events, (max(following, at), sequence, process))


def pick(throw: random.Random, weighted: Sequence[tuple[Any, float]]) -> Any:
    """Draw one value by its weight."""
    values, weights = zip(*weighted, strict=True)
    return throw.choices(values, weights)[0]
