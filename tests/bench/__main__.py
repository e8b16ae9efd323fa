"""`make bench`: prints how long the heavy parts take. It asserts nothing: a ratio is for a person to judge."""

from __future__ import annotations

import os

import django
from django.test.utils import setup_databases, setup_test_environment


def main() -> None:
    """Run on a throwaway database."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "foraywright.settings.test")
    django.setup()
    setup_test_environment()
    setup_databases(verbosity=0, interactive=False)
    from tests.bench import computations, documents, feeds, plans  # they read models: Django must be set up first

    for lines in (computations.lines, plans.lines, feeds.lines, documents.lines):
        for line in lines():
            print(line, flush=True)


if __name__ == "__main__":
    main()
