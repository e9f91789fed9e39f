"""Random stores work against a plain model: stock, genealogy and history agree after every step."""

from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace

import hypothesis.strategies as st
import pytest
from django.db import transaction
from django.db.models import F, Sum
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from inventory.models import Balance, Lot, Movement
from inventory.services import genealogy, lot_state, making, stock
from shop.errors import RuleBroken
from shop.services.writing import Act, acting
from tests.conftest import NOW
from tests.factories import PartFactory, SupplierFactory, person

PLACES = st.sampled_from(["A1", "B2", "C3"])
PIECES = st.integers(1, 6)
WHY = "random work"
ANY = st.integers(0, 99)  # which of the lots, makings or uses there are


@dataclass
class Known:
    """What the model knows of a lot; places in the order in which they first held pieces."""

    lot: Lot
    made: int
    places: dict[str, int] = field(default_factory=dict)
    state: str = "accepted"
    inputs: list[tuple[int, str, int]] = field(default_factory=list)  # lot, place, pieces
    is_making: bool = False
    taken_back: bool = False
    versions: list[tuple[str, str]] = field(default_factory=lambda: [("accepted", WHY)])  # state, reason

    @property
    def left(self) -> int:
        return sum(self.places.values())


class StockMachine(RuleBasedStateMachine):
    """The services on one side, dictionaries on the other."""

    reached: Counter[str] = Counter()  # what a run has done, so that it cannot be idle unseen

    def __init__(self):
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.lots: dict[int, Known] = {}
        self.uses: list[list] = []  # movement, lot, place, pieces, back
        self.ledger: list[tuple[int, str, str, int]] = []  # lot, kind, place, pieces

    def teardown(self):
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    @initialize()
    def people(self):
        self.lead = person("lead")
        self.supplier = SupplierFactory()
        self.parts = [PartFactory(kind="clip", polymer="") for _ in range(3)]
        for part in range(3):
            self.arrive(part, 6, "A1")

    def act(self):
        return Act(by=self.lead, at=NOW, why=WHY)

    def pick(self, which):
        return list(self.lots.values())[which % len(self.lots)] if self.lots else None

    def attempt(self, allowed, write):
        """Run a write; it is refused exactly where the model says so, and then nothing changed."""
        before = Movement.objects.count()
        try:
            with transaction.atomic():
                done = write()
        except RuleBroken:
            assert not allowed
            assert Movement.objects.count() == before
            return None
        assert allowed
        return done

    def came(self, kind, known, place, pieces):
        known.places[place] = known.places.get(place, 0) + pieces
        self.ledger.append((known.lot.pk, kind, place, pieces))
        self.reached[kind] += 1

    def went(self, kind, known, place, pieces):
        known.places[place] -= pieces
        self.ledger.append((known.lot.pk, kind, place, -pieces))
        self.reached[kind] += 1

    def becomes(self, known, state):
        known.state = state
        known.versions.append((state, WHY))
        self.reached[state] += 1

    def place_for(self, known, pieces):
        """The place that a taking without one chooses: the emptiest that holds enough."""
        enough = [(n, at, place) for at, (place, n) in enumerate(known.places.items()) if n >= pieces]
        return min(enough)[2] if enough else None

    def where_some_lie(self, known, place, pieces, but=""):
        """A place that holds pieces, and no more than it holds: chance alone hardly ever looks there."""
        holding = [(at, n) for at, n in known.places.items() if n and at != but]
        return (holding[0][0], min(pieces, holding[0][1])) if holding else (place, pieces)

    # --- what stores and bench do ---

    @rule(part=st.integers(0, 2), pieces=PIECES, place=PLACES)
    def receive(self, part, pieces, place):
        self.arrive(part, pieces, place)

    def arrive(self, part, pieces, place):
        lot = stock.receive_lot(
            act=self.act(),
            part=self.parts[part],
            supplier=self.supplier,
            number="",
            quantity=pieces,
            place=place,
            received_on=NOW.date(),
        )
        self.lots[lot.pk] = known = Known(lot, pieces)
        self.came("received", known, place, pieces)

    @rule(which=ANY, pieces=PIECES)
    def take(self, which, pieces):
        if not (known := self.pick(which)):
            return
        place = self.place_for(known, pieces)
        allowed = place is not None and known.state == "accepted"
        told = {"act": self.act(), "lot": known.lot, "quantity": pieces, "document": "W"}
        movement = self.attempt(allowed, lambda: stock.take(**told))
        if movement:
            assert movement.place == place
            self.went("used", known, place, pieces)
            self.uses.append([movement, known, place, pieces, False])

    @rule(which=ANY, more=PIECES, place=PLACES)
    def take_what_was_in_the_bin(self, which, more, place):
        if not (known := self.pick(which)):
            return
        pieces = max(known.places.values(), default=0) + more - 3
        allowed = pieces > max(0, *known.places.values()) and known.state == "accepted"
        told = {"act": self.act(), "lot": known.lot, "quantity": pieces, "document": "W", "place": place}
        movement = self.attempt(allowed, lambda: stock.take(found_in_bin=True, **told))
        if movement:
            self.came("found", known, place, pieces)
            self.went("used", known, place, pieces)
            self.uses.append([movement, known, place, pieces, False])

    @rule(which=ANY)
    def put_back(self, which):
        if not self.uses:
            return
        use = self.uses[which % len(self.uses)]
        movement, known, place, pieces, back = use
        told = {"act": self.act(), "movement": movement, "document": "W"}
        if self.attempt(not back, lambda: stock.put_back(**told)):
            self.came("returned", known, place, pieces)
            use[4] = True

    @rule(which=ANY, pieces=PIECES, place=PLACES)
    def scrap(self, which, pieces, place):
        if not (known := self.pick(which)):
            return
        if which % 3:
            place, pieces = self.where_some_lie(known, place, pieces)
        told = {"act": self.act(), "lot": known.lot, "quantity": pieces, "place": place}
        if self.attempt(known.places.get(place, 0) >= pieces, lambda: stock.scrap(**told)):
            self.went("scrapped", known, place, pieces)

    @rule(which=ANY, change=st.integers(-4, 4), place=PLACES)
    def adjust(self, which, change, place):
        if not (known := self.pick(which)):
            return
        allowed = change != 0 and known.places.get(place, 0) + change >= 0
        told = {"act": self.act(), "lot": known.lot, "change": change, "place": place}
        if self.attempt(allowed, lambda: stock.adjust(**told)):
            self.came("adjusted", known, place, change)

    @rule(which=ANY, pieces=PIECES, place=PLACES, to_place=PLACES)
    def move(self, which, pieces, place, to_place):
        if not (known := self.pick(which)):
            return
        if which % 3:
            place, pieces = self.where_some_lie(known, place, pieces, but=to_place)
        allowed = place != to_place and known.places.get(place, 0) >= pieces
        told = {"act": self.act(), "lot": known.lot, "quantity": pieces, "place": place}
        if self.attempt(allowed, lambda: stock.move(to_place=to_place, **told)):
            self.went("moved", known, place, pieces)
            self.came("moved", known, to_place, pieces)

    @rule(which=ANY, wanted=st.sampled_from(["hold", "accept", "accept"]))
    def hold_or_accept(self, which, wanted):
        held = [known for known in self.lots.values() if known.state == "on_hold"]
        if wanted == "accept" and held:
            # What is inside a lot is older: the oldest may always be accepted.
            self.accept(held[which % len(held)] if which % 3 == 0 else held[0])
        elif wanted == "hold" or which % 2:
            self.hold(self.pick(which))
        else:
            self.accept(self.pick(which))

    def hold(self, known):
        told = {"act": self.act(), "lot": known.lot, "reason": "random doubt"}
        if self.attempt(known.state == "accepted", lambda: lot_state.hold_lot(**told)):
            self.becomes(known, "on_hold")
            for above in self.lots_above(known.lot.pk):
                if above.state == "accepted":
                    self.becomes(above, "on_hold")

    def accept(self, known):
        allowed = known.state == "on_hold" and all(
            self.lots[pk].state == "accepted" for pk in self.inside(known)
        )
        if self.attempt(allowed, lambda: lot_state.accept_lot(act=self.act(), lot=known.lot)):
            self.becomes(known, "accepted")

    @rule(
        part=st.integers(0, 2),
        pieces=PIECES,
        place=PLACES,
        wanted=st.lists(st.tuples(ANY, PIECES), max_size=3),
    )
    def make(self, part, pieces, place, wanted):
        self.make_from(
            part, pieces, place, [(known, n) for which, n in wanted if (known := self.pick(which))]
        )

    @rule(which=ANY, pieces=PIECES, place=PLACES)
    def make_two_deep(self, which, pieces, place):
        """Chance alone hardly ever makes a tree of two steps."""
        known = self.pick(which)
        for _step in range(2):
            if known and known.left:
                other = self.parts.index(known.lot.part) + 1
                known = self.make_from(other % len(self.parts), pieces, place, [(known, 1)])

    def make_from(self, part, pieces, place, chosen):
        places = [self.place_for(known, n) for known, n in chosen]
        allowed = (
            len({known.lot.pk for known, _n in chosen}) == len(chosen)
            and all(known.lot.part != self.parts[part] for known, _n in chosen)
            and all(known.state == "accepted" for known, _n in chosen)
            and all(places)
        )
        inputs = [making.Input(lot=known.lot, quantity=n) for known, n in chosen]
        told = {"act": self.act(), "part": self.parts[part], "quantity": pieces, "place": place}
        lot = self.attempt(allowed, lambda: making.make_lot(inputs=inputs, **told))
        if lot:
            for (known, n), from_place in zip(chosen, places, strict=True):
                self.went("used", known, from_place, n)
            self.lots[lot.pk] = made = Known(lot, pieces, is_making=True)
            made.inputs = [(k.lot.pk, at, n) for (k, n), at in zip(chosen, places, strict=True)]
            self.came("received", made, place, pieces)
            return made
        return None

    @rule(which=ANY)
    def take_making_back(self, which):
        made = [known for known in self.lots.values() if known.is_making]
        if not made:
            return
        known = made[which % len(made)]
        allowed = not known.taken_back and known.left == known.made
        if self.attempt(allowed, lambda: making.take_back_making(act=self.act(), lot=known.lot)):
            for place, pieces in list(known.places.items()):
                if pieces:
                    self.went("adjusted", known, place, pieces)
            for pk, place, pieces in known.inputs:
                self.came("returned", self.lots[pk], place, pieces)
            known.taken_back = True
            self.reached["taken back"] += 1
            self.becomes(known, "on_hold")

    # --- what the model says of the tree ---

    def inside(self, known):
        """Keys of all lots inside a lot."""
        found, waiting = set(), [known]
        while waiting:
            each = waiting.pop()
            below = [] if each.taken_back else [pk for pk, _place, _n in each.inputs]
            waiting.extend(self.lots[pk] for pk in below if pk not in found)
            found.update(below)
        return found

    def lots_above(self, pk):
        return [known for known in self.lots.values() if pk in self.inside(known)]

    # --- what must hold after every step ---

    @invariant()
    def stock_is_the_models(self):
        held = {(row.lot_id, row.place): row.quantity for row in Balance.objects.all() if row.quantity}
        told = {(pk, place): n for pk, known in self.lots.items() for place, n in known.places.items() if n}
        assert held == told
        sums = Movement.objects.order_by().values_list("lot", "place").annotate(n=Sum("quantity"))
        assert {(lot, place): n for lot, place, n in sums if n} == told
        written = Movement.objects.order_by("pk").values_list("lot", "kind", "place", "quantity")
        assert Counter(written) == Counter(self.ledger)
        assert stock.ledger_differences() == []

    @invariant()
    def the_tree_is_the_models(self):
        made = [known for known in self.lots.values() if known.is_making]
        trees = genealogy.lots_inside({known.lot.pk for known in made})
        above = defaultdict(set)
        for known in made:
            direct = Counter({self.lots[pk].lot.number: n for pk, _p, n in known.inputs})
            tree = trees[known.lot.pk]
            told = {twig.number: twig.pieces for twig in tree if twig.depth == 1}
            assert told == ({} if known.taken_back else dict(direct))
            inside = self.inside(known)
            assert {twig.number for twig in tree} == {self.lots[pk].lot.number for pk in inside}
            self.reached["deep tree"] += any(twig.depth > 1 for twig in tree)
            for pk in inside:
                above[pk].add(known.lot.pk)
        for pk in self.lots:
            assert genealogy.lots_with([pk]) == above[pk]

    @invariant()
    def history_is_the_models(self):
        states = dict(Lot.objects.values_list("pk", "state"))
        assert states == {pk: known.state for pk, known in self.lots.items()}
        rows = Lot.history.order_by("history_id")
        versions = defaultdict(list)
        for pk, state, why, who in rows.values_list("id", "state", "history_change_reason", "history_user"):
            assert who == self.lead.pk
            versions[pk].append((state, why))
        assert versions == {pk: known.versions for pk, known in self.lots.items()}


def run(**told):
    StockMachine.reached.clear()
    run_state_machine_as_test(
        StockMachine,
        settings=settings(
            **{"max_examples": 40, "stateful_step_count": 25, **told},
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )


@pytest.mark.django_db
def test_random_work_in_the_stores_agrees_with_a_plain_model():
    run()
    acts = ("received", "used", "returned", "found", "scrapped", "adjusted", "moved")
    for act in (*acts, "on_hold", "accepted", "taken back", "deep tree"):
        assert StockMachine.reached[act] > 0, (act, StockMachine.reached)


# --- and it can fail: each fault is planted, and seen by the comparison that it is meant for ---


def a_balance_that_is_not_lowered(monkeypatch):
    """Pieces are taken by the ledger, and the balance keeps them; the ledger's own trigger looks on."""
    plain = stock._remove

    def remove(lot, quantity, place):
        found = plain(lot, quantity, place)
        Balance.objects.filter(lot=lot, place=found).update(quantity=F("quantity") + quantity)
        return found

    monkeypatch.setattr(stock, "_remove", remove)


def a_movement_of_the_wrong_kind(monkeypatch):
    """What is adjusted upwards is written down as found: every sum is right, the ledger is not."""
    plain = stock._write

    def write(act, lot, kind, *told):
        wrong = kind == Movement.Kind.ADJUSTED and told[1] > 0
        return plain(act, lot, Movement.Kind.FOUND if wrong else kind, *told)

    monkeypatch.setattr(stock, "_write", write)


def a_tree_that_ends_at_its_first_twigs(monkeypatch):
    """Lots made of made lots are not followed down."""
    plain = genealogy.lots_inside

    def inside(lot_pks):
        return {pk: [twig for twig in tree if twig.depth == 1] for pk, tree in plain(lot_pks).items()}

    monkeypatch.setattr(genealogy, "lots_inside", inside)


def a_recall_that_forgets_the_last_lot(monkeypatch):
    """Of the lots that hold pieces of one, the youngest is left out."""
    plain = genealogy.lots_with

    def holding(lot_pks):
        found = plain(lot_pks)
        return found - {max(found)} if found else found

    monkeypatch.setattr(genealogy, "lots_with", holding)


def a_hold_without_history(monkeypatch):
    """A lot is put on hold past its history."""

    def hold(*, act, lot, reason):
        Lot.objects.filter(pk=lot.pk).update(state="on_hold", hold_reason=reason)
        lot_state._hold_what_holds(lot, reason)

    def hold_lot(*, act, lot, reason):
        if Lot.objects.get(pk=lot.pk).state != "accepted":
            raise RuleBroken("held already")
        with acting(act):
            hold(act=act, lot=lot, reason=reason)
        return lot

    monkeypatch.setattr(lot_state, "hold_lot", hold_lot)


def a_history_with_another_reason(monkeypatch):
    """The history of an accepted lot gives no reason of the person who accepted it."""
    plain = lot_state.accept_lot
    monkeypatch.setattr(
        lot_state, "accept_lot", lambda *, act, lot: plain(act=replace(act, why="because"), lot=lot)
    )


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("fault", "seen_by"),
    [
        (a_balance_that_is_not_lowered, "stock_is_the_models"),
        (a_movement_of_the_wrong_kind, "stock_is_the_models"),
        (a_tree_that_ends_at_its_first_twigs, "the_tree_is_the_models"),
        (a_recall_that_forgets_the_last_lot, "the_tree_is_the_models"),
        (a_hold_without_history, "history_is_the_models"),
        (a_history_with_another_reason, "history_is_the_models"),
    ],
)
def test_a_planted_fault_is_seen(monkeypatch, fault, seen_by):
    fault(monkeypatch)
    with pytest.raises(AssertionError) as seen:
        run(max_examples=100, phases=[Phase.generate], report_multiple_bugs=False)
    assert seen_by in [entry.name for entry in seen.traceback]
