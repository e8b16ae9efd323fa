"""Photograph pages for the eye: each address at a phone's and a desk's width, in light and in dark.

    .venv/bin/python tools/shots.py http://127.0.0.1:8000 FOLDER / /courses/ /species/

The picture of /courses/ in the dark at 360 pixels is FOLDER/courses-360-dark.png. Reports what a reader would stumble
over: a page wider than its window, and what the browser refused to load.
"""

from __future__ import annotations

import shutil
import sys
from itertools import product
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

WIDTHS = {360: 780, 1280: 900}
SCHEMES = ("light", "dark")


def main(base: str, folder: str, *addresses: str) -> None:
    Path(folder).mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for address, width, scheme in product(addresses, WIDTHS, SCHEMES):
            photograph(
                browser, base + address, Path(folder) / f"{name_of(address)}-{width}-{scheme}.png", width, scheme
            )
        browser.close()


def photograph(browser: Browser, address: str, target: Path, width: int, scheme: str) -> None:
    """Write one full-page picture, and print its complaints."""
    context = browser.new_context(viewport={"width": width, "height": WIDTHS[width]}, color_scheme=scheme)
    page = context.new_page()
    page.on("console", lambda message: print(f"{target.name}: {message.text}") if message.type == "error" else None)
    page.goto(address, wait_until="networkidle")
    report_overflow(page, target.name)
    page.screenshot(path=str(target), full_page=True)
    context.close()


def report_overflow(page: Page, name: str) -> None:
    excess = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    if excess > 0:
        print(f"{name}: {excess} px wider than the window")


def name_of(address: str) -> str:
    return address.partition("?")[0].strip("/").replace("/", "-") or "front"


if __name__ == "__main__":
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
