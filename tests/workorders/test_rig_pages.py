"""The pages of rigs: the register, tokens, files handed in or dismissed by a person, what shows by itself."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests import factories
from tests.asking import rows, send
from tests.workorders import bench as at_bench
from tests.workorders.rigs import SLOW, at_the_hold, make_rig, send_trace, url
from tests.writes import (
    Write,
    check_get,
    check_refused,
    check_signed_out,
    check_twice,
    check_unknown,
    check_works,
    check_wrong_role,
)
from workorders.models import LoggerFile, Rig, RigChannel, RigFile, RigToken
from workorders.services import rigs

pytestmark = pytest.mark.django_db


@pytest.fixture
def rig_and_secret(lead):
    return make_rig(lead, code="R-1")


@pytest.fixture
def rig(rig_and_secret):
    return rig_and_secret[0]


@pytest.fixture
def aside(client, rig_and_secret):
    """A file that was sent without saying of which unit it is."""
    assert send_trace(client, rig_and_secret[1]).status_code == 202
    return RigFile.objects.get()


RIG = {"code": "R-7", "name": "Big rig", "place": "yard", "fluid": "", "note": ""}


def writes(rig, aside):
    """One of each page that writes, but for the token, which is shown in place of a redirect."""
    test = at_the_hold(factories.person("bench"))
    limit = at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]
    channel, token = rig.channels.get(), rig.tokens.get()
    own = {"role": "lead", "refused_role": "bench"}
    bench = {"role": "bench", "refused_role": "stores"}
    return {
        "new": Write(
            url=url("rig_new"), data=RIG, bad={"code": ""}, broken={"code": "R-1"}, history=Rig.history, **own
        ),
        "change": Write(
            url=url("rig_change", rig.pk),
            data={**RIG, "code": "R-1", "why": "moved to the yard"},
            bad={"why": ""},
            broken={"code": "R 1"},
            unknown=url("rig_change", 10**6),
            history=Rig.history,
            why="moved to the yard",
            **own,
        ),
        "mount": Write(
            url=url("rig_mount", rig.pk),
            data={"instrument": at_bench.gauge().pk, "column": "p2"},
            bad={"instrument": channel.instrument_id},  # mounted already
            unknown=url("rig_mount", 10**6),
            history=RigChannel.history,
            **own,
        ),
        "take off": Write(
            url=url("rig_take_off", rig.pk, channel.pk),
            data={"why": "sent to be calibrated"},
            bad={"why": ""},
            unknown=url("rig_take_off", 10**6, channel.pk),
            history=RigChannel.history,
            why="sent to be calibrated",
            **own,
        ),
        "revoke": Write(
            url=url("rig_token_revoke", rig.pk, token.pk),
            data={"why": "left on a note"},
            bad={"why": ""},
            unknown=url("rig_token_revoke", rig.pk, 10**6),
            history=RigToken.history,
            why="left on a note",
            **own,
        ),
        "hand in": Write(
            url=url("rig_file_give", aside.pk),
            data={"reading": f"{test.pk}-{limit.pk}", "instrument": channel.instrument_id},
            bad={"reading": "1-1"},
            unknown=url("rig_file_give", 10**6),
            history=RigFile.history,
            **bench,
        ),
        "dismiss": Write(
            url=url("rig_file_dismiss", aside.pk),
            data={"why": "a trial of the logger"},
            bad={"why": ""},
            unknown=url("rig_file_dismiss", 10**6),
            history=RigFile.history,
            why="a trial of the logger",
            **bench,
        ),
    }


NAMES = ("new", "change", "mount", "take off", "revoke", "hand in", "dismiss")


@pytest.mark.parametrize("name", NAMES)
def test_each_page_that_writes(client, rig, aside, name):
    write = writes(rig, aside)[name]
    check_get(client, write)
    client.logout()
    check_signed_out(client, write)
    check_wrong_role(client, write)
    if write.unknown:
        check_unknown(client, write)
    check_refused(client, write, write.bad)
    if write.broken:
        check_refused(client, write, write.broken)
    check_works(client, write)


@pytest.mark.parametrize("name", NAMES)
def test_each_form_sent_twice_makes_one_record(client, rig, aside, name):
    check_twice(client, writes(rig, aside)[name])


# -- tokens


def test_a_token_is_shown_once_and_a_second_submit_shows_none(client, lead, rig):
    client.force_login(lead)
    form_token = uuid.uuid4().hex
    address = url("rig_token_new", rig.pk)
    first = send(client, address, {"used_for": "tablet"}, token=form_token)
    secret = first.context["secret"]
    assert (first.status_code, len(secret)) == (201, 43)
    assert secret in first.content.decode()
    assert "no-store" in first["Cache-Control"]
    second = send(client, address, {"used_for": "tablet"}, token=form_token)
    assert (second.status_code, second.url) == (302, rig.get_absolute_url())
    assert RigToken.objects.filter(used_for="tablet").count() == 1
    page = client.get(rig.get_absolute_url()).content.decode()
    assert secret not in page
    assert f"{secret[:4]}…" in page


@pytest.mark.parametrize("role", ["bench", "stores"])
def test_only_the_lead_makes_tokens(client, rig, role):
    client.force_login(factories.person(role))
    before = rows()
    assert send(client, url("rig_token_new", rig.pk), {"used_for": "x"}).status_code == 403
    assert rows() == before


def test_a_token_without_a_place_is_refused(client, lead, rig):
    client.force_login(lead)
    answer = send(client, url("rig_token_new", rig.pk), {"used_for": ""})
    assert answer.status_code == 422
    assert RigToken.objects.count() == 1


def test_a_new_token_is_proposed_to_end_in_a_year(client, lead, rig, settings):
    client.force_login(lead)
    settings.RIG_TOKEN_DAYS = 365
    page = client.get(url("rig_token_new", rig.pk))
    in_a_year = timezone.localdate() + timedelta(days=365)
    assert f'name="last_day" value="{in_a_year.isoformat()}"' in page.content.decode()
    sent = {"used_for": "tablet", "last_day": in_a_year.isoformat()}
    made = send(client, url("rig_token_new", rig.pk), sent)
    assert f"It is taken until {in_a_year:%d %b %Y}." in made.content.decode()
    assert RigToken.objects.get(used_for="tablet").last_day == in_a_year
    assert RigToken.history.get(used_for="tablet").last_day == in_a_year
    assert f"{in_a_year:%d %b %Y}" in client.get(rig.get_absolute_url()).content.decode()


def test_a_token_that_ends_before_it_begins_is_refused(client, lead, rig):
    client.force_login(lead)
    past = timezone.localdate() - timedelta(days=1)
    answer = send(client, url("rig_token_new", rig.pk), {"used_for": "tablet", "last_day": past.isoformat()})
    assert answer.status_code == 422
    assert "This day is past; nothing would ever be taken with it." in answer.content.decode()
    assert RigToken.objects.count() == 1


@pytest.mark.parametrize(
    ("days", "mark"), [(None, "good"), (31, "good"), (29, "ends soon"), (0, "ends soon"), (-1, "ended")]
)
def test_the_page_of_a_rig_says_which_token_ends(client, lead, rig, days, mark):
    client.force_login(lead)
    token = RigToken.objects.get()
    token.last_day = None if days is None else timezone.localdate() + timedelta(days=days)
    token.save()
    page = client.get(rig.get_absolute_url())
    ((_token, _stands, ends),) = page.context["tokens"]
    assert (ends or "good") == mark
    assert ("no last day" in page.content.decode()) == (days is None)


def test_the_page_of_a_rig_names_what_was_refused_and_a_maker_who_left(client, lead, rig_and_secret):
    rig, secret = rig_and_secret
    send_trace(client, secret, b"no trace", serial="")
    lead.is_active = False
    lead.save()
    client.force_login(factories.person("bench"))
    page = client.get(rig.get_absolute_url()).content.decode()
    assert "may no longer hand in files" in page
    assert "(422, token" in page


# -- handed in by a person


def test_a_file_kept_aside_is_handed_in_and_shown_for_confirmation(client, rig, aside):
    write = writes(rig, aside)["hand in"]
    client.force_login(factories.person("bench"))
    answer = send(client, write.url, write.data)
    assert answer.status_code == 302
    logger_file = LoggerFile.objects.get()
    assert f"-file={logger_file.pk}" in answer.url
    page = client.get(answer.url)
    assert page.context["open"].files[0].proposal.outcome.verdict == "passes"
    assert logger_file.file == aside.file  # the very bytes that arrived
    again = send(client, write.url, write.data)
    assert again.status_code == 422
    assert "handed in for a step already" in again.content.decode()


def test_another_unit_than_the_rig_named_needs_a_reason(client, bench, rig_and_secret):
    test = at_the_hold(bench)
    other = at_bench.ready_rebuild().unit
    send_trace(client, rig_and_secret[1], serial=other.serial)
    row = RigFile.objects.get()
    limit = at_bench.limits_of(at_bench.steps_of(test)[2])["decay"]
    data = {"reading": f"{test.pk}-{limit.pk}", "instrument": row.instrument_id}
    client.force_login(bench)
    answer = send(client, url("rig_file_give", row.pk), data)
    assert answer.status_code == 422
    assert f"The rig said it is of {other}" in answer.content.decode()
    answer = send(client, url("rig_file_give", row.pk), {**data, "why": "the wrong label was scanned"})
    assert answer.status_code == 302
    assert RigFile.history.latest("history_id").history_change_reason == "the wrong label was scanned"


def test_a_dismissed_file_is_taken_up_again(client, rig, aside):
    write = writes(rig, aside)["dismiss"]
    client.force_login(factories.person("bench"))
    send(client, write.url, write.data)
    assert RigFile.objects.get().state == "dismissed"
    assert send(client, write.url, write.data).status_code == 422
    assert "Take it up again" in client.get(aside.get_absolute_url()).content.decode()
    send(client, url("rig_file_take_up", aside.pk))
    row = RigFile.objects.get()
    assert (row.state, row.history.count()) == ("aside", 3)
    assert send(client, url("rig_file_take_up", aside.pk)).status_code == 422


# -- shown as it arrives


def poll(client, page, seen):
    return client.get(page, {"seen": seen}, headers={"HX-Request": "true"})


def test_the_page_of_a_test_is_quiet_until_something_comes(client, bench, rig_and_secret):
    test = at_the_hold(bench)
    client.force_login(bench)
    page = client.get(test.get_absolute_url())
    seen = page.context["from_rigs"].seen
    assert 'hx-trigger="every 4s"' in page.content.decode()
    assert poll(client, test.get_absolute_url(), seen).status_code == 204
    serial = test.rebuild.unit.serial
    send_trace(client, rig_and_secret[1], serial=serial, name="left.csv")
    answer = poll(client, test.get_absolute_url(), seen)
    body = answer.content.decode()
    assert (answer.status_code, answer["X-Part"]) == (200, "from-rigs")
    assert "<h1" not in body
    assert "left.csv" in body
    assert 'hx-swap-oob="innerHTML"' in body
    (row, address), *_rest = answer.context["from_rigs"].lines
    assert address.replace("&", "&amp;") in body
    assert client.get(address).context["open"].files[0].logger_file == row.logger_file
    now = answer.context["from_rigs"].seen
    assert poll(client, test.get_absolute_url(), now).status_code == 204
    at_bench.record(bench, test, row.logger_file.limit.step, decay=at_bench.trace_entry(row.logger_file))
    assert poll(client, test.get_absolute_url(), now).status_code == 200  # its state changed


def test_a_shop_without_rigs_shows_nothing_of_them_on_a_test(client, bench):
    test = at_the_hold(bench)
    client.force_login(bench)
    assert "From the rig" not in client.get(test.get_absolute_url()).content.decode()


def test_the_files_of_another_unit_are_not_shown(client, bench, rig_and_secret):
    test, other = at_the_hold(bench), at_the_hold(bench)
    send_trace(client, rig_and_secret[1], serial=other.rebuild.unit.serial, name="other.csv")
    client.force_login(bench)
    assert "other.csv" not in client.get(test.get_absolute_url()).content.decode()


def test_an_unused_file_names_the_rig_and_not_who_made_its_token(client, bench, rig_and_secret):
    test = at_the_hold(bench)
    for data in (None, SLOW):
        more = {} if data is None else {"data": data}
        send_trace(client, rig_and_secret[1], serial=test.rebuild.unit.serial, **more)
    client.force_login(bench)
    assert "sent by rig R-1" in client.get(test.get_absolute_url()).content.decode()


def test_lists_cost_the_same_for_few_and_many(client, bench, rig_and_secret):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.force_login(bench)
    counts = []
    for turn in range(2):
        for number in range(3):
            send_trace(
                client, rig_and_secret[1], name=f"{turn}{number}", instrument="", step=f"{turn}{number}"
            )
        with CaptureQueriesContext(connection) as asked:
            assert client.get(url("rig_files") + "?show=all").status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]
    assert RigFile.objects.count() == 6


# -- the start of a test


def test_the_fluid_of_the_rig_is_proposed_where_it_may_run(client, bench, lead, rig):
    rebuild = at_bench.ready_rebuild()
    client.force_login(bench)
    page = reverse("workorders:test_start", args=[rebuild.pk])
    checks = client.get(page).context["checks"]
    good = next(check.fluid for check in checks if check.may_run)
    rigs.save_rig(act=at_bench.Act(by=lead, at=factories.NOW, why="filled"), rig=rig, fluid=good)
    answer = client.get(page)
    assert answer.context["on_rig"] == rig
    assert answer.context["form"].initial["rig_fluid"] == good.pk
    assert "The fluid of R-1 is proposed" in answer.content.decode()
