"""Make a machine ready: `python3 tools/setup.py run|test|lint`. Saying it again costs next to nothing.

The three locks contain each other (run in test in lint). There is one environment, synced to the largest lock asked for
so far, so that starting the site after a test does not uninstall the test tools.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import debian

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "synced-to"
LEVELS = ["run", "test", "lint"]

# The shared libraries that WeasyPrint opens by these names, and the Debian package of each.
PDF_LIBRARIES = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
FONT_FOLDERS = [Path("/usr/share/fonts"), Path("/usr/local/share/fonts"), Path("/Library/Fonts")]
TINY_PDF = "import weasyprint; assert weasyprint.HTML(string='<p>a').write_pdf().startswith(b'%PDF')"


def main(level: str) -> None:
    """Bring .venv to at least `level`, with the native libraries that PDFs need."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this file is what meets an old Python first
        sys.exit(f"This needs Python 3.11 or newer, not {sys.version.split()[0]}. Name one: make run PYTHON=python3.12")
    changed = install_pdf_libraries()
    make_environment()
    if sync(level) or changed:
        prove_pdf()


def install_pdf_libraries() -> bool:
    """Install the libraries and the fallback font that PDFs need where they are missing; return whether any was."""
    missing = [package for library, package in PDF_LIBRARIES.items() if not opens(library)]
    if not any(next(folder.rglob("*.[ot]tf"), None) for folder in FONT_FOLDERS if folder.is_dir()):
        missing.append("fonts-dejavu-core")
    if missing:
        debian.install(missing, "sheets in PDF")
    return bool(missing)


def opens(library: str) -> bool:
    """Return whether the system can load a shared library of this name."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def make_environment() -> None:
    """Create .venv, also anew where its Python is gone (a moved folder, an upgraded system)."""
    if PYTHON.exists() and subprocess.run([PYTHON, "-c", ""], capture_output=True, check=False).returncode == 0:
        return
    try:
        import ensurepip  # noqa: F401 - Debian ships Python without it
    except ImportError:
        debian.install(["python3-venv"], "the Python environment")
    print("Making .venv", flush=True)
    subprocess.run([sys.executable, "-m", "venv", "--clear", VENV], check=True)


def sync(level: str) -> bool:
    """Install what the lock of `level`, or the larger one already installed, holds; return whether there was need."""
    installed = STAMP.read_text().split() if STAMP.exists() else ["run"]
    wanted = max(level, installed[0], key=LEVELS.index)
    lock = ROOT / "requirements" / f"{wanted}.txt"
    stamp = [wanted, hashlib.sha256(lock.read_bytes()).hexdigest()]
    if installed == stamp:
        return False
    print(f"Installing the packages of requirements/{lock.name}", flush=True)
    STAMP.write_text(f"{wanted} unfinished\n")  # an interrupted sync must not look like a finished one
    install(lock)
    STAMP.write_text(" ".join(stamp) + "\n")
    return True


def install(lock: Path) -> None:
    """Make .venv hold exactly what `lock` names, each file checked against its hash."""
    command = [find_uv(), "pip", "sync", "-q", "--python", PYTHON, "--require-hashes", lock]
    # Networks that look into traffic have their certificate in the system's store only (older uv: the second name).
    trust = {"UV_SYSTEM_CERTS": "1", "UV_NATIVE_TLS": "1"}
    if subprocess.run(command, env={**trust, **os.environ}, check=False).returncode:
        sys.exit("\nStopped: the packages could not be installed; the reason stands above. Try again.")


def find_uv() -> str:
    """Return the uv on PATH, else the one of .venv, which is installed there at need."""
    own = VENV / "bin" / "uv"
    if not shutil.which("uv") and not own.exists():
        wheel = ["--require-hashes", "-r", str(ROOT / "requirements" / "uv.txt")]
        subprocess.run([PYTHON, "-m", "pip", "install", "-q", "--disable-pip-version-check", *wheel], check=True)
    return shutil.which("uv") or str(own)


def prove_pdf() -> None:
    """Render a real PDF: a library that opens may still be too old."""
    if subprocess.run([PYTHON, "-c", TINY_PDF], check=False).returncode:
        sys.exit(
            "\nStopped: no PDF can be rendered here; what the renderer said stands above.\n"
            f"It needs Pango 1.44 or newer (Debian: {' '.join(PDF_LIBRARIES.values())})."
        )


if __name__ == "__main__":
    if len(sys.argv) != 2 or sys.argv[1] not in LEVELS:
        sys.exit(f"usage: python3 {os.path.relpath(__file__)} {'|'.join(LEVELS)}")
    main(sys.argv[1])
