"""Which boxes come when: customers, sets from one machine, and the last weeks with every stage."""

from datetime import datetime, timedelta

from shop.models import Customer
from shop.roles import RECEIVING
from shop.services.customers import save_customer, save_ship_to
from workorders.demo.job import Job, Story, Works
from workorders.demo.stock import Shelf
from workorders.demo.world import OPENS_H, YEARS, DemoType, Process, World, dice, in_hours, pick, shop_data
from workorders.models import Rebuild

SET_SIZES = [(1, 45), (2, 30), (3, 15), (4, 10)]
SHARE_OF_NEW = 0.68  # of all rebuilds; the others are units that come back
QUIET_DAYS = 20  # the stretch before the present that the last boxes fill
# The last boxes: type, milestone at which the unit waits at the present, days ago, what else.
LAST_UNITS: list[tuple[str, str, int, Story]] = [
    ("TQ-C25", "received", 1, Story()),
    ("TQ-P12", "received", 0, Story()),
    ("TQ-C32", "torn down", 6, Story(worn=True)),
    ("TQ-L16", "torn down", 5, Story()),
    ("TQ-C40", "quoted", 9, Story()),
    ("TQ-C25", "quoted", 10, Story()),
    ("TQ-P12", "go-ahead", 11, Story(early_word=True)),
    ("TQ-C32", "go-ahead", 12, Story()),
    ("TQ-C25", "built", 13, Story()),
    ("TQ-C40", "built", 14, Story(worn=True)),
    ("TQ-C25", "on the rig", 15, Story()),
    ("TQ-L16", "not passed", 16, Story(trouble="not decided")),
    ("TQ-C40", "tested", 16, Story()),
    ("TQ-C32", "released", 19, Story()),
    ("TQ-V2", "released", 18, Story()),
    ("TQ-C25", "", 20, Story()),
    ("TQ-P12", "", 19, Story(exit=Rebuild.Stage.RETURNED_AS_FOUND)),
    ("TQ-C40", "", 18, Story(exit=Rebuild.Stage.SCRAPPED)),
    ("TQ-C25", "at the plater", 9, Story()),
    ("TQ-C32", "late at the plater", 28, Story()),
]
# Units of the shop's own that are rebuilt for the exchange shelf: type, share of the history.
OWN_STOCK = [
    ("TQ-C25", 0.03),
    ("TQ-P12", 0.05),
    ("TQ-C40", 0.08),
    ("TQ-C25", 0.4),
    ("TQ-C40", 0.6),
    ("TQ-P12", 0.8),
    ("TQ-C25", 0.97),
]


def enter_customers(world: World) -> Customer:
    """Enter the customers and the shop's own exchange stock; return the latter."""
    data = shop_data()["customers"]
    kinds = Customer.Kind
    names = [(name, kinds.OWNER) for name in data["owners"]] + [(name, kinds.TRADE) for name in data["trade"]]
    for number, (name, kind) in enumerate(names):
        throw = dice("customer", name)
        mail = "".join(c for c in name.lower().replace(" ", ".") if c.isalpha() or c == ".")
        world.customers.append(
            save_customer(
                act=world.act(RECEIVING),
                name=name,
                kind=kind,
                phone=f"01632 960{300 + 13 * number:03d}"[:12],
                email=f"{mail}@example.{'org' if kind == kinds.OWNER else 'com'}",
                street=f"{throw.randint(1, 90)} {throw.choice(data['streets'])}",
                postcode=f"TQ{throw.randint(1, 9)} {throw.randint(1, 9)}{throw.choice(('AB', 'HJ'))}",
                town=throw.choice(data["towns"]),
                country=shop_data()["profile"]["country"],
                payment_days=30 if kind == kinds.TRADE else None,
            )
        )
    _account(world, next(row for row in world.customers if row.kind == kinds.TRADE))
    own = shop_data()["profile"]
    return save_customer(
        act=world.act(RECEIVING),
        name=data["stock"],
        kind=kinds.TRADE,
        phone=own["phone"],
        email=own["email"],
        street=own["street"],
        postcode=own["postcode"],
        town=own["town"],
        country=own["country"],
        note="The shop's own units, rebuilt for the exchange shelf.",
    )


def _account(world: World, row: Customer) -> None:
    """Give one account its yards and its bills elsewhere, and enter it once more by mistake."""
    act = world.act(RECEIVING, "told by the yard")
    save_customer(
        act=act,
        customer=row,
        payment_terms="2 % within a week",
        bill_name=f"{row.name}, accounts",
        bill_address="\n".join(["PO box 12", *row.address_lines[1:]]),
        shipping_note="Ring the gate before delivery; a tail-lift is needed.",
    )
    for label, line in (("yard", "Gate 2, behind the slipway"), ("winter hall", "Hall 5, north mole")):
        address = "\n".join([line, *row.address_lines[1:]])
        save_ship_to(
            act=act, customer=row, label=label, name=row.name, address=address, is_default=label == "yard"
        )
    save_customer(
        act=world.act(RECEIVING),
        name=f"{row.name.split()[0]} yard office",
        kind=Customer.Kind.TRADE,
        phone=row.phone,
        town=row.town,
    )


def plan_boxes(works: Works) -> None:
    """Let every box arrive at its time: the years before, the last weeks, the shop's own stock."""
    world = works.world
    last = [plan for plan in LAST_UNITS]
    wanted = max(0, round(world.size * SHARE_OF_NEW) - len(last))
    planned = number = 0
    while planned < wanted:
        throw = dice("box", number)
        share = (planned + throw.random()) / wanted
        at = world.start + (world.now - timedelta(days=QUIET_DAYS) - world.start) * share
        jobs = _box_of_machine(works, f"box {number}", throw.randrange(10**6))
        works.post(jobs[0].customer, jobs, in_hours(at))
        planned, number = planned + len(jobs), number + 1
    for number, (code, stop, days, story) in enumerate(last):
        story.stop = stop
        customer = world.customers[(5 * number + 3) % len(world.customers)]
        job = make_job(works, world.types[code], customer, f"last {number}", story, number)
        works.post(customer, [job], days_ago(world, days))
    for number, (code, share) in enumerate(OWN_STOCK):
        job = make_job(works, world.types[code], works.own_stock, f"stock {number}", Story(), number)
        job.exchange = True
        works.post(works.own_stock, [job], in_hours(world.start + (world.now - world.start) * share))


def days_ago(world: World, days: int) -> datetime:
    """Return a morning hour of a working day, at least so many days ago."""
    at = (world.now - timedelta(days=days)).replace(minute=10, second=0, microsecond=0)
    at = min(at, at.replace(hour=9))
    while at.weekday() >= 5:
        at -= timedelta(days=1)
    return at


def _box_of_machine(works: Works, name: str, seed: int) -> list[Job]:
    """Return the units of one box: one to four, from the mounting places of one machine."""
    world = works.world
    throw = dice(name, seed)
    kinds = list(world.types.values())
    first = pick(throw, [(kind, kind.data["share"]) for kind in kinds])
    application = first.data["application"]
    mates = [kind for kind in kinds if kind.data["application"] == application]
    seats = [(kind, n) for kind in mates for n in range(len(kind.places))]
    throw.shuffle(seats)
    seats.sort(key=lambda seat: seat[0] is not first)
    chosen = seats[: pick(throw, SET_SIZES)]
    trade = [row for row in world.customers if row.kind == Customer.Kind.TRADE]
    customer = throw.choice(trade if throw.random() < 0.45 else world.customers)
    return [
        make_job(works, kind, customer, f"{name}.{n}", _story(kind, name, n), seat)
        for n, (kind, seat) in enumerate(chosen)
    ]


def make_job(works: Works, kind: DemoType, customer: Customer, name: str, story: Story, seat: int) -> Job:
    """Return one unit to come, from one mounting place of its machine."""
    place = kind.places[seat % len(kind.places)]
    return Job(works=works, kind=kind, customer=customer, name=name, story=story, place=place)


def _story(kind: DemoType, *names: object) -> Story:
    throw = dice("story", *names)
    return Story(
        early_word=throw.random() < 0.25,
        rest=throw.random() < 0.45,
        by_kit=throw.random() < 0.35,
        worn=throw.random() < 0.12,
        trouble=_trouble(kind, throw.random(), throw.random()),
    )


def _trouble(kind: DemoType, chance: float, which: float) -> str:
    """Return what goes wrong at the rig in a few units: what the plan of the type can show."""
    if chance > 0.05:
        return ""
    steps = {step.kind for step in kind.plan.steps.all()}
    found = [word for word, step in (("fails", "bypass"), ("drips", "proof")) if step in steps]
    found.append("not decided")
    return found[int(which * len(found))]


def pack_ahead(shelf: Shelf) -> Process:
    """Pack a kit now and then, so that two wait at the present."""
    world = shelf.world
    kinds = [world.types[code] for code in ("TQ-C25", "TQ-C40", "TQ-C32")]
    turn = 0
    while True:
        kind = kinds[turn % len(kinds)]
        if not shelf.kits.get(kind.revision.pk):
            shelf.pack(kind)
        turn += 1
        minutes = dice("packing", turn).randint(0, 400)
        at = world.after(days=max(3, round(365 * YEARS / world.size * 2)))
        yield in_hours(at.replace(hour=OPENS_H, minute=0) + timedelta(minutes=minutes))
