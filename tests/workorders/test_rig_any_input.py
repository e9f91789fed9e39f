"""Any request to the address of rigs gives an answer in JSON and one whole record or none, never an error."""

from pathlib import Path

import pytest
from django.conf import settings as site
from django.core.cache import cache
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.models import StoredFile
from shop.services.files import read_bytes
from tests.workorders.rigs import TIGHT, URL, at_the_hold, make_rig
from tests.workorders.test_trace_fuzz import DAMAGE, SOURCES, damaged
from workorders.models import LoggerFile, RigFile

pytestmark = pytest.mark.django_db
ANSWERS = {200, 201, 202, 400, 401, 404, 409, 413, 422, 429}
ALIKE = [HealthCheck.function_scoped_fixture]
WORDS = st.dictionaries(
    st.sampled_from(["serial", "step", "reading", "instrument", "name", "x"]), st.text(max_size=80)
)
HEADERS = st.dictionaries(
    st.sampled_from(
        ["Content-Encoding", "Transfer-Encoding", "Accept", "X-Forwarded-For", "Expect", "Cookie"]
    ),
    st.text(st.characters(min_codepoint=32, max_codepoint=255), max_size=60),
)
PART = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n%s\r\n--x--\r\n'


@pytest.fixture(autouse=True)
def _no_bad_tokens_yet():
    cache.clear()


@pytest.fixture
def secret(lead):
    return make_rig(lead)[1]


@pytest.fixture
def serial(bench):
    return at_the_hold(bench).rebuild.unit.serial


def rows():
    return RigFile.objects.count(), LoggerFile.objects.count(), StoredFile.objects.count()


def files_on_disk():
    return {path.name.split(".")[0] for path in Path(site.FILES_DIR).rglob("*") if path.is_file()}


def whole(before, answer):
    """Check that an answer goes with one whole record or none; return how many rows came."""
    assert answer.status_code in ANSWERS, answer.content
    assert answer.json()["says"]
    new = [now - then for now, then in zip(rows(), before, strict=True)]
    taken, handed = answer.status_code in (201, 202), answer.status_code == 201
    assert new[:2] == [taken, handed]
    assert new[2] <= taken  # the bytes of an earlier file are stored once
    assert files_on_disk() <= set(StoredFile.objects.values_list("sha256", flat=True))
    return taken


@given(
    body=st.one_of(st.binary(max_size=400), st.just(TIGHT), st.text(max_size=300).map(str.encode)),
    query=WORDS,
    more=HEADERS,
    kind=st.sampled_from(
        [
            "text/csv",
            "multipart/form-data",
            "multipart/form-data; boundary=x",
            "application/x-www-form-urlencoded",
            "application/json; charset=nonsense",
        ]
    ),
    length=st.sampled_from([None, "0", "-1", "x", "²", "9" * 20, "9" * 5000]),
    token=st.sampled_from(["good", "bad", ""]) | st.text(max_size=60),
)
@settings(max_examples=120, deadline=None, suppress_health_check=ALIKE)
def test_no_request_breaks_it_or_leaves_half_a_file(secret, body, query, more, kind, length, token):
    before = rows()
    answer = Client().generic(
        "POST",
        URL,
        PART % body if kind.endswith("=x") else body,
        content_type=kind,
        query_params=query,
        headers={**more, "Authorization": f"Bearer {secret if token == 'good' else token}"},
        **({} if length is None else {"CONTENT_LENGTH": length}),
    )
    assert not whole(before, answer) or token == "good"


@given(
    source=st.sampled_from([TIGHT, *SOURCES]),
    damages=st.lists(DAMAGE, max_size=4),
    words=st.sampled_from([{}, {"step": "3"}, {"step": "hold", "instrument": "T-16"}]),
    named=st.booleans(),
)
@settings(max_examples=80, deadline=None, suppress_health_check=ALIKE)
def test_a_damaged_file_is_taken_whole_or_refused(secret, serial, source, damages, words, named):
    before, words = rows(), {**words, **({"serial": serial} if named else {})}
    data = damaged(source, damages)
    known = RigFile.objects.count()
    head = {"Authorization": f"Bearer {secret}"}
    answer = Client().generic("POST", URL, data, content_type="text/csv", query_params=words, headers=head)
    if whole(before, answer):
        row = RigFile.objects.first()
        assert read_bytes(row.file) == data
        again = Client().generic("POST", URL, data, "text/csv", query_params=words, headers=head)
        assert (again.status_code, again.json()) == (200, answer.json())
    assert RigFile.objects.count() <= known + 1
