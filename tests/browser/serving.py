"""Serving the project to a browser from the test database, and signing people in."""

from contextlib import ExitStack, contextmanager

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.test import TransactionTestCase, override_settings
from pytest_django.live_server_helper import LiveServer


@contextmanager
def serving(files):
    """Serve the project from the test database, emptied afterwards; yield the server.

    ``files`` is the folder for uploads and papers. Labels and papers carry the address of the
    server itself, so that a scanned label leads back to it.
    """
    changed = {
        "FILES_DIR": files,
        "PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"],
        "ALLOWED_HOSTS": ["*"],
    }
    with ExitStack() as stack:
        stack.enter_context(override_settings(**changed))
        server = LiveServer("localhost")
        stack.callback(server.stop)
        stack.enter_context(override_settings(PUBLIC_ADDRESS=server.url))
        # As after a transactional test: the flush brings the groups back, and spares the triggers.
        stack.callback(TransactionTestCase()._fixture_teardown)
        yield server


def signed_in(browser, server, person, **options):
    """Return a browser context of a person who is signed in already."""
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[-1]
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.save()
    # Without motion a change of theme is there at once.
    context = browser.new_context(reduced_motion="reduce", **options)
    cookie = {"name": settings.SESSION_COOKIE_NAME, "value": session.session_key, "url": server.url}
    context.add_cookies([cookie])
    return context
