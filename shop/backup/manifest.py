"""What an archive says about itself."""

import json
import re
from dataclasses import asdict, dataclass

import cattrs

FORMAT = 1
MANIFEST = "manifest.json"
FILE_MEMBER = re.compile(r"files/(?P<folder>[0-9a-f]{2})/(?P<sha256>(?P=folder)[0-9a-f]{62})")


class BackupError(Exception):
    """A backup or a restore was refused or failed; the message says what to do."""


@dataclass(frozen=True)
class Member:
    """One member of an archive."""

    sha256: str
    size_bytes: int


@dataclass(frozen=True)
class Manifest:
    """The list of contents, written last and read first.

    ``problems`` are sentences about what the backup could not take whole, such as a missing file.
    """

    format: int
    program_version: str
    made_at: str
    engine: str
    migrations: list[str]
    rows: dict[str, int]
    problems: list[str]
    members: dict[str, Member]

    def as_json(self) -> str:
        """Return the text of the manifest."""
        return json.dumps(asdict(self), indent=1, ensure_ascii=False)

    @property
    def database_members(self) -> list[str]:
        """Members that are no stored file; a sound archive has one, the database."""
        return [name for name in self.members if not FILE_MEMBER.fullmatch(name)]

    @property
    def file_members(self) -> list[str]:
        """Members that are stored files."""
        return [name for name in self.members if FILE_MEMBER.fullmatch(name)]


def read_manifest_text(text: bytes) -> Manifest:
    """Read a manifest; raises BackupError for another format and for a wrong shape."""
    try:
        data = json.loads(text)
        found = data.get("format")
        if found == FORMAT:
            return cattrs.structure(data, Manifest)
    except (cattrs.BaseValidationError, ValueError, TypeError, AttributeError, KeyError) as error:
        raise BackupError("The archive's list of contents cannot be read; use another archive.") from error
    raise BackupError(f"The archive has format {found}; this version of the program reads format {FORMAT}.")
