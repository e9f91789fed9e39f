"""The command that sends as a rig does: tries again while nobody answers, and only then."""

import io
from unittest import mock

import pytest
from django.core.management import CommandError, call_command

from workorders.management.commands import send_trace

GOOD = (201, "Handed in.")


@pytest.fixture
def files(tmp_path):
    (tmp_path / "hold.csv").write_text("t;p\n0;1\n")
    (tmp_path / "token").write_text("secret\n")
    return tmp_path


def run(files, answers, **options):
    """Send against a row of answers; return what is printed, the waits, and the requests."""
    out, waits = io.StringIO(), []
    known = {"to": "http://shop.example/", "token_file": files / "token", **options}
    with (
        mock.patch.object(send_trace, "_ask", side_effect=answers) as asked,
        mock.patch.object(send_trace.time, "sleep", waits.append),
    ):
        try:
            call_command("send_trace", files / "hold.csv", stdout=out, stderr=io.StringIO(), **known)
            said = out.getvalue().strip()
        except CommandError as error:
            said = error
    return said, waits, asked.call_args_list


def test_it_sends_the_bytes_with_the_token_and_the_words(files):
    said, waits, asked = run(files, [GOOD], serial="7F3 K9Q XM2", step="3")
    assert (said, waits) == ("Handed in.", [])
    address, data, token = asked[0].args
    assert address == "http://shop.example/rig/traces?serial=7F3+K9Q+XM2&step=3&name=hold.csv"
    assert (data, token) == (b"t;p\n0;1\n", "secret")


def test_it_tries_again_with_longer_waits_while_nobody_answers(files):
    said, waits, asked = run(files, [(0, "No answer."), (503, "?"), (429, "Wait."), GOOD])
    assert said == "Handed in."
    assert len(asked) == 4
    assert [round(wait / base, 1) for wait, base in zip(waits, (2, 4, 8), strict=True)] == pytest.approx(
        [1, 1, 1], abs=0.21
    )


@pytest.mark.parametrize("status", [400, 401, 403, 404, 409, 413, 422])
def test_a_refusal_is_not_tried_again(files, status):
    said, waits, asked = run(files, [(status, "Because.")])
    assert isinstance(said, CommandError)
    assert str(said) == f"Refused ({status}): Because."
    assert (waits, len(asked)) == ([], 1)


def test_it_gives_up_after_all_tries_and_says_so(files):
    said, waits, asked = run(files, [(0, "No answer.")] * 3, tries=3)
    assert "Not sent after 3 tries. No answer." in str(said)
    assert (len(waits), len(asked)) == (2, 3)


@pytest.mark.parametrize("address", ["shop.example", "file:///etc/passwd", "ftp://x"])
def test_an_address_that_is_none_is_refused(files, address):
    said, _waits, asked = run(files, [], to=address)
    assert "no address of a shop" in str(said)
    assert asked == []


def test_nobody_at_the_address_is_told(files):
    status, says = send_trace._ask("http://127.0.0.1:9/rig/traces", b"x", "t")
    assert status == 0
    assert "No answer from 127.0.0.1:9" in says
