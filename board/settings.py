"""Everything that varies, read once from `BOARD_*`; with nothing set it is safe."""

import os
from pathlib import Path
from typing import Any

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def _text(name: str, default: str = "") -> str:
    return os.environ.get(name, default)


def _yes(name: str) -> bool:
    return _text(name).lower() in {"1", "yes", "true", "on"}


def _number(name: str, default: int) -> int:
    return int(_text(name) or default)


def _words(name: str, default: str = "") -> list[str]:
    return [word.strip() for word in _text(name, default).split(",") if word.strip()]


def _secret(folder: Path) -> str:
    kept = folder / "secret.txt"
    secret = _text("BOARD_SECRET") or (
        kept.read_text(encoding="utf-8").strip() if kept.exists() else ""
    )
    if len(secret) < 40:
        raise ImproperlyConfigured(
            "The board has no secret. Run `python3 manage.py serve`, which makes one, "
            "or set BOARD_SECRET to at least 40 random characters."
        )
    return secret


BOARD_FOLDER = Path(_text("BOARD_FOLDER", str(BASE_DIR / "var"))).resolve()
SECRET_KEY = _secret(BOARD_FOLDER)
DEBUG = _yes("BOARD_DEBUG")
BOARD_DEMO = _yes("BOARD_DEMO")
INSECURE_LOCAL = _yes("BOARD_INSECURE_LOCAL")
BOARD_HOUSE = _text("BOARD_HOUSE", "Sheet and Slip")

BOARD_MAX_BYTES = _number("BOARD_MAX_BYTES", 1024**3)
BOARD_MAX_PIXELS = _number("BOARD_MAX_PIXELS", 250_000_000)
BOARD_DISK_RESERVE = _number("BOARD_DISK_RESERVE", 1024**3)
BOARD_GRANT_SECONDS = _number("BOARD_GRANT_SECONDS", 600)
BOARD_LINK_MINUTES = _number("BOARD_LINK_MINUTES", 30)
BOARD_ACCEL = _text("BOARD_ACCEL")
BOARD_UPLOAD_DAYS = _number("BOARD_UPLOAD_DAYS", 7)
BOARD_UPLOAD_HOOKS = "board.revisions.actions.uploads"

ALLOWED_HOSTS = _words("BOARD_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = _words("BOARD_ORIGINS")
BOARD_ADDRESS = _text("BOARD_ADDRESS", "http://localhost:8000").rstrip("/")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_tasks",
    "django_tasks_db",
    "rest_framework",
    "drf_spectacular",
    "channels",
    "accounts",
    "board",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # After WhiteNoise, whose files are compressed already. Django pads each answer by a
    # random length and masks each CSRF token, so that sizes tell nothing (BREACH).
    "django.middleware.gzip.GZipMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "board.middleware.OneFormKey",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "board.middleware.PolicyMiddleware",
    "board.middleware.AsSignedIn",
    "board.middleware.InOwnTime",
    "board.middleware.SayWhatWentWrong",
]

ROOT_URLCONF = "board.urls"
ASGI_APPLICATION = "board.asgi.application"
AUTH_USER_MODEL = "accounts.Person"
LOGIN_URL = "accounts:sign-in"
LOGIN_REDIRECT_URL = "desk:desk"
LOGOUT_REDIRECT_URL = "accounts:sign-in"

TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "board.middleware.house",
            ],
        },
    }
]

SQLITE_OPTIONS = {
    "timeout": 20,
    "transaction_mode": "IMMEDIATE",
    "init_command": (
        "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON"
    ),
}
_database = _text("BOARD_DATABASE_URL", f"sqlite:///{BOARD_FOLDER / 'board.sqlite3'}")
DATABASES: dict[str, Any] = {"default": dj_database_url.parse(_database)}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
else:
    DATABASES["default"]["OPTIONS"] = {"pool": True}
DATABASES["default"]["CONN_MAX_AGE"] = 0
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

BOARD_REDIS_URL = _text("BOARD_REDIS_URL")
CHANNEL_LAYERS: dict[str, Any] = {
    "default": (
        {
            "BACKEND": "channels_redis.pubsub.RedisPubSubChannelLayer",
            "CONFIG": {"hosts": [BOARD_REDIS_URL]},
        }
        if BOARD_REDIS_URL
        else {"BACKEND": "channels.layers.InMemoryChannelLayer"}
    )
}
TASKS: dict[str, Any] = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = _text("BOARD_TIME_ZONE", "UTC")
USE_TZ = True

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = Path(_text("BOARD_STATIC", str(BOARD_FOLDER / "static")))
STORAGES: dict[str, Any] = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
MEDIA_ROOT = BOARD_FOLDER / "media"

_mail = _text("BOARD_MAIL_URL")
DEFAULT_FROM_EMAIL = _text("BOARD_MAIL_FROM", "board@localhost")
if _mail:
    from urllib.parse import unquote, urlsplit

    _parts = urlsplit(_mail)
    EMAIL_HOST, EMAIL_PORT = _parts.hostname or "localhost", _parts.port or 25
    EMAIL_HOST_USER = unquote(_parts.username or "")
    EMAIL_HOST_PASSWORD = unquote(_parts.password or "")
    EMAIL_USE_TLS = _parts.scheme == "smtp+tls"
    EMAIL_USE_SSL = _parts.scheme == "smtps"
    EMAIL_TIMEOUT = 20
else:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = BOARD_FOLDER / "mail"

SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_SSL_REDIRECT = not INSECURE_LOCAL
SECURE_HSTS_SECONDS = 0 if INSECURE_LOCAL else _number("BOARD_HSTS", 31_536_000)
SECURE_HSTS_INCLUDE_SUBDOMAINS = not INSECURE_LOCAL
SECURE_HSTS_PRELOAD = not INSECURE_LOCAL
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = LANGUAGE_COOKIE_SECURE = not INSECURE_LOCAL
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["board.by_session.BySession"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_METADATA_CLASS": None,
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "board.problems.problem",
    "UNAUTHENTICATED_USER": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Sheet and Slip",
    "DESCRIPTION": "The spread review board for picture books.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "COMPONENT_SPLIT_PATCH": False,
    "ENUM_NAME_OVERRIDES": {
        "Role": "board.slips.api.asking.ROLES",
        "NoteClass": "board.tissue.rules.CLASSES",
        "ItemKind": "board.viewing.api.ITEM_KINDS",
        "InitialKind": "board.slips.api.asking.INITIAL_KINDS",
        "NoteMark": "board.slips.api.asking.MARKS",
        "SourceKind": "board.clippings.rules.KINDS",
        "SourceMark": "board.clippings.rules.MARKS",
    },
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
}

LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": _text("BOARD_LOG", "WARNING")},
}
