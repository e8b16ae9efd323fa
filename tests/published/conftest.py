"""Prints the count of published figures when this folder is run by itself.

Under several workers only the conftest files above are loaded by the process that prints, so tests/conftest.py names
the same plugin.
"""

import pytest

SUMMARY = "tests.published.summary"


def pytest_configure(config: pytest.Config) -> None:
    """Loads the summary unless it is there already."""
    if not config.pluginmanager.has_plugin(SUMMARY):
        config.pluginmanager.import_plugin(SUMMARY)
