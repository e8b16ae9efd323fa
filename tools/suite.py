"""Run pytest with what the browser journeys need; say so loudly where there is no browser."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import debian
from setup import PYTHON, ROOT

NO_BROWSER = """
********************************************************************************
   NO CHROMIUM ON THIS MACHINE: THE BROWSER TESTS {tense} NOT RUN.
   Everything else is tested. To run them, install Chromium (Debian: chromium).
********************************************************************************
"""


def main(arguments: list[str]) -> int:
    """Run the suite with `arguments` for pytest and return its exit code."""
    if not shutil.which("pdftotext"):
        debian.install(["poppler-utils"], "the tests, which read PDFs")
    environment = dict(os.environ)
    if browser := has_chromium():
        environment.pop("FORAYWRIGHT_NO_CHROMIUM", None)
    elif os.environ.get("CI"):
        sys.exit("Stopped: Chromium could not be installed, and a CI run without the browser tests proves too little.")
    else:
        environment["FORAYWRIGHT_NO_CHROMIUM"] = "1"
        print(NO_BROWSER.format(tense="WILL"), flush=True)
    code = subprocess.run([PYTHON, "-m", "pytest", *arguments], cwd=ROOT, env=environment, check=False).returncode
    if not browser:
        print(NO_BROWSER.format(tense="WERE"), flush=True)
    return code


def has_chromium() -> bool:
    """Return whether a Chromium that starts is on PATH, after trying to install one."""
    if not shutil.which("chromium"):
        debian.try_install(["chromium"], "the browser tests")
    # Some systems ship a stub by this name that only tells what to install.
    return bool(shutil.which("chromium")) and _starts("chromium")


def _starts(program: str) -> bool:
    return subprocess.run([program, "--version"], capture_output=True, check=False).returncode == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
