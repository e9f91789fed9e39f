"""What a browser sends to the pages of the test bench, and what it is shown."""

import uuid

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests.workorders import bench as at_bench


def url(name, *args):
    return reverse(f"workorders:{name}", args=args)


def send(client, address, follow=False, **data):
    return client.post(address, {"form_token": uuid.uuid4().hex, **data}, follow=follow)


def text(answer):
    return answer.content.decode()


def step_data(step, instruments=True, **changes):
    """What a browser sends for a step of the plan, with readings that pass."""
    data = {"note": ""}
    for limit in step.limits.all():
        name = f"r{limit.pk}"
        if limit.judged == "witness":
            data |= {f"{name}-as_required": "yes", f"{name}-count": "0"}
        elif limit.judged == "count":
            data[f"{name}-count"] = "0" if limit.upper == 0 else "5"
        elif limit.judged == "decay":
            data |= {f"{name}-start_bar": "7.31", f"{name}-end_bar": "7.29", f"{name}-duration_s": "300"}
            data[f"{name}-instrument"] = at_bench.transducer().pk
        else:
            made = at_bench.stopwatch() if limit.quantity == "time" else at_bench.gauge()
            data |= {f"{name}-value": str(limit.lower + 5), f"{name}-instrument": made.pk}
    return {**data, **changes}


def send_file(client, test, limit, name_or_bytes, instrument=None, file_name="log.csv", **more):
    """Send a file from the upload form, as a browser does."""
    if isinstance(name_or_bytes, bytes):
        file = SimpleUploadedFile(file_name, name_or_bytes)
    else:
        file = at_bench.upload(name_or_bytes)
    prefix = f"r{limit.pk}"
    data = {
        "form_token": uuid.uuid4().hex,
        f"{prefix}-file": file,
        f"{prefix}-instrument": (instrument or at_bench.transducer()).pk,
        **{f"{prefix}-{name}": value for name, value in more.items()},
    }
    address = reverse("workorders:logger_file_new", args=[test.pk, limit.step.order, limit.pk])
    return client.post(address, data)


def confirm(client, page, test, **changes):
    """Record the step with the reading as it is shown."""
    opened = page.context["open"]
    data = {name: "" if value is None else value for shown in opened.files for name, value in shown.hidden}
    address = reverse("workorders:test_step", args=[test.pk, 3])
    return client.post(address, {"form_token": uuid.uuid4().hex, "note": "", **data, **changes})


def shown(page):
    return page.context["open"].files[0]
