"""The two kinds of database, as a backup sees them."""

from abc import ABC, abstractmethod
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, ClassVar

from django.db.backends.base.base import BaseDatabaseWrapper


class Engine(ABC):
    """One database, given by its settings."""

    name: ClassVar[str]
    compression: ClassVar[int]  # of its member in the archive

    def __init__(self, database: dict[str, Any]) -> None:
        self.database = database

    @property
    @abstractmethod
    def work_folder(self) -> Path:
        """Where a restore unpacks the database."""

    @abstractmethod
    def snapshot(self, copy: Path) -> AbstractContextManager[BaseDatabaseWrapper]:
        """Write a copy of one moment, and connect to that same moment; others may go on writing."""

    @abstractmethod
    def faults(self, connection: BaseDatabaseWrapper) -> list[str]:
        """Return sentences about what is damaged inside a snapshot."""

    @abstractmethod
    def refuse_unless_empty(self) -> None:
        """Raise BackupError where a restore would meet something."""

    @abstractmethod
    def restoring(self, copy: Path) -> AbstractContextManager[BaseDatabaseWrapper]:
        """Connect to the restored database; it stays when the block ends well, else nothing does."""
