"""For the suite: quick hashing, a throwaway media folder, the same database options as the real thing."""

import atexit
import shutil
import tempfile
from pathlib import Path

from foraywright.settings.base import *  # noqa: F403
from foraywright.settings.base import database_from, env

DEBUG = False
SECRET_KEY = "only-for-the-suite-" + "x" * 40
SEALING_KEYS = ["c2VhbGluZy1rZXktb2YtdGhlLXN1aXRlLTMyLWJ5dGU="]
ALLOWED_HOSTS = ["testserver", "127.0.0.1", "localhost"]
SITE_ADDRESS = "https://walks.example.org"
PAYMENT_VARIANTS = {"card": ("bookings.card_provider.PracticeProvider", {"secret": "of the suite"})}
VAR_DIR = Path(tempfile.mkdtemp(prefix="foraywright-test-"))
atexit.register(shutil.rmtree, VAR_DIR, ignore_errors=True)
MEDIA_ROOT = VAR_DIR / "media"
STATIC_ROOT = VAR_DIR / "static"
STATIC_ROOT.mkdir()
DATABASES = {"default": database_from(env.str("DATABASE_URL", default=f"sqlite:///{VAR_DIR / 'suite.sqlite3'}"))}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: WAL, locks and second connections must behave as they do for real.
    DATABASES["default"]["TEST"] = {"NAME": str(VAR_DIR / "test.sqlite3")}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
ACCOUNT_RATE_LIMITS = False
