"""Settings, read from the environment; a value that is wrong is refused at start."""

import os
import secrets
from datetime import timedelta
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("SEALWRIGHT_DATA", BASE_DIR / "var"))


def env_bool(name: str, default: bool) -> bool:
    """Read a yes/no environment value; anything else than the listed words is refused."""
    raw = os.environ.get(name)
    if raw is None:
        return default
    words = {"1": True, "true": True, "yes": True, "0": False, "false": False, "no": False}
    if raw.lower() not in words:
        raise ImproperlyConfigured(f"{name} must be one of {', '.join(words)}; got {raw!r}")
    return words[raw.lower()]


def env_int(name: str, default: int, low: int, high: int) -> int:
    """Read a whole number within limits from the environment."""
    raw = os.environ.get(name, str(default))
    if not raw.isdigit() or not low <= int(raw) <= high:
        raise ImproperlyConfigured(f"{name} must be a whole number from {low} to {high}; got {raw!r}")
    return int(raw)


def secret_key() -> str:
    """Take SECRET_KEY from the environment, else keep a random one in the data folder."""
    if os.environ.get("SECRET_KEY"):
        return os.environ["SECRET_KEY"]
    path = DATA_DIR / "secret_key"
    if not path.exists():
        DATA_DIR.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(60))
    return path.read_text()


SECRET_KEY = secret_key()
DEBUG = env_bool("DEBUG", False)
# Set by whoever serves over https; the demo on a bench network speaks plain http.
HTTPS = env_bool("SEALWRIGHT_HTTPS", False)
ALLOWED_HOSTS = os.environ.get("ALLOWED_HOSTS", "*" if not HTTPS else "").split(",")
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("CSRF_TRUSTED_ORIGINS", "").split(",") if o]
# Printed on labels and certificates, so it must stay true for years.
PUBLIC_ADDRESS = os.environ.get("PUBLIC_ADDRESS", "http://127.0.0.1:8000").rstrip("/")
# The rolls in the shop's label printers, as named in shop/documents/label_stock.py.
LABEL_STOCKS = os.environ.get("LABEL_STOCKS", "62x29,50x25").replace(" ", "").split(",")

INSTALLED_APPS = [
    "shop",
    "inventory",
    "workorders",
    "simple_history",
    "django.forms",
    "axes",
    "csp",
    "django_htmx",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "shop.middleware.RefusalMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.context.page",
            ],
        },
    },
]
FORM_RENDERER = "shop.forms.FieldRenderer"

# SQLite: WAL with FULL keeps acknowledged commits through a power cut; IMMEDIATE takes the write
# lock at BEGIN, since a read that turns into a write fails at once otherwise. ATOMIC_REQUESTS
# stays off: every page view would take that lock.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
}
_database = dj_database_url.parse(
    os.environ.get("DATABASE_URL") or f"sqlite:///{DATA_DIR / 'sealwright.sqlite3'}",
    conn_max_age=0,
)
if _database["ENGINE"] == "django.db.backends.sqlite3":
    _database["OPTIONS"] = SQLITE_OPTIONS
    # A file: in memory, concurrent test clients would share one connection's lock.
    _database["TEST"] = {"NAME": str(DATA_DIR / os.environ.get("TEST_DATABASE", "test.sqlite3"))}
elif os.environ.get("TEST_DATABASE"):
    _database["TEST"] = {"NAME": "test_" + os.environ["TEST_DATABASE"].removesuffix(".sqlite3")}
DATABASES = {"default": _database}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
(DATA_DIR / "static").mkdir(parents=True, exist_ok=True)  # whitenoise warns where it is missing

AUTH_USER_MODEL = "shop.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
DEMO_SIGN_INS: list[tuple[str, str, str]] = []  # filled by the demo command alone, while it serves
LOGIN_URL = "shop:sign_in"
LOGIN_REDIRECT_URL = "workorders:home"
LOGOUT_REDIRECT_URL = "shop:sign_in"
SESSION_COOKIE_AGE = 12 * 3600  # one shift
# User and address together: one clumsy hand behind the shop's single address locks only itself.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "shop/locked_out.html"
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False

LANGUAGE_CODE = "en-gb"
TIME_ZONE = os.environ.get("TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
WHITENOISE_USE_FINDERS = True
FILES_DIR = DATA_DIR / "files"  # photos, traces and issued papers; never below the static files
UPLOAD_LIMIT_BYTES = env_int("UPLOAD_LIMIT_MB", 128, 1, 500) * 1024 * 1024
RIG_TOKEN_DAYS = env_int("RIG_TOKEN_DAYS", 365, 1, 3650)  # proposed for a new token of a rig
PHOTO_LIMIT_PIXELS = 40_000_000
DATA_UPLOAD_MAX_MEMORY_SIZE = 40 * 1024 * 1024  # of fields, files aside
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SILENCED_SYSTEM_CHECKS: list[str] = []

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
