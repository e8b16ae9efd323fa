"""Django and a throwaway database for the long proofs, which are programs and not tests."""

from __future__ import annotations

import os

import django
from django.test.utils import setup_databases, setup_test_environment


def set_up() -> None:
    """Call it before any model is imported."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "foraywright.settings.test")
    django.setup()
    setup_test_environment()
    setup_databases(verbosity=0, interactive=False)
