"""Where rigs send their logger files: one address, a token in place of a sign-in, answers in JSON."""

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.core.exceptions import BadRequest, RequestDataTooBig, SuspiciousOperation
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, JsonResponse, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from workorders.models import RigFile, RigToken
from workorders.services.rig_files import note_refusal, receive_file
from workorders.services.rig_sends import Refused, Sent, too_large
from workorders.services.rigs import good_token

BEARER = "bearer "
MOST_BAD_TOKENS = 20  # of one address in the time below, then its bad tokens are answered with 429
BAD_TOKENS_S = 600
ENVELOPE_BYTES = 64 * 1024  # what multipart may add to a file
NAMES = ("serial", "step", "reading", "instrument")
STATUS = {"kept": 201, "aside": 202, "dismissed": 202}


@csrf_exempt
@login_not_required
@never_cache
def rig_traces(request: HttpRequest) -> JsonResponse:
    """Take one logger file from a rig: POST with its token."""
    if request.method != "POST":
        answer = _refusal(Refused(405, "method", "Send a file with POST."))
        answer["Allow"] = "POST"
        return answer
    token = _token(request)
    if token is None:
        return _no_token(request)
    try:
        sent = _sent(request)
    except Refused as error:
        note_refusal(token=token, error=error)
        return _refusal(error)
    try:
        row, made = receive_file(token=token, sent=sent)
    except Refused as error:
        return _refusal(error)
    return JsonResponse(told(row), status=STATUS[row.state] if made else 200)


def told(row: RigFile) -> dict[str, Any]:
    """Return what a rig is answered about a file that is here."""
    handed = row.logger_file
    answer = {
        "file": row.pk,
        "sha256": row.sha256,
        "state": row.state,
        "rig": row.rig.code,
        "unit": row.unit.serial if row.unit else None,
        "test": handed.pressure_test.number if handed else None,
        "step": handed.limit.step.order if handed else None,
        "reading": handed.limit.reading if handed else None,
        "instrument": row.instrument.code if row.instrument else None,
        "says": _says(row),
    }
    return answer | {"page": settings.PUBLIC_ADDRESS + row.get_absolute_url()}


def _says(row: RigFile) -> str:
    if row.logger_file:
        limit, test = row.logger_file.limit, row.logger_file.pressure_test
        return (
            f"Handed in for step {limit.step}, {limit.reading}, of test {test.number} of {row.unit}. "
            "It counts once somebody records the step with it."
        )
    if row.state == "dismissed":
        return f"It was dismissed: {row.dismissed_reason}"
    return f"Kept aside: {row.aside_because} Somebody hands it in for a step, or dismisses it."


def _token(request: HttpRequest) -> RigToken | None:
    given = request.headers.get("Authorization", "")
    if not given.lower().startswith(BEARER):
        return None
    return good_token(given[len(BEARER) :].strip())


def _no_token(request: HttpRequest) -> JsonResponse:
    """Answer 401, and 429 once an address has sent many; a good token is taken at any time."""
    key = f"rig-bad-tokens:{request.META.get('REMOTE_ADDR', '')}"
    cache.add(key, 0, BAD_TOKENS_S)
    try:
        count = cache.incr(key)
    except ValueError:  # it went out of date in between
        count = 1
    if count > MOST_BAD_TOKENS:
        answer = _refusal(
            Refused(429, "too_many", "Too many requests without a good token; wait, and mend it.")
        )
        answer["Retry-After"] = str(BAD_TOKENS_S)
        return answer
    answer = _refusal(
        Refused(
            401,
            "no_good_token",
            "This needs the token of a rig that is good; the lead makes one on its page.",
        )
    )
    answer["WWW-Authenticate"] = "Bearer"
    return answer


def _refusal(error: Refused) -> JsonResponse:
    return JsonResponse({"error": error.code, "says": error.says}, status=error.status)


def _sent(request: HttpRequest) -> Sent:
    """Read the request: the file as its body, or as the one file of a form."""
    form = request.content_type == "multipart/form-data"
    if refused := too_large(_length(request) - (ENVELOPE_BYTES if form else 0)):
        raise refused
    try:
        data, name = _form_file(request) if form else (_body(request), "")
        given = {key: request.GET.get(key) or (request.POST.get(key) if form else "") for key in NAMES}
        name = request.GET.get("name") or name
    except RequestDataTooBig as error:
        raise too_large(settings.UPLOAD_LIMIT_BYTES + 1) or error from error
    except (MultiPartParserError, BadRequest, SuspiciousOperation, UnreadablePostError, ValueError) as error:
        raise Refused(400, "not_whole", "The request could not be read to its end; send it again.") from error
    words = {key: (text or "").strip() for key, text in given.items()}
    return Sent(data=data, name=_file_name(name), **words)


def _length(request: HttpRequest) -> int:
    """Return how long the request says it is; 0 where it does not say so in digits."""
    told = request.META.get("CONTENT_LENGTH") or ""
    digits = told.lstrip("0")[:19]  # more says no more, and Python refuses thousands
    return int(digits) if digits.isdecimal() and digits.isascii() else 0


def _body(request: HttpRequest) -> bytes:
    """Read the whole body: `HttpRequest.body` would apply the limit of fields instead of that of files."""
    data: bytes = request.read(settings.UPLOAD_LIMIT_BYTES + 1)
    if len(data) < _length(request):
        raise UnreadablePostError("The body is shorter than its length.")
    return data


def _form_file(request: HttpRequest) -> tuple[bytes, str]:
    files: list[UploadedFile[Any]] = [file for key in request.FILES for file in request.FILES.getlist(key)]
    if len(files) != 1:
        raise Refused(400, "one_file", f"Send one file with a form; this one has {len(files)}.")
    return files[0].read(), files[0].name or ""


def _file_name(text: str) -> str:
    """Return a name that a person can read; a strange one is left out."""
    name = text.replace("\\", "/").rsplit("/", 1)[-1].strip()
    return name[:120] if name.isprintable() else ""
