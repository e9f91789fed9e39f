"""What can be entered from files: each app registers its importers in ``AppConfig.ready``."""

from .importer import Entered, Field, Importer, Values, importer_of, importers, register

__all__ = ["Entered", "Field", "Importer", "Values", "importer_of", "importers", "register"]
