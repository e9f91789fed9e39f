"""WSGI entry point; a wrong setting is refused here as it is by the commands."""

import os

from django.core.management import call_command
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
application = get_wsgi_application()
call_command("check")
