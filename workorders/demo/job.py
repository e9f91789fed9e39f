"""One pass of one unit: what is known of it, how its story goes, and who has it in hand."""

import datetime as dt
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from inventory.models import Lot
from shop.models import Customer, DimensionLimit, MountingPlace
from shop.roles import BENCH, LEAD, RECEIVING
from shop.services.writing import Act
from workorders.demo.stock import Shelf
from workorders.demo.world import NEVER, DemoType, Process, World, dice
from workorders.models import Finding, Rebuild, Unit, WorkOrder


@dataclass
class Agenda:
    """Things that happen a few times only: each waits for the next unit that fits after its date."""

    world: World
    dates: dict[str, list[dt.datetime]] = field(default_factory=dict)

    def plan(self, thing: str, times: int, first: float = 0.06, last: float = 0.95) -> None:
        """Spread a thing evenly over a stretch of the history, given as shares of it."""
        span = self.world.now - self.world.start
        step = (last - first) / max(times - 1, 1)
        self.dates[thing] = [self.world.start + span * (first + step * n) for n in range(times)]

    def take(self, thing: str) -> bool:
        """Whether it is time for the thing; it then has happened."""
        dates = self.dates.get(thing)
        if not dates or self.world.time < dates[0]:
            return False
        dates.pop(0)
        return True


@dataclass
class Works:
    """The shop at work: its stores, what is to happen some day, and the units that left the bench."""

    world: World
    shelf: Shelf
    agenda: Agenda
    own_stock: Customer
    arrival: Callable[[Customer, Sequence["Job"], str], Process]
    exchange: dict[str, list["Job"]] = field(default_factory=dict)
    shipped: list["Job"] = field(default_factory=list)

    def post(self, customer: Customer, jobs: Sequence["Job"], at: dt.datetime, note: str = "") -> None:
        """Let a customer's box arrive at a time."""
        self.world.begin(self.arrival(customer, jobs, note), at)


@dataclass
class Story:
    """How one pass goes: thrown before it begins, so that it does not hang on what else happens."""

    stop: str = ""  # the milestone after which it still waits at the end of the history
    problem: str = ""  # what a unit that comes back shows
    exit: str = ""  # a stage of Rebuild.SIDE_EXITS
    early_word: bool = False  # go-ahead before the teardown
    rest: bool = False  # most places renewed or kept without a look
    by_kit: bool = False  # one scan of a packed kit instead of lot by lot
    worn: bool = False  # one dimension outside its limits
    trouble: str = ""  # what goes wrong at the rig


@dataclass
class Job:
    """A rebuild under way."""

    works: Works
    kind: DemoType
    customer: Customer
    name: str
    story: Story
    place: MountingPlace | None = None
    unit: Unit | None = None
    exchange: bool = False
    box: "Box | None" = None
    rebuild: Rebuild = field(init=False)
    throw: random.Random = field(init=False)
    hand: int = 0
    leaky_lot: Lot | None = None
    findings: dict[str, Finding] = field(default_factory=dict)  # by the code of the place
    worn: DimensionLimit | None = None  # the dimension found outside its limits
    followed: bool = False
    done: bool = False
    given_for: Rebuild | None = None  # the core that an exchange unit leaves for

    def __post_init__(self) -> None:
        self.throw = dice(self.name)
        self.hand = self.throw.randrange(2)

    @property
    def world(self) -> World:
        """The clock, the dice, the people and the catalogue."""
        return self.works.world

    @property
    def shelf(self) -> Shelf:
        """The stores."""
        return self.works.shelf

    @property
    def agenda(self) -> Agenda:
        """What is to happen some day."""
        return self.works.agenda

    def adopt(self, rebuild: Rebuild) -> None:
        """Keep the rebuild that receiving made, with the catalogue rows that were read already."""
        rebuild.revision = self.kind.revision
        self.rebuild, self.unit = rebuild, rebuild.unit

    def bench(self, why: str = "") -> Act:
        """Return an act of the tech who has the unit on the bench."""
        return self.world.act(BENCH, why, hand=self.hand)

    def lead(self, why: str = "") -> Act:
        """Return an act of the lead."""
        return self.world.act(LEAD, why)

    def clerk(self, why: str = "") -> Act:
        """Return an act of the receiving clerk."""
        return self.world.act(RECEIVING, why)

    def chance(self, share: float) -> bool:
        """Throw the dice of this pass."""
        return self.throw.random() < share

    def minutes(self, least: int, most: int) -> dt.datetime:
        """Return a time so many minutes of work later."""
        return self.world.after(minutes=self.throw.randint(least, most))

    def days(self, least: float, most: float) -> dt.datetime:
        """Return a time so many days later."""
        return self.world.after(hours=24 * self.throw.uniform(least, most))

    def wait_at(self, milestone: str) -> Iterator[dt.datetime]:
        """Stay at a milestone for good where the story says so."""
        if self.story.stop == milestone:
            yield NEVER

    @property
    def is_recent(self) -> bool:
        """Whether the unit came within the last weeks, so that its photos are still worth drawing."""
        return self.world.now - self.rebuild.received_at < dt.timedelta(days=30)


@dataclass
class Box:
    """What one customer sent at once; it goes back when every unit in it is done."""

    order: WorkOrder
    jobs: list[Job] = field(default_factory=list)
    extra: list[Job] = field(default_factory=list)  # exchange units that leave in its place
