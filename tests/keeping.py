"""Rows that every test of a module starts with, made once and handed out as new."""

import copy
import shutil
from pathlib import Path

from django.conf import settings
from django.test import override_settings

QUICK_PASSWORDS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


class Kept:
    """What a module's rows are told by; call it in a test for a copy of that and of the files."""

    def __init__(self, make, folder):
        self.folder = folder
        with override_settings(**settings_of_tests(folder)):
            self.made = make()

    def __call__(self):
        """Copy the files into the folder of this test, and what was made as it was then."""
        if self.folder.exists():
            shutil.copytree(self.folder, Path(settings.FILES_DIR), dirs_exist_ok=True)
        return copy.deepcopy(self.made)


def settings_of_tests(folder):
    """The settings that every test runs under, with its own folder for files."""
    return {
        "FILES_DIR": folder,
        "PASSWORD_HASHERS": QUICK_PASSWORDS,
        "PUBLIC_ADDRESS": "https://svc.example",
    }
