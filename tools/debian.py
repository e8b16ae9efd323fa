"""Install what comes from the operating system, or say exactly what to install."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys


def install(packages: list[str], purpose: str) -> None:
    """Install Debian `packages`; where this user may not, stop and name them."""
    if not try_install(packages, purpose):
        sys.exit(
            f"\nStopped: {purpose} needs packages of the operating system that could not be installed from here.\n"
            "Nothing of the project or its data was changed. Install them as an administrator, then say this again:\n"
            f"    apt-get install {' '.join(packages)}\n"
            "(on another system: its packages of the same contents)"
        )


def try_install(packages: list[str], purpose: str) -> bool:
    """Install Debian `packages` and return whether that worked."""
    prefix = _administrator()
    if prefix is None or not shutil.which("apt-get"):
        return False
    print(f"Installing for {purpose}: {' '.join(packages)}", flush=True)
    apt = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-y"]
    # A stale list names files that the mirror no longer has. A failed renewal may not matter: the install tells.
    _run([*apt, "update"])
    return _run([*apt, "install", "--no-install-recommends", *packages]) == 0


def _administrator() -> list[str] | None:
    """Return what to put before a command to run it as an administrator, None where that would need a password."""
    if os.geteuid() == 0:
        return []
    if shutil.which("sudo") and _run(["sudo", "-n", "true"]) == 0:
        return ["sudo", "-n"]
    return None


def _run(command: list[str]) -> int:
    """Run quietly, without a keyboard; what was printed is shown only when it failed."""
    done = subprocess.run(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False
    )
    if done.returncode and command[-1] != "true":
        print(done.stdout, file=sys.stderr)
    return done.returncode
