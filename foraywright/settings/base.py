"""What every way of running Foraywright shares. What differs comes from the environment (README, "Settings")."""

import zoneinfo
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import environ
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent.parent
env = environ.Env()

# The pinned tzdata package decides, not whatever the machine has: the same walk starts at the same instant everywhere.
zoneinfo.reset_tzpath(to=())

VAR_DIR = Path(env.str("VAR_DIR", default=str(BASE_DIR / "var")))

INSTALLED_APPS = [
    "foraywright.floor",
    "curriculum",
    "walks",
    "bookings",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_htmx",
    "csp",
    "simple_history",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "foraywright.floor.middleware.WithoutNulMiddleware",
    "foraywright.floor.middleware.HouseTimeMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "foraywright.floor.middleware.NamedActsMiddleware",
    "foraywright.floor.middleware.DoesNotOpenMiddleware",
]

ROOT_URLCONF = "foraywright.urls"
WSGI_APPLICATION = "foraywright.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "foraywright.floor.context.house",
            ],
            "builtins": ["foraywright.floor.templatetags.almanac"],
        },
    },
]

# IMMEDIATE: a deferred transaction that reads and then writes fails at once when a rival wrote in between.
# FULL: in WAL the last commits may otherwise vanish on power loss, and some of those commits are money.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    # What is deleted is overwritten in the file; without it a name that was erased stays in free pages.
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA secure_delete=ON;",
}


def database_from(url: str) -> dict[str, Any]:
    """Return Django's database entry for `url`, with our durability options where it is SQLite."""
    entry: dict[str, Any] = env.db_url_config(url)
    if entry["ENGINE"].endswith("sqlite3"):
        entry["OPTIONS"] = dict(SQLITE_OPTIONS)
    else:
        entry.setdefault("CONN_MAX_AGE", 60)
    entry["ATOMIC_REQUESTS"] = False
    return entry


DATABASES = {"default": database_from(env.str("DATABASE_URL", default=f"sqlite:///{VAR_DIR / 'foraywright.sqlite3'}"))}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "floor.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_REDIRECT_URL = "/staff/"
LOGIN_URL = "account_login"
LOGOUT_REDIRECT_URL = "/"
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]
ACCOUNT_ADAPTER = "foraywright.floor.staff_accounts.StaffAccountAdapter"
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGOUT_ON_GET = False

# A second factor for staff: codes of RFC 6238, and codes to recover with. A code is taken in its own half minute only,
# and remembered as used for as long; in the memory of the process, of which `serve` starts one.
MFA_ADAPTER = "foraywright.floor.second_factor.SecondFactorAdapter"
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes"]
MFA_TOTP_TOLERANCE = 0
MFA_RECOVERY_CODES_SHOW_ONCE = True
MFA_ALLOW_UNVERIFIED_EMAIL = True
SECOND_FACTOR_REQUIRED = env.bool("SECOND_FACTOR_REQUIRED", default=False)

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "Europe/London"
USE_I18N = True
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "foraywright" / "static"]
MEDIA_ROOT = VAR_DIR / "media"

CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

# The address that mails, feeds and QR codes print; a request's Host header never decides what a letter says.
SITE_ADDRESS = env.str("SITE_ADDRESS", default="http://127.0.0.1:8000")

# Cards are taken on a provider's page, and only where the environment names one: a class of django-payments and its
# arguments as JSON, and the hosts to which its form leads.
PAYMENT_MODEL = "bookings.CardPayment"
PAYMENT_HOST = urlsplit(SITE_ADDRESS).netloc or "127.0.0.1"
PAYMENT_USES_SSL = SITE_ADDRESS.startswith("https")
CARD_PROVIDER = env.str("CARD_PROVIDER", default="")
PAYMENT_VARIANTS = {"card": (CARD_PROVIDER, env.json("CARD_PROVIDER_ARGUMENTS", default={}))} if CARD_PROVIDER else {}
CARD_PAGE_LIVES = timedelta(minutes=env.int("CARD_PAGE_MINUTES", default=0))
CARD_PROVIDER_HOSTS = env.list("CARD_PROVIDER_HOSTS", default=[])


def mail_from(url: str) -> dict[str, Any]:
    """Return Django's mail settings for `url`, with `?tls=True` or `?ssl=True`.

    The library that reads it passes over both without a word, and letters and the password would travel in clear.
    """
    found: dict[str, Any] = env.email_url_config(url)
    for name, value in found.pop("OPTIONS", {}).items():
        if name not in ("TLS", "SSL"):
            raise ImproperlyConfigured(
                f"EMAIL_URL has ?{name.lower()}=, which is not known. Write ?tls=True or ?ssl=True."
            )
        found[f"EMAIL_USE_{name}"] = str(value).lower() in env.BOOLEAN_TRUE_STRINGS
    return found


EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.str("MAIL_FROM", default="walks@foraywright.invalid")

SESSION_COOKIE_AGE = 60 * 60 * 12
SESSION_COOKIE_HTTPONLY = True
# Else messages have a cookie of their own, and the privacy page says that there are two.
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
CSRF_COOKIE_HTTPONLY = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

CONTENT_SECURITY_POLICY: dict[str, Any] = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF, *CARD_PROVIDER_HOSTS],
        "img-src": [SELF, "data:"],
    }
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "foraywright.floor.logs.WithoutValues",
            "format": "{asctime} {levelname} {name} {message}",
            "style": "{",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
