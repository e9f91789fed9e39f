"""What every page test asks: a form sent once or twice, and whether anything changed."""

import io
import uuid

from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from PIL import Image


def send(client, url, data=None, *, token=None, **kwargs):
    """Post a form as the page does, with its one-use token."""
    return client.post(url, {"form_token": token or uuid.uuid4().hex, **(data or {})}, **kwargs)


def rows():
    """How many rows every table of the project has, histories and tokens included; one query."""
    models = [
        model
        for app in ("shop", "inventory", "workorders")
        for model in apps.get_app_config(app).get_models(include_auto_created=True)
    ]
    counts = ", ".join(f'(SELECT COUNT(*) FROM "{model._meta.db_table}")' for model in models)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {counts}")
        return dict(zip((model.__name__ for model in models), cursor.fetchone(), strict=True))


def picture(name="box.png", size=(60, 40), kind="PNG", colour=(120, 80, 40)):
    """A photo to upload."""
    stream = io.BytesIO()
    Image.new("RGB", size, colour).save(stream, kind)
    return SimpleUploadedFile(name, stream.getvalue(), content_type=f"image/{kind.lower()}")
