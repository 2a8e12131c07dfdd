"""Settings for the tests: the board's own, in a folder that goes away."""

import os
import tempfile

if os.environ.get("FOLDER_OF_WORKER") != os.environ.get("PYTEST_XDIST_WORKER"):
    # Each worker of a run has a folder of its own, and shares it with what it starts.
    os.environ["FOLDER_OF_WORKER"] = os.environ["PYTEST_XDIST_WORKER"]
    os.environ["BOARD_FOLDER"] = tempfile.mkdtemp(prefix="board-tests-")
os.environ.setdefault("BOARD_FOLDER", tempfile.mkdtemp(prefix="board-tests-"))
os.environ.setdefault("BOARD_SECRET", "only-for-tests-" * 4)
os.environ.setdefault("BOARD_INSECURE_LOCAL", "1")
os.environ.setdefault("BOARD_DISK_RESERVE", "1")
if os.environ.get("BOARD_TEST_DATABASE_URL"):
    os.environ["BOARD_DATABASE_URL"] = os.environ["BOARD_TEST_DATABASE_URL"]

from board.settings import *  # noqa: F403

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
WHITENOISE_AUTOREFRESH = True  # no collected folder to look for
TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # noqa: F405 - or WhiteNoise warns
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):  # noqa: F405
    # A file, so that two connections meet as they do in use.
    DATABASES["default"]["TEST"] = {  # noqa: F405
        "NAME": str(BOARD_FOLDER / "tests.sqlite3")  # noqa: F405
    }
