"""Archives that are not whole or not for here, and places that are not empty: nothing is touched."""

import os

import pytest
from django.db import connection

from shop.backup import restoring
from shop.backup.archive import check_archive, opened
from shop.backup.manifest import BackupError
from shop.backup.sqlite import Sqlite
from tests.shop.backup import archives
from tests.shop.backup.archives import first_file, without_a_file

pytestmark = pytest.mark.django_db


def change_a_file(name, data):
    return b"x" + data[1:] if name.startswith("files/") else data


def lengthen_a_file(name, data):
    return data + b"x" if name.startswith("files/") else data


def change_the_database(name, data):
    return data[:-1] + bytes([data[-1] ^ 1]) if name.startswith("database") else data


def climb_out(found):
    name = first_file(found["members"])
    found["members"]["../" * 3 + "taken"] = found["members"].pop(name)


def rename_out(members):
    old = first_file(name for name, _data in members)
    return [("../" * 3 + "taken" if name == old else name, data) for name, data in members]


def swap_digests(found):
    names = [name for name in found["members"] if name.startswith("files/")]
    one, other = (found["members"][name] for name in names[:2])
    found["members"][names[0]], found["members"][names[1]] = other, one


WRONG = {
    "a file changed": (dict(contents=change_a_file), "is not as it was written"),
    "the database changed": (dict(contents=change_the_database), "is not as it was written"),
    "a file longer": (dict(contents=lengthen_a_file), "is not as it was written"),
    "a member missing": (dict(names=without_a_file), "The archive lacks 'files/"),
    "a member more": (dict(names=lambda found: [*found, ("more", b"")]), "not in its list.*'more'"),
    "a path out of the folder": (dict(names=rename_out, manifest=climb_out), "no known kind"),
    "a path not listed": (dict(names=rename_out), r"not in its list.*'\.\./"),
    "digests swapped": (dict(manifest=swap_digests), "another digest than its name"),
    "no list": (dict(names=lambda found: found[:-1]), "has no list of contents"),
    "a list that is none": (dict(manifest=lambda found: [1]), "list of contents cannot be read"),
    "a list without rows": (dict(manifest=lambda found: found.pop("rows") and None), "cannot be read"),
    "another format": (dict(manifest=lambda found: found.update(format=2)), "has format 2.*reads format 1"),
    "a newer program": (
        dict(manifest=lambda found: found["migrations"].append("shop.9999_later")),
        "newer version of the program.*shop.9999_later",
    ),
    "rows that are not there": (
        dict(manifest=lambda found: found["rows"].update(shop_customer=10_000)),
        "shop_customer has .* instead of 10000",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_archive_is_refused_and_nothing_is_touched(case, archive, place, tmp_path):
    changes, said = WRONG[case]
    wrong = archives.rewritten(archive, tmp_path / "wrong.zip", **changes)
    with pytest.raises(BackupError, match=said):
        place.restore(wrong)
    assert place.untouched()
    assert not (tmp_path / "taken").exists()


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_members_of_one_name_are_refused(archive, place, tmp_path):
    twice = archives.rewritten(archive, tmp_path / "twice.zip", names=lambda found: [*found, found[0]])
    with pytest.raises(BackupError, match="two members of the same name"):
        place.restore(twice)
    assert place.untouched()


def test_an_unchanged_copy_is_sound(archive, place, tmp_path):
    same = archives.rewritten(archive, tmp_path / "same.zip")
    assert check_archive(same) == check_archive(archive)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.999])
def test_an_archive_cut_short_is_refused(share, archive, place, tmp_path):
    short = tmp_path / "short.zip"
    archives.shortened(archive, short, bytes_left=int(share * archive.stat().st_size))
    with pytest.raises(BackupError, match="cut short"):
        place.restore(short)
    assert place.untouched()


def test_one_bit_turned_over_is_seen(archive, place, tmp_path):
    with opened(archive) as (_zip, manifest):
        for member in (first_file(manifest.members), *manifest.database_members):
            with pytest.raises(BackupError, match=f"{member} in the archive is not as it was written"):
                place.restore(archives.flipped(archive, tmp_path / "flipped.zip", member=member))
    assert place.untouched()


def test_an_archive_of_the_other_kind_of_database_is_refused(archive, place, tmp_path):
    kinds = {"sqlite": ("postgresql", "database.dump"), "postgresql": ("sqlite", "database.sqlite3")}
    engine, member = kinds[connection.vendor]
    (own,) = check_archive(archive).database_members

    def other(found):
        found["engine"] = engine
        found["members"][member] = found["members"].pop(own)

    wrong = archives.rewritten(
        archive,
        tmp_path / "wrong.zip",
        manifest=other,
        names=lambda found: [(member if name == own else name, data) for name, data in found],
    )
    with pytest.raises(
        BackupError, match=f"of the kind {engine}, and DATABASE_URL names .* {connection.vendor}"
    ):
        place.restore(wrong)
    assert place.untouched()


def test_a_missing_archive_is_told(place, tmp_path):
    with pytest.raises(BackupError, match="no archive at"):
        place.restore(tmp_path / "none.zip")


def test_a_database_with_a_table_is_not_restored_into(archive, place):
    archives.run(place.database, "CREATE TABLE kept (a integer)", "INSERT INTO kept VALUES (7)")
    with pytest.raises(BackupError, match=r"is not empty.*before migrate"):
        place.restore(archive)
    assert archives.every_row(place.database) == {"kept": ["(7,)"]}
    assert not place.files_dir.exists()


def test_a_folder_with_a_file_is_not_restored_into(archive, place):
    kept = place.files_dir / "ab" / "kept"
    kept.parent.mkdir(parents=True)
    kept.write_text("kept")
    with pytest.raises(BackupError, match="files folder is not empty"):
        place.restore(archive)
    assert archives.every_file(place.files_dir) == {"ab/kept": b"kept"}


def test_what_a_removed_sqlite_database_left_behind_is_not_mixed_in(tmp_path):
    engine = Sqlite({"ENGINE": "django.db.backends.sqlite3", "NAME": str(tmp_path / "shop.sqlite3")})
    engine.refuse_unless_empty()
    left = tmp_path / "shop.sqlite3-wal"
    left.write_bytes(b"x")
    with pytest.raises(BackupError, match="-wal belongs to a database in use, or to a removed one"):
        engine.refuse_unless_empty()
    left.unlink()
    engine.path.write_text("a text of some length that is no database" * 20)
    with pytest.raises(BackupError, match="in the way of a restore"):
        engine.refuse_unless_empty()


@pytest.mark.parametrize("moment", ["migrate", "place", "leave"])
def test_a_restore_that_fails_half_way_leaves_nothing(moment, archive, place, monkeypatch):
    def fail(*args, **kwargs):
        raise OSError("no space left")

    if moment == "migrate":
        monkeypatch.setattr(restoring, "call_command", fail)
    elif moment == "place":
        moved = []
        rename = os.rename
        monkeypatch.setattr(
            restoring.os, "rename", lambda a, b: fail() if moved else moved.append(1) or rename(a, b)
        )
    else:  # the last step before the database stays
        place_files = restoring.FilesInWaiting.place
        monkeypatch.setattr(restoring.FilesInWaiting, "place", lambda self: (place_files(self), fail()))
    with pytest.raises(OSError, match="no space left"):
        place.restore(archive)
    assert place.untouched()
