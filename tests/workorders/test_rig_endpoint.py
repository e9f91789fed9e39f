"""The address where rigs send: what it takes, keeps aside and refuses, and that it takes a file once."""

import hashlib
import json
import re
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from shop.models import StoredFile
from shop.services.files import read_bytes
from shop.services.writing import Act
from tests.factories import NOW, RebuildFactory, UnitFactory
from tests.workorders import bench as at_bench
from tests.workorders.rigs import SLOW, TIGHT, URL, at_the_hold, make_rig, send_trace
from workorders.models import LoggerFile, RigFile, RigRefusal, RigToken
from workorders.services import rig_files, rig_sends, rigs, trace_sources
from workorders.services.testing import sign_test

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _no_bad_tokens_yet():
    cache.clear()


@pytest.fixture
def test(bench):
    return at_the_hold(bench)


@pytest.fixture
def rig_and_secret(lead):
    return make_rig(lead)


@pytest.fixture
def rig(rig_and_secret):
    return rig_and_secret[0]


@pytest.fixture
def secret(rig_and_secret):
    return rig_and_secret[1]


@pytest.fixture
def serial(test):
    return test.rebuild.unit.serial


# -- taken


def test_a_hold_is_handed_in_for_the_step_in_turn(client, test, serial, rig, secret):
    answer = send_trace(client, secret, serial=serial, step="3", name="hold_tight.csv")
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert (told["state"], told["unit"], told["step"], told["reading"]) == ("kept", serial, 3, "decay")
    assert told["sha256"] == hashlib.sha256(TIGHT).hexdigest()
    row = RigFile.objects.get()
    assert read_bytes(row.logger_file.file) == TIGHT
    assert row.logger_file.file.name == "hold_tight.csv"
    assert row.logger_file.pressure_test == test
    assert row.logger_file.instrument == rig.channels.get().instrument
    assert test.results.count() == 2  # it counts only once a person records the step with it


def test_the_record_names_who_made_the_token_and_which_rig_sent_it(client, lead, serial, rig, secret):
    send_trace(client, secret, serial=serial)
    row = RigFile.objects.get()
    history = row.history.get()
    assert (row.by, history.history_user, row.logger_file.by) == (lead, lead, lead)
    assert "sent by rig R-1" in history.history_change_reason
    assert "sent by rig R-1" in row.logger_file.why
    assert RigToken.objects.get().last_used_at is not None


@pytest.mark.parametrize("step", ["", "3", "hold", "HOLD", "Hold at  7 bar"])
def test_the_step_may_be_named_by_number_kind_or_title(client, serial, secret, step):
    answer = send_trace(client, secret, serial=serial, step=step)
    assert (answer.status_code, answer.json()["step"]) == (201, 3)


def test_a_form_carries_file_and_words_as_well(client, serial, secret):
    file = SimpleUploadedFile("C:\\logs\\left bench.csv", TIGHT, "application/octet-stream")
    data = {"file": file, "serial": serial, "step": "3"}
    answer = client.post(URL, data, headers={"Authorization": f"Bearer {secret}"})
    assert answer.status_code == 201, answer.content
    assert StoredFile.objects.get().name == "left bench.csv"


def test_a_serial_may_be_sent_as_it_was_scanned(client, serial, secret):
    scanned = f"HTTP://TERN.EXAMPLE/U/{serial}"
    assert send_trace(client, secret, serial=scanned).json()["unit"] == serial


def test_the_column_of_the_instrument_is_read_and_not_another_one(client, lead, test, serial):
    """Two pressures in one file: the one of the instrument counts, whichever is proposed."""
    rows = "".join(f"{k / 10:.1f};{60 - k / 10000:.4f};{7 - k / 1000:.3f}\n" for k in range(1500))
    data = ("time [s];pump [bar];chamber [bar]\n" + rows).encode()
    first, second = at_bench.transducer(code="T-CH"), at_bench.transducer(code="T-PU")
    rig, secret = make_rig(lead, code="R-2", instrument=first, column="Chamber")
    rigs.mount_instrument(act=Act(by=lead, at=NOW), rig=rig, instrument=second, column="pump")
    rigs_rows = [
        send_trace(client, secret, data, serial=serial, instrument=code).json()["file"]
        for code in ("T-CH", "t-pu")
    ]
    client.force_login(lead)
    decays = []
    for pk in rigs_rows:
        page = client.get(client.get(f"/rigs/files/{pk}/").context["address"])
        decays.append(page.context["open"].files[0].proposal.evaluated.fit.decay_bar_per_min)
    # By construction: 0.001 bar per 0.1 s, and 0.0001 bar per 0.1 s.
    assert decays == pytest.approx([0.6, 0.06], rel=0.02)


# -- once


def test_the_same_file_again_is_the_same_answer_and_nothing_is_doubled(client, serial, secret):
    first = send_trace(client, secret, serial=serial, step="3")
    again = send_trace(client, secret, serial=serial.lower(), step=" 3 ")
    other_words = send_trace(client, secret, serial=serial, step="Hold")
    assert (first.status_code, again.status_code, other_words.status_code) == (201, 200, 200)
    assert first.json() == again.json() == other_words.json()
    assert RigFile.objects.count() == LoggerFile.objects.count() == StoredFile.objects.count() == 1


def test_the_answer_stays_after_the_step_is_recorded_and_the_test_is_over(
    client, bench, test, serial, secret
):
    first = send_trace(client, secret, serial=serial)
    logger_file = LoggerFile.objects.get()
    at_bench.record(bench, test, logger_file.limit.step, decay=at_bench.trace_entry(logger_file))
    again = send_trace(client, secret, serial=serial)
    assert (again.status_code, again.json()) == (200, first.json())


def test_another_file_for_the_same_step_is_taken_too(client, serial, secret):
    assert send_trace(client, secret, serial=serial).status_code == 201
    assert send_trace(client, secret, SLOW, serial=serial).status_code == 201
    assert LoggerFile.objects.count() == 2


# -- kept aside: right, but too early or saying too little


def test_a_hold_that_comes_before_anybody_pressed_start_is_not_lost(client, secret):
    unit = at_bench.ready_rebuild().unit
    answer = send_trace(client, secret, serial=unit.serial, step="3")
    assert (answer.status_code, answer.json()["state"]) == (202, "aside")
    assert f"No test of {unit} runs." in answer.json()["says"]
    assert read_bytes(RigFile.objects.get().file) == TIGHT
    assert not LoggerFile.objects.exists()
    assert send_trace(client, secret, serial=unit.serial, step="3").status_code == 200


@pytest.mark.parametrize(
    ("query", "because"),
    [
        ({}, "did not say which unit"),
        ({"serial": True, "step": "3"}, "is not in turn: 1. Low-pressure leak comes first"),
        ({"serial": True}, "Step 1. Low-pressure leak is in turn, and takes no logger file"),
    ],
)
def test_what_comes_early_or_says_too_little_is_kept_aside(client, bench, secret, query, because):
    test = at_bench.started(bench)
    words = {**query, **({"serial": test.rebuild.unit.serial} if "serial" in query else {})}
    answer = send_trace(client, secret, **words)
    assert answer.status_code == 202
    assert because in answer.json()["says"]
    assert RigFile.objects.get().state == "aside"


def test_a_file_for_a_test_that_is_signed_is_kept_aside(client, bench, secret):
    test = at_bench.started(bench)
    at_bench.record_all(bench, test)
    sign_test(act=Act(by=bench, at=NOW), test=test, fluid_left=test.rig_fluid)
    answer = send_trace(client, secret, serial=test.rebuild.unit.serial, step="3")
    assert (answer.status_code, answer.json()["state"]) == (202, "aside")
    assert f"Test {test.number} of {test.rebuild.unit} is signed" in answer.json()["says"]
    assert not LoggerFile.objects.exists()


def test_a_rig_that_does_not_say_which_of_two_instruments_wrote_it(client, lead, serial, rig, secret):
    rigs.mount_instrument(act=Act(by=lead, at=NOW), rig=rig, instrument=at_bench.transducer(code="T-2"))
    answer = send_trace(client, secret, serial=serial)
    assert answer.status_code == 202
    assert "2 pressure instruments are mounted on R-1" in answer.json()["says"]
    assert send_trace(client, secret, serial=serial, instrument="T-2").status_code == 201


def test_a_file_without_the_column_of_its_instrument_is_kept_aside(client, lead, serial):
    _rig, secret = make_rig(lead, code="R-3", column="left chamber")
    answer = send_trace(client, secret, serial=serial)
    assert answer.status_code == 202
    assert "has no column “left chamber”" in answer.json()["says"]


# -- refused: wrong, and nothing is kept


@pytest.mark.parametrize(
    ("data", "query", "status", "error"),
    [
        (b"", {}, 400, "empty"),
        (b"not a trace at all\n", {"serial": True}, 422, "not_readable"),
        (b"\x00\xff\xfe\x01" * 50, {"serial": True}, 422, "not_readable"),
        (TIGHT, {"serial": "ABC 123"}, 404, "unknown_unit"),
        (TIGHT, {"serial": True, "step": "17"}, 404, "unknown_step"),
        (TIGHT, {"serial": True, "step": "2"}, 422, "no_file_wanted"),
        (TIGHT, {"serial": True, "reading": "speed"}, 404, "unknown_reading"),
        (TIGHT, {"serial": True, "instrument": "NONE-1"}, 404, "unknown_instrument"),
        (TIGHT, {"serial": True, "step": "x" * 61}, 400, "bad_parameter"),
        (TIGHT, {"serial": True, "step": "3\x00"}, 400, "bad_parameter"),
    ],
)
def test_what_is_wrong_is_refused_with_a_sentence_and_listed(
    client, serial, rig, secret, data, query, status, error
):
    words = {**query, **({"serial": serial} if query.get("serial") is True else {})}
    answer = send_trace(client, secret, data, **words)
    assert (answer.status_code, answer.json()["error"]) == (status, error)
    assert answer.json()["says"]
    assert not RigFile.objects.exists()
    assert not StoredFile.objects.exists()
    refusal = RigRefusal.objects.get(rig=rig)
    assert (refusal.status, refusal.why) == (status, answer.json()["says"][:300])


def test_an_instrument_that_is_not_on_the_rig_is_refused(client, serial, secret):
    at_bench.transducer(code="T-9")
    answer = send_trace(client, secret, serial=serial, instrument="T-9")
    assert (answer.status_code, answer.json()["error"]) == (422, "not_mounted")


def test_a_unit_that_is_not_in_the_shop_is_refused(client, secret):
    gone = RebuildFactory(unit=UnitFactory(), stage="scrapped", exit_reason="cracked")
    answer = send_trace(client, secret, serial=gone.unit.serial)
    assert (answer.status_code, answer.json()["error"]) == (409, "unit_not_here")


def test_a_retired_rig_is_refused(client, lead, serial, rig, secret):
    rigs.save_rig(act=Act(by=lead, at=NOW, why="sold"), rig=rig, retired=True)
    answer = send_trace(client, secret, serial=serial)
    assert (answer.status_code, answer.json()["error"]) == (409, "rig_retired")


@pytest.mark.parametrize("form", [False, True])
def test_a_file_above_the_limit_is_refused(client, settings, serial, secret, form):
    settings.UPLOAD_LIMIT_BYTES = settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    if form:
        data = {"file": SimpleUploadedFile("a.csv", TIGHT), "serial": serial}
        answer = client.post(URL, data, headers={"Authorization": f"Bearer {secret}"})
    else:
        answer = send_trace(client, secret, serial=serial)
    assert (answer.status_code, answer.json()["error"]) == (413, "too_large")
    assert not StoredFile.objects.exists()


def test_a_file_may_be_larger_than_what_a_form_may_hold(client, settings, serial, secret):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    assert send_trace(client, secret, serial=serial).status_code == 201
    file = SimpleUploadedFile("b.csv", SLOW)
    head = {"Authorization": f"Bearer {secret}"}
    assert client.post(URL, {"file": file, "serial": serial}, headers=head).status_code == 201


def test_the_columns_of_a_long_file_are_kept_on_disk_and_read_once(client, serial, secret, monkeypatch):
    monkeypatch.setattr(trace_sources, "LONG_BYTES", 1000)
    monkeypatch.setattr(trace_sources, "source_of", None)  # it would stay in memory
    assert send_trace(client, secret, serial=serial).status_code == 201
    folder = trace_sources.kept_folder(trace_sources.columns_folder(), hashlib.sha256(TIGHT).hexdigest())
    assert folder.exists()
    monkeypatch.setattr(trace_sources, "read_source", None)
    shown = trace_sources.stored_source(LoggerFile.objects.get().file)
    assert len(shown.columns[0].values) == len(TIGHT.splitlines())


def test_a_body_that_broke_off_is_refused(client, serial, secret):
    length, cut = str(len(TIGHT)), BytesIO(TIGHT[:20_000])
    told = {"CONTENT_LENGTH": length, "wsgi.input": cut}
    head = {"Authorization": f"Bearer {secret}"}
    answer = client.generic("POST", f"{URL}?serial={serial}", b"", headers=head, **told)
    assert (answer.status_code, answer.json()["error"]) == (400, "not_whole")
    assert not StoredFile.objects.exists()


def test_a_form_without_a_file_and_one_with_two_are_refused(client, serial, secret):
    for files in ({}, {"a": SimpleUploadedFile("a.csv", TIGHT), "b": SimpleUploadedFile("b.csv", SLOW)}):
        answer = client.post(URL, {"serial": serial, **files}, headers={"Authorization": f"Bearer {secret}"})
        assert (answer.status_code, answer.json()["error"]) == (400, "one_file")


def test_a_refusal_that_repeats_itself_is_listed_once(client, secret):
    for _ in range(3):
        send_trace(client, secret, b"nonsense", serial="")
    assert RigRefusal.objects.count() == 1


@pytest.mark.parametrize("method", ["GET", "HEAD", "PUT", "PATCH", "DELETE", "OPTIONS"])
def test_another_method_than_post_is_refused(client, secret, method):
    answer = client.generic(method, URL, TIGHT, headers={"Authorization": f"Bearer {secret}"})
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert not RigFile.objects.exists()


@pytest.mark.parametrize("told", ["99999999999", "9" * 20, "9" * 5000, "0" * 30 + "9" * 19])
@pytest.mark.parametrize("kind", ["text/csv", "multipart/form-data; boundary=x"])
def test_a_length_above_the_limit_is_refused_before_anything_is_read(client, serial, secret, told, kind):
    head = {"Authorization": f"Bearer {secret}"}
    answer = client.generic("POST", URL, TIGHT, content_type=kind, headers=head, CONTENT_LENGTH=told)
    assert (answer.status_code, answer.json()["error"]) == (413, "too_large")


# -- tokens


@pytest.mark.parametrize("given_token", [None, "", "wrong", "ü" * 43, "a" * 43])
def test_without_a_good_token_nothing_is_read(client, serial, rig, given_token):
    answer = send_trace(client, given_token, serial=serial)
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Bearer")
    assert not RigFile.objects.exists()
    assert not RigRefusal.objects.exists()


def test_a_person_signed_in_needs_a_token_all_the_same(client, lead, serial):
    client.force_login(lead)
    assert send_trace(client, None, serial=serial).status_code == 401


def test_a_revoked_token_is_not_good_and_the_new_one_is(client, lead, serial, rig, secret):
    act = Act(by=lead, at=NOW, why="the logger PC was sold")
    old = RigToken.objects.get()
    _row, new = rigs.make_token(act=act, rig=rig, used_for="new logger PC")
    assert send_trace(client, secret, serial=serial).status_code == 201  # both good while it changes
    rigs.revoke_token(act=act, token=old)
    assert send_trace(client, secret, SLOW, serial=serial).status_code == 401
    assert send_trace(client, new, SLOW, serial=serial).status_code == 201


@pytest.mark.parametrize(
    ("done", "status", "error"), [("revoke", 401, "no_good_token"), ("retire", 409, "rig_retired")]
)
def test_what_is_revoked_or_retired_while_a_file_is_read_counts_at_once(
    client, lead, serial, rig, secret, monkeypatch, done, status, error
):
    act = Act(by=lead, at=NOW, why="seen by everybody")

    def read(*args):
        if done == "revoke":
            rigs.revoke_token(act=act, token=RigToken.objects.get())
        else:
            rigs.save_rig(act=act, rig=rig, retired=True)
        return rig_sends.read_sent(*args)

    monkeypatch.setattr(rig_files, "read_sent", read)
    answer = send_trace(client, secret, serial=serial)
    assert (answer.status_code, answer.json()["error"]) == (status, error)
    assert not StoredFile.objects.exists()
    assert RigRefusal.objects.get(rig=rig).status == status


def test_a_token_whose_maker_may_no_longer_test_is_refused(client, lead, serial, secret):
    lead.is_active = False
    lead.save()
    answer = send_trace(client, secret, serial=serial)
    assert (answer.status_code, answer.json()["error"]) == (403, "token_without_person")
    assert not RigFile.objects.exists()


@pytest.mark.parametrize(("days", "taken"), [(0, True), (1, True), (-1, False)])
def test_a_token_is_taken_on_its_last_day_and_not_after_it(client, serial, rig, secret, days, taken):
    """The day is that of the shop's clock, when the file comes."""
    today = timezone.localdate()
    token = RigToken.objects.get()
    token.last_day = today + timedelta(days=days)
    token.save()
    answer = send_trace(client, secret, serial=serial)
    if taken:
        assert answer.status_code == 201
        return
    assert (answer.status_code, answer.json()["error"]) == (403, "token_ended")
    assert f"was taken until {token.last_day:%d %b %Y}; the lead makes a new one" in answer.json()["says"]
    assert not RigFile.objects.exists()
    assert not StoredFile.objects.exists()
    refusal = RigRefusal.objects.get(rig=rig)
    assert (refusal.status, refusal.why) == (403, answer.json()["says"])


def test_many_bad_tokens_are_answered_with_a_wait_and_a_good_one_is_not(client, serial, secret):
    answers = [send_trace(client, "bad", serial=serial).status_code for _ in range(22)]
    assert answers == [401] * 20 + [429] * 2
    assert send_trace(client, "bad", serial=serial)["Retry-After"] == "600"
    assert send_trace(client, secret, serial=serial).status_code == 201


def test_only_the_digest_of_a_token_is_kept(rig, secret):
    row = RigToken.objects.get()
    assert row.digest == hashlib.sha256(secret.encode()).hexdigest()
    stored = json.dumps([str(value) for value in RigToken.history.values()] + [str(vars(row))])
    assert secret not in stored


def test_every_refusal_is_documented():
    """Each code that the endpoint answers with stands in the published contract."""
    text = (Path(__file__).parents[2] / "docs" / "rig.md").read_text()
    sources = [Path(rig_sends.__file__), Path(rig_sends.__file__).with_name("rig_files.py")]
    sources.append(Path(__file__).parents[2] / "workorders" / "views" / "rig_endpoint.py")
    codes = {code for path in sources for code in re.findall(r'Refused\(\s*\d+,\s*"(\w+)"', path.read_text())}
    assert len(codes) > 12
    assert [code for code in sorted(codes) if f"`{code}`" not in text] == []
