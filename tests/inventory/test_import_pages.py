"""The pages of lists from files."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import Part
from shop.importers import importer_of
from shop.models import Import, StoredFile
from shop.services import imports
from shop.services.writing import Act
from tests import writes
from tests.asking import rows, send
from tests.factories import LotFactory, PartFactory, person
from tests.writes import Write

pytestmark = pytest.mark.django_db

PARTS = b"Part number,Name,Kind,Material\nP-1,rod seal,lip seal,NBR\nP-2,clip,clip or plate,\n"
BAD = b"Part number,Name,Kind,Material\nP-1,rod seal,lip seal,\nP-2,clip,clap,\n"


def upload(data=PARTS, name="parts.csv"):
    return SimpleUploadedFile(name, data)


def stored(data=PARTS):
    return imports.store_file(act=Act(by=person("lead")), upload=upload(data))


def entered():
    lead = Act(by=person("lead"))
    return imports.enter_file(act=lead, importer=importer_of("parts"), file=stored())


def check_url(file, kind="parts"):
    return reverse("shop:import_check", args=[kind, file.pk])


LEAD = {"role": "lead", "refused_role": "stores"}
WRITES = {
    "enter": lambda: Write(
        url=check_url(stored()),
        unknown=reverse("shop:import_check", args=["parts", 10**6]),
        bad={},
        history=Part.history,
        why="imported from parts.csv, row 3",
        **LEAD,
    ),
    "undo": lambda: Write(
        url=reverse("shop:import_undo", args=[entered().pk]),
        data={"why": "wrong file"},
        unknown=reverse("shop:import_undo", args=[10**6]),
        bad={"why": ""},
        history=Import.history,
        why="wrong file",
        **LEAD,
    ),
}


@pytest.fixture(params=WRITES)
def write(request):
    return WRITES[request.param]()


@pytest.mark.parametrize("check", ["works", "get", "signed_out", "wrong_role", "unknown", "twice"])
def test_a_page_that_writes(client, write, check):
    getattr(writes, f"check_{check}")(client, write)


@pytest.fixture
def reader(client, lead):
    client.force_login(lead)
    return client


def test_an_upload_is_stored_as_it_came_and_leads_to_its_check(reader):
    answer = send(reader, reverse("shop:import_new", args=["parts"]), {"file": upload()})
    file = StoredFile.objects.get(kind="list")
    assert answer.url == check_url(file)
    page = reader.get(answer.url)
    assert "Every row can be entered" in page.content.decode()
    assert file.sha256 in page.content.decode()
    assert not Part.objects.exists()
    download = reader.get(file.get_absolute_url())
    assert download.content == PARTS
    assert download["Content-Disposition"].startswith("attachment")


def test_the_same_upload_sent_twice_is_stored_once(reader):
    url, token = reverse("shop:import_new", args=["parts"]), uuid.uuid4().hex
    answers = [send(reader, url, {"file": upload()}, token=token) for _time in range(2)]
    assert answers[0].url == answers[1].url
    assert StoredFile.objects.count() == 1


@pytest.mark.parametrize("data", [None, b"", b"x" * (10 * 2**20 + 1)])
def test_no_file_an_empty_one_and_a_large_one_are_refused(reader, data):
    before = rows()
    sent = {} if data is None else {"file": upload(data)}
    answer = send(reader, reverse("shop:import_new", args=["parts"]), sent)
    assert answer.status_code == 422
    assert rows() == before


def test_the_check_lists_every_error_and_offers_no_button(reader):
    page = reader.get(check_url(stored(BAD))).content.decode()
    assert "2 of 2 rows cannot be entered" in page
    assert "A seal needs its polymer." in page
    assert "“clap” is none of" in page
    assert "Enter them" not in page


@pytest.mark.parametrize(("data", "words"), [(BAD, "2 of 2 rows"), (b"Nome\nx\n", "No such column")])
def test_a_wrong_file_is_not_entered(reader, data, words):
    file = stored(data)
    before = rows()
    answer = send(reader, check_url(file))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert "Nothing was saved" in answer.content.decode()
    assert rows() == before


def test_a_change_after_the_check_is_told_with_the_row(reader):
    file = stored()
    assert "Every row can be entered" in reader.get(check_url(file)).content.decode()
    PartFactory(number="P-2", name="another thing")
    answer = send(reader, check_url(file))
    assert answer.status_code == 422
    assert "P-2 another thing is there already" in answer.content.decode()


def test_an_import_in_use_is_refused_beside_the_reason(reader):
    row = entered()
    LotFactory(number="L-77", part=Part.objects.get(number="P-1"))
    before = rows()
    answer = send(reader, reverse("shop:import_undo", args=[row.pk]), {"why": "wrong"})
    assert answer.status_code == 422
    assert "used by lot L-77" in answer.content.decode()
    assert rows() == before


def test_the_page_of_an_import_shows_rows_and_undo(reader):
    row = entered()
    page = reader.get(row.get_absolute_url()).content.decode()
    assert "P-1 rod seal" in page
    assert Part.objects.get(number="P-1").get_absolute_url() in page
    assert "Undo this import" in page
    send(reader, reverse("shop:import_undo", args=[row.pk]), {"why": "wrong file"})
    page = reader.get(row.get_absolute_url()).content.decode()
    assert "wrong file" in page
    assert "Undo this import" not in page


def test_only_lists_that_there_are_and_files_that_are_lists(reader):
    file = stored()
    assert reader.get(reverse("shop:import_new", args=["ships"])).status_code == 404
    assert reader.get(check_url(file, "ships")).status_code == 404
    assert reader.get(reverse("shop:import_template", args=["parts", "exe"])).status_code == 404
    StoredFile.objects.filter(pk=file.pk).update(kind="photo")
    assert reader.get(check_url(file)).status_code == 404


@pytest.mark.parametrize("role", ["bench", "stores", "receiving", "warranty desk"])
def test_the_pages_are_the_leads(client, role):
    row = entered()
    client.force_login(person(role))
    for url in (
        reverse("shop:imports"),
        row.get_absolute_url(),
        reverse("shop:import_new", args=["parts"]),
        reverse("shop:import_template", args=["parts", "csv"]),
        check_url(row.file),
    ):
        assert client.get(url).status_code == 403
