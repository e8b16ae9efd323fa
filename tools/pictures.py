"""Make the README's pictures anew, from the demo season: `make pictures`.

A season of its own is loaded into a temporary folder around today, served, photographed and thrown away.
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.request
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "fixtures_demo" / "pictures"
WIDE, PHONE = (1280, 1000), (390, 1400)
PUBLIC = {
    "programme": ("/", WIDE),
    "walk": ("/walks/{walk}/", WIDE),
    "walk-phone": ("/walks/{walk}/", PHONE),
    "booking-form": ("/walks/{walk}/book/", PHONE),
    "species": ("/species/cantharellus-cibarius/", WIDE),
}
PAPERS = {"handouts": 4, "risk-assessment": 1, "register": 1}


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        settings = {**os.environ, "VAR_DIR": folder, "PORT": str(_free_port())}
        _manage(settings, "migrate", "-v0")
        _manage(settings, "load_demo")
        with _served(settings) as base, sync_playwright() as playwright:
            walk = _first_walk(base)
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
            _photograph(browser, base, walk)
            browser.close()
        _manage(settings, "walk_pack", walk, "--out", f"{folder}/pack")
        _print_papers(Path(folder) / "pack")


def _first_walk(base: str) -> str:
    """The slug of the next walk on the programme."""
    page = urllib.request.urlopen(base, timeout=20).read().decode("utf-8")
    found = re.search(r'href="/walks/([a-z0-9-]+)/"', page)
    if found is None:
        raise SystemExit("The programme lists no walk.")
    return found[1]


def _manage(settings: dict[str, str], *command: str) -> str:
    run = [sys.executable, "manage.py", *command]
    return subprocess.run(run, cwd=ROOT, env=settings, check=True, text=True, stdout=subprocess.PIPE).stdout


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def _served(settings: dict[str, str]):  # type: ignore[no-untyped-def]
    """The demo's address while it is being served."""
    base = f"http://127.0.0.1:{settings['PORT']}"
    server = subprocess.Popen([sys.executable, "manage.py", "serve"], cwd=ROOT, env=settings)
    try:
        _wait_for(base)
        yield base
    finally:
        server.terminate()
        server.wait(timeout=60)


def _wait_for(base: str) -> None:
    for _ in range(100):
        try:
            urllib.request.urlopen(base, timeout=5)
        except OSError:
            time.sleep(0.3)
        else:
            return
    raise SystemExit(f"Nothing answers at {base}.")


def _photograph(browser: Browser, base: str, walk: str) -> None:
    for name, (path, size) in PUBLIC.items():
        page = browser.new_page(viewport={"width": size[0], "height": size[1]})
        page.goto(base + path.format(walk=walk))
        page.screenshot(path=PICTURES / f"{name}.png")
    page = browser.new_page(viewport={"width": WIDE[0], "height": WIDE[1]})
    login = tomllib.loads((ROOT / "fixtures_demo" / "logins.toml").read_text(encoding="utf-8"))["login"][0]
    page.goto(f"{base}/accounts/login/?next=/staff/walks/")
    page.fill("input[name=login]", login["name"])
    page.fill("input[name=password]", login["password"])
    page.press("input[name=password]", "Enter")
    page.wait_for_url("**/staff/walks/")
    page.locator("tbody th a").first.click()
    page.wait_for_load_state("networkidle")
    page.screenshot(path=PICTURES / "staff-walk.png")


def _print_papers(pack: Path) -> None:
    for name, page in PAPERS.items():
        target = PICTURES / name
        run = ["pdftoppm", "-png", "-r", "70", "-f", str(page), "-singlefile", str(pack / f"{name}.pdf"), str(target)]
        subprocess.run(run, check=True)


if __name__ == "__main__":
    main()
