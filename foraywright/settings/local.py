"""One kitchen table: SQLite in var/, a generated key, mail written to files unless a mail server is named."""

from urllib.parse import urlsplit

from foraywright.floor.secret_key import write_sealing_key, write_secret_key
from foraywright.settings.base import *  # noqa: F403
from foraywright.settings.base import PAYMENT_VARIANTS, STATIC_ROOT, VAR_DIR, env, mail_from


def _generated_key() -> str:
    """Return the key that `make setup` wrote, so that signed links survive a restart."""
    path = VAR_DIR / "secret_key"
    write_secret_key(path)
    return path.read_text(encoding="ascii").strip()


def _sealing_keys() -> list[str]:
    """Return the keys of `var/sealing_keys`, one a line, newest first."""
    path = VAR_DIR / "sealing_keys"
    write_sealing_key(path)
    return path.read_text(encoding="ascii").split()


DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or _generated_key()
SEALING_KEYS = env.list("SEALING_KEYS", default=[]) or _sealing_keys()
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["127.0.0.1", "localhost", "[::1]"])
PORT = env.int("PORT", default=8000)
SITE_ADDRESS = env.str("SITE_ADDRESS", default=f"http://127.0.0.1:{PORT}")
CSRF_TRUSTED_ORIGINS = [SITE_ADDRESS]
PAYMENT_HOST = urlsplit(SITE_ADDRESS).netloc
# The practice provider moves no money, and takes cards in the demonstration only.
PAYMENT_VARIANTS = PAYMENT_VARIANTS or {"card": ("bookings.card_provider.PracticeProvider", {"secret": SECRET_KEY})}

if env.str("EMAIL_URL", default=""):
    vars().update(mail_from(env.str("EMAIL_URL")))
else:
    EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    EMAIL_FILE_PATH = VAR_DIR / "mail"

# Served from where they lie: nothing to collect on a kitchen table.
WHITENOISE_USE_FINDERS = True
STATIC_ROOT.mkdir(parents=True, exist_ok=True)
