"""One form, one record: tokens, repeats, races, refusals; and stored files."""

import hashlib
import io
import threading
from pathlib import Path
from urllib.parse import unquote, urlencode

import pytest
from django.core.exceptions import BadRequest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from PIL import Image

from shop.errors import RuleBroken
from shop.models import Customer, FormToken, StoredFile
from shop.services import files
from shop.services.writing import Act, service
from shop.views.answers import once
from tests import factories

TOKEN = "c" * 32
ADDRESS = "/customers/new/"


def customer_data(**data):
    return {"name": "Low Light Platforms", "kind": "trade", "form_token": TOKEN, **data}


@pytest.fixture
def clerk(client, receiving):
    client.force_login(receiving)
    return client


@pytest.mark.django_db
def test_a_repeat_gets_the_first_answer(clerk):
    first, second = clerk.post(ADDRESS, customer_data()), clerk.post(ADDRESS, customer_data(name="Other"))
    assert (first.status_code, first.url) == (302, second.url)
    assert list(Customer.objects.values_list("name", flat=True)) == ["Low Light Platforms"]


@pytest.mark.django_db
def test_a_reason_that_no_database_keeps_is_refused(rf, receiving):
    request = rf.post("/rebuilds/1/teardown/debris/withdraw/", {"form_token": TOKEN, "why": "wrong\0tray"})
    request.user = receiving
    with pytest.raises(BadRequest, match="holds a NUL"):
        once(request, lambda: "/written/")
    assert not FormToken.objects.exists()


@pytest.mark.django_db
def test_a_repeat_is_led_back_to_all_that_was_chosen_on_a_page(rf, receiving):
    chosen = "/tests/1/steps/3/?" + urlencode({f"r{number}-file": number for number in range(60)})
    request = rf.post("/tests/1/steps/3/files/9/", {"form_token": TOKEN})
    request.user = receiving
    assert len(chosen) > 300
    assert [once(request, lambda: chosen), once(request, lambda: "/again/")] == [chosen, chosen]


@pytest.mark.django_db
def test_a_refused_form_does_not_use_up_its_token(clerk):
    assert clerk.post(ADDRESS, customer_data(name="")).status_code == 422
    assert not FormToken.objects.exists()
    assert clerk.post(ADDRESS, customer_data()).status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize("token", ["", "short", "not-hex-not-hex-not-hex-not-hex-"])
def test_a_form_without_a_sound_token_is_refused(clerk, token):
    assert clerk.post(ADDRESS, customer_data(form_token=token)).status_code == 400
    assert not Customer.objects.exists()


@pytest.mark.django_db
def test_a_token_of_somebody_else_or_of_another_page_is_refused(clerk, lead):
    clerk.post(ADDRESS, customer_data())
    other = Client()
    other.force_login(lead)
    assert other.post(ADDRESS, customer_data()).status_code == 400
    customer = Customer.objects.get()
    change = reverse("shop:customer_change", args=[customer.pk])
    assert clerk.post(change, customer_data(name="New", why="x")).status_code == 400
    assert Customer.objects.get().name == "Low Light Platforms"


@pytest.mark.django_db(transaction=True)
def test_eight_copies_of_one_request_at_once_make_one_record(receiving):
    answers = []

    def post():
        client = Client()
        client.force_login(receiving)
        answers.append(client.post(ADDRESS, customer_data()).headers.get("Location"))
        connection.close()

    threads = [threading.Thread(target=post) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert Customer.objects.count() == 1
    assert set(answers) == {Customer.objects.get().get_absolute_url()}


def photo(kind="JPEG", size=(40, 30), **exif):
    out = io.BytesIO()
    image = Image.new("RGB", size, "teal")
    image.save(out, kind, **exif)
    return SimpleUploadedFile(f"photo.{kind.lower()}", out.getvalue())


@service("see")
def keep_photo(*, act, upload, fail=False):
    row = files.store_photo(act=act, upload=upload)
    if fail:
        raise RuleBroken("no")
    return row


@pytest.mark.django_db
def test_a_photo_is_encoded_anew_without_its_metadata(bench):
    exif = Image.Exif()
    exif[0x010E] = "secret place"
    upload = photo(exif=exif)
    assert b"secret place" in upload.read()
    upload.seek(0)
    row = keep_photo(act=Act(by=bench), upload=upload)
    data = files.read_bytes(row)
    assert b"secret place" not in data
    assert hashlib.sha256(data).hexdigest() == row.sha256
    assert Image.open(io.BytesIO(data)).format == "JPEG"


SCRIPT = b"<script>alert(1)</script>"
BAD = {
    "svg": b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
    "html": SCRIPT,
    "empty": b"",
    "cut short": photo().read()[:200],
    "gif": b"GIF89a" + b"0" * 50,
}


@pytest.mark.django_db
@pytest.mark.parametrize("kind", BAD)
def test_what_is_not_a_photo_is_refused_and_leaves_nothing(bench, settings, kind):
    with pytest.raises(RuleBroken, match="not a photo"):
        keep_photo(act=Act(by=bench), upload=SimpleUploadedFile("x.jpg", BAD[kind]))
    assert not StoredFile.objects.exists()
    assert not [p for p in Path(settings.FILES_DIR).rglob("*") if p.is_file()]


@pytest.mark.django_db
def test_a_script_behind_a_photo_does_not_survive(bench):
    upload = SimpleUploadedFile("x.jpg", photo().read() + SCRIPT)
    assert SCRIPT not in files.read_bytes(keep_photo(act=Act(by=bench), upload=upload))


@pytest.mark.django_db
def test_a_photo_with_too_many_pixels_or_bytes_is_refused(bench, settings):
    settings.PHOTO_LIMIT_PIXELS = 1000
    with pytest.raises(RuleBroken, match="more pixels"):
        keep_photo(act=Act(by=bench), upload=photo())
    settings.UPLOAD_LIMIT_BYTES = 10
    with pytest.raises(RuleBroken, match="larger"):
        keep_photo(act=Act(by=bench), upload=photo())


@pytest.mark.django_db(transaction=True)
def test_a_file_is_in_place_after_the_commit_and_gone_after_a_refusal(settings):
    bench = factories.person("bench")
    row = keep_photo(act=Act(by=bench), upload=photo())
    assert files.place_of(row.sha256).is_file()
    assert files.staged(row.sha256) == []
    with pytest.raises(RuleBroken):
        keep_photo(act=Act(by=bench), upload=photo(size=(50, 50)), fail=True)
    kept = [p for p in Path(settings.FILES_DIR).rglob("*") if p.is_file()]
    assert kept == [files.place_of(row.sha256)]


@pytest.mark.django_db
def test_a_file_changed_on_disk_is_not_served(bench, client):
    row = keep_photo(act=Act(by=bench), upload=photo())
    (path,) = files.staged(row.sha256)
    path.write_bytes(b"something else")
    client.force_login(bench)
    response = client.get(row.get_absolute_url())
    assert response.status_code == 422
    assert "no longer has the bytes" in response.content.decode()


@pytest.mark.django_db
def test_part_of_a_copy_that_a_crash_left_hides_no_whole_one(bench):
    row = keep_photo(act=Act(by=bench), upload=photo())
    (whole,) = files.staged(row.sha256)
    (whole.parent / f"{row.sha256}.0").write_bytes(whole.read_bytes()[:40])
    assert files.staged(row.sha256)[1] == whole
    assert hashlib.sha256(files.read_bytes(row)).hexdigest() == row.sha256
    assert files.checked_path(row) == whole


@pytest.mark.django_db(transaction=True)
def test_files_that_cannot_be_moved_after_the_commit_wait_and_are_read(monkeypatch):
    def full(*_paths):
        raise OSError(28, "No space left on device")

    @service("see")
    def keep_two(*, act):
        told = {"act": act, "kind": "trace", "content_type": "text/plain"}
        return [files.store_bytes(data=data, name="a.csv", **told) for data in (b"one", b"two")]

    with monkeypatch.context() as patch:
        patch.setattr("shop.services.files.os.replace", full)
        rows = keep_two(act=Act(by=factories.person("bench")))
    assert [files.read_bytes(row) for row in rows] == [b"one", b"two"]


@pytest.mark.django_db
def test_files_are_for_people_who_are_signed_in(bench, client):
    row = keep_photo(act=Act(by=bench), upload=photo())
    assert client.get(row.get_absolute_url()).url.startswith("/sign-in/")
    client.force_login(bench)
    response = client.get(row.get_absolute_url())
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"


@pytest.mark.django_db
def test_a_stored_text_is_a_download(bench, client):
    @service("see")
    def keep_text(*, act):
        return files.store_bytes(
            act=act, data=SCRIPT, name="a b.html", kind="trace", content_type="text/html"
        )

    row = keep_text(act=Act(by=bench))
    client.force_login(bench)
    assert client.get(row.get_absolute_url())["Content-Disposition"] == 'attachment; filename="a_b.html"'


@pytest.mark.django_db
def test_a_download_keeps_its_name_in_any_script(bench, client):
    @service("see")
    def keep_text(*, act):
        return files.store_bytes(
            act=act, data=b"1;2", name="圧力\n1.csv", kind="trace", content_type="text/plain"
        )

    row = keep_text(act=Act(by=bench))
    client.force_login(bench)
    how, name = client.get(row.get_absolute_url())["Content-Disposition"].split("; ")
    assert (how, unquote(name)) == ("attachment", "filename*=utf-8''圧力_1.csv")
