"""`make bench`: prints how long the heavy parts take. It asserts nothing: a ratio is for a person to judge.

`python -m tests.bench PART …` runs some of them, by the names of their files.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module

import django
from django.test.utils import setup_databases, setup_test_environment, teardown_databases

PARTS = ("computations", "plans", "feeds", "years", "documents")


def main(*parts: str) -> None:
    """Run `parts`, or all of them, each on a throwaway database of its own: each begins with the cast."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "foraywright.settings.test")
    django.setup()
    setup_test_environment()
    for part in parts or PARTS:
        databases = setup_databases(verbosity=0, interactive=False)
        # A part reads models: it can be imported only now.
        for line in import_module(f"tests.bench.{part}").lines():
            print(line, flush=True)
        teardown_databases(databases, verbosity=0)


if __name__ == "__main__":
    main(*sys.argv[1:])
