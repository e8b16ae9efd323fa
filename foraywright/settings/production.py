"""For the open internet: refuses to start on a missing key, DEBUG or hosts that match anything."""

from django.core.exceptions import ImproperlyConfigured

from foraywright.floor.secret_key import is_sealing_key
from foraywright.settings.base import *  # noqa: F403
from foraywright.settings.base import CONTENT_SECURITY_POLICY, env, mail_from

DEBUG = False
SECRET_KEY = env.str("SECRET_KEY", default="")
SEALING_KEYS = env.list("SEALING_KEYS", default=[])
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=[])
SITE_ADDRESS = env.str("SITE_ADDRESS", default="")

if env.bool("DEBUG", default=False):
    raise ImproperlyConfigured("DEBUG is on. Production settings do not start with DEBUG: unset it.")
if len(SECRET_KEY) < 50:
    raise ImproperlyConfigured(
        "SECRET_KEY is missing or shorter than 50 characters. Set it to a long random text that is kept secret."
    )
if not SEALING_KEYS or not all(is_sealing_key(key) for key in SEALING_KEYS):
    raise ImproperlyConfigured(
        "SEALING_KEYS is missing or malformed: keys of 32 bytes in URL-safe base64, newest first, separated by commas."
    )
if not ALLOWED_HOSTS or any("*" in host or host.startswith(".") for host in ALLOWED_HOSTS):
    raise ImproperlyConfigured(
        "ALLOWED_HOSTS is empty or holds a wildcard. Name each host, e.g. ALLOWED_HOSTS=walks.example.org"
    )
if not SITE_ADDRESS.startswith("https://"):
    raise ImproperlyConfigured("SITE_ADDRESS must be the public https address, e.g. https://walks.example.org")

SECOND_FACTOR_REQUIRED = env.bool("SECOND_FACTOR_REQUIRED", default=True)
CSRF_TRUSTED_ORIGINS = [SITE_ADDRESS]
SECURE_SSL_REDIRECT = True
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365
SECURE_HSTS_INCLUDE_SUBDOMAINS = True
SECURE_HSTS_PRELOAD = True
SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True
SESSION_COOKIE_NAME = "__Host-session"
CSRF_COOKIE_NAME = "__Host-csrf"
CONTENT_SECURITY_POLICY["DIRECTIVES"]["upgrade-insecure-requests"] = True

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
vars().update(mail_from(env.str("EMAIL_URL", default="smtp://localhost:25")))
