"""What the database itself refuses of rigs, whoever writes past the services, and what people are told."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from tests.factories import NOW, person
from tests.workorders.rigs import TIGHT, make_rig
from workorders.models import Rig, RigChannel, RigFile, RigRefusal, RigToken
from workorders.services.rig_files import receive_file
from workorders.services.rig_sends import Sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def rows():
    """A rig with all that belongs to it."""
    rig, _secret = make_rig()
    token = rig.tokens.get()
    file, _made = receive_file(token=token, sent=Sent(data=TIGHT), at=NOW)
    refusal = {"rig": rig, "token": token, "status": 404, "by": token.made_by, "at": NOW}
    return {"rig": rig, "token": token, "channel": rig.channels.get(), "file": file, "refusal": refusal}


def copy_of(row, **changes):
    """The same row once more, not saved, with changes."""
    fields = {
        field.attname: getattr(row, field.attname)
        for field in row._meta.concrete_fields
        if not field.primary_key
    }
    return type(row)(**{**fields, **changes})


CASES = {
    "workorders_rig_code_form": lambda w: Rig(code="R 1", name="x"),
    "workorders_rigchannel_instrument_once": lambda w: copy_of(w["channel"]),
    "workorders_rigtoken_digest_form": lambda w: copy_of(w["token"], digest="the secret itself"),
    "workorders_rigtoken_revoked_whole": lambda w: copy_of(w["token"], digest="0" * 64, revoked_at=NOW),
    "workorders_rigfile_once": lambda w: copy_of(w["file"]),
    "workorders_rigfile_reasoned": lambda w: copy_of(w["file"], told="x", aside_because=""),
    "workorders_rigfile_dismissed_whole": lambda w: copy_of(
        w["file"], told="x", dismissed_at=NOW, dismissed_by_id=person("bench").pk
    ),
    "workorders_rigrefusal_reasoned": lambda w: RigRefusal(**w["refusal"], why=""),
}


@pytest.mark.parametrize("name", CASES)
def test_the_database_refuses_it_and_the_message_says_what_to_do(rows, name):
    row = CASES[name](rows)
    with pytest.raises(IntegrityError), transaction.atomic():
        type(row).objects.bulk_create([row])
    constraint = next(each for each in row._meta.constraints if each.name == name)
    with pytest.raises(ValidationError) as refused:
        row.validate_constraints()
    assert constraint.violation_error_message in refused.value.messages or "already exists" in str(
        refused.value
    )


def test_every_constraint_of_rigs_is_tried():
    models = (Rig, RigChannel, RigToken, RigFile, RigRefusal)
    assert {each.name for model in models for each in model._meta.constraints} == set(CASES)
