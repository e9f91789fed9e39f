"""Every page about lots, makings and recipes that writes: it works, and it refuses what it must."""

from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import Lot, LotCertificate, Making, RecipeLine
from inventory.services import lot_papers, making
from shop.services.writing import Act
from tests import writes
from tests.asking import picture
from tests.conftest import NOW
from tests.factories import LotFactory, PartFactory, ShopProfileFactory, person
from tests.writes import Write

pytestmark = pytest.mark.django_db


def made_once():
    ShopProfileFactory()
    lead = Act(by=person("lead"), at=NOW, why="for the test")
    lot, made = LotFactory(), PartFactory(kind="component", polymer="")
    other = PartFactory()
    paper = lot_papers.add_certificates(act=lead, lot=lot, uploads=[picture()])[0]
    making.save_recipe_line(act=lead, made=made, part=lot.part, quantity=1)
    line = making.save_recipe_line(act=lead, made=made, part=other, quantity=1)
    told = {"part": made, "quantity": 2, "place": "D1", "inputs": [making.Input(lot=lot, quantity=2)]}
    return SimpleNamespace(
        lot=lot,
        quarantined=LotFactory(state="quarantined", hold_reason="arrived"),
        paper=paper,
        part=made,
        other=other,
        line=line,
        made=making.make_lot(act=lead, **told),
        empty=LotFactory(quantity_received=1),
    )


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def world(kept):
    return kept()


def page(name, *args):
    return reverse(f"inventory:{name}", args=args)


def certificate():
    return SimpleUploadedFile("paper.pdf", b"%PDF-1.4 for a test", content_type="application/pdf")


STORES = {"role": "stores", "refused_role": "bench"}
MAKER = {"role": "bench", "refused_role": "receiving"}
CHECK = {"reason": "as ordered", "certificate_seen": "on", "what_1": "height", "value_1": "4.02"}
WRITES = {
    "quarantine": lambda w: Write(
        url=page("lot_quarantine", w.lot.number),
        data={"reason": "to be measured"},
        unknown=page("lot_quarantine", "L-none"),
        bad={"reason": ""},
        history=Lot.history,
        why="to be measured",
        **STORES,
    ),
    "accept": lambda w: Write(
        url=page("lot_accept", w.quarantined.number),
        data=CHECK,
        unknown=page("lot_accept", "L-none"),
        bad={"what_1": ""},
        broken={"upper_1": "4"},
        history=Lot.history,
        why="as ordered",
        **STORES,
    ),
    "scrap_all": lambda w: Write(
        url=page("lot_scrap_all", w.lot.number),
        data={"why": "cracks"},
        unknown=page("lot_scrap_all", "L-none"),
        bad={"why": ""},
        history=Lot.history,
        why="cracks",
        **STORES,
    ),
    "extend": lambda w: Write(
        url=page("lot_extend", w.lot.number),
        data={"what": "hardness", "pieces": 5, "passed": "yes", "until": "2033-09-30"},
        unknown=page("lot_extend", "L-none"),
        bad={"passed": ""},
        broken={"until": "2035-01-01"},
        history=Lot.history,
        **STORES,
    ),
    "certificates": lambda w: Write(
        url=page("lot_certificates", w.lot.number),
        data={"certificates": certificate(), "title": "Certificate 4471"},
        unknown=page("lot_certificates", "L-none"),
        bad={"certificates": ""},
        broken={"certificates": SimpleUploadedFile("x.txt", b"no paper")},
        history=LotCertificate.history,
        **STORES,
    ),
    "withdraw": lambda w: Write(
        url=page("lot_certificate_withdraw", w.lot.number, w.paper.pk),
        data={"why": "of another lot"},
        unknown=page("lot_certificate_withdraw", w.made.number, w.paper.pk),
        bad={"why": ""},
        history=LotCertificate.history,
        why="of another lot",
        **STORES,
    ),
    "make": lambda w: Write(
        url=page("lot_make"),
        data={
            "part": w.part.pk,
            "quantity": 3,
            "place": "D4",
            "lot_1": w.lot.number.lower(),
            "pieces_1": 3,
            "hours": "0.5",
        },
        bad={"pieces_1": ""},
        broken={"pieces_1": 99},
        history=Lot.history,
        **MAKER,
    ),
    "take_back": lambda w: Write(
        url=page("making_take_back", w.made.number),
        data={"why": "wrong drawing"},
        unknown=page("making_take_back", w.lot.number),
        bad={"why": ""},
        history=Lot.history,
        why="wrong drawing",
        **MAKER,
    ),
    "recipe_new": lambda w: Write(
        url=page("recipe_line_new", w.part.pk),
        data={"part": PartFactory().pk, "quantity": 4},
        unknown=page("recipe_line_new", 10**6),
        bad={"quantity": "many"},
        broken={"part": w.part.pk},
        history=RecipeLine.history,
        **STORES,
    ),
    "recipe_change": lambda w: Write(
        url=page("recipe_line_change", w.part.pk, w.line.pk),
        data={"part": w.other.pk, "quantity": 4},
        unknown=page("recipe_line_change", w.lot.part.pk, w.line.pk),
        bad={"quantity": ""},
        broken={"part": w.lot.part.pk},
        history=RecipeLine.history,
        **STORES,
    ),
    "recipe_remove": lambda w: Write(
        url=page("recipe_line_remove", w.part.pk, w.line.pk),
        data={"why": "bought from now on"},
        unknown=page("recipe_line_remove", w.part.pk, 10**6),
        bad={"why": ""},
        history=RecipeLine.history,
        why="bought from now on",
        **STORES,
    ),
}
RULED = [
    name
    for name in WRITES
    if name not in ("quarantine", "scrap_all", "withdraw", "take_back", "recipe_remove")
]


@pytest.fixture(params=WRITES)
def write(request, world):
    return WRITES[request.param](world)


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_for_the_page_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_are_asked_to_sign_in(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


@pytest.mark.parametrize("name", [name for name in WRITES if name != "certificates"])
def test_a_form_sent_twice_is_written_once(client, world, name):
    writes.check_twice(client, WRITES[name](world))


@pytest.mark.parametrize("name", [name for name in WRITES if name != "make"])
def test_what_does_not_exist_is_not_found(client, world, name):
    writes.check_unknown(client, WRITES[name](world))


@pytest.mark.parametrize("name", WRITES)
def test_a_wrong_form_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.bad)


@pytest.mark.parametrize("name", RULED)
def test_a_broken_rule_is_refused(client, world, name):
    write = WRITES[name](world)
    writes.check_refused(client, write, write.broken)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("quarantine", "in quarantine already"),
        ("scrap_all", "Nothing is left"),
        ("withdraw", "withdrawn already"),
        ("take_back", "taken back already"),
        ("extend", "extended already"),
    ],
)
def test_what_is_done_already_is_refused(client, world, name, words):
    write = WRITES[name](world)
    client.force_login(person(write.role))
    assert writes.send(client, write.url, write.data).status_code == 302
    before = writes.rows()
    answer = writes.send(client, write.url, write.data)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert writes.rows() == before


def test_a_lot_is_received_into_quarantine_with_its_papers(client, world):
    client.force_login(person("stores"))
    told = {
        "part": world.other.pk,
        "supplier": world.lot.supplier.pk,
        "quantity": 5,
        "cure_date": "3Q24",
        "received_on": "2026-03-01",
        "place": "A7",
        "quarantine": "on",
        "certificates": [certificate(), picture("paper.png")],
    }
    answer = writes.send(client, page("lot_receive"), told)
    assert answer.status_code == 302
    lot = Lot.objects.latest("pk")
    assert (lot.state, lot.certificates.count()) == ("quarantined", 2)
    shown = client.get(answer.url).content.decode()
    assert "In quarantine: do not use" in shown
    assert "paper.pdf" in shown
    assert lot.get_absolute_url() in client.get(page("lots"), {"show": "quarantine"}).content.decode()


def test_a_page_tells_why_a_lot_cannot_be_extended(client, world):
    client.force_login(person("stores"))
    answer = client.get(page("lot_extend", world.made.number))
    assert answer.status_code == 422
    assert "keeps the date of what is inside" in answer.content.decode()
    assert "/extend/" not in client.get(world.made.get_absolute_url()).content.decode()
    assert "/extend/" in client.get(world.lot.get_absolute_url()).content.decode()


def test_a_made_lot_shows_its_making_and_the_input_shows_what_it_went_into(client, world):
    client.force_login(person("bench"))
    made = client.get(world.made.get_absolute_url()).content.decode()
    assert "Made here from" in made
    assert world.lot.get_absolute_url() in made
    assert world.made.get_absolute_url() in client.get(world.lot.get_absolute_url()).content.decode()
    assert Making.objects.count() == 1
