"""The child that lays out one PDF: capped in memory and time, without a network, with an allow-list of files."""

from __future__ import annotations

import io
import mimetypes
import resource
import sys
from pathlib import Path

from weasyprint import HTML
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

MEMORY_BYTES = 2 * 1024**3
ASSETS = Path(__file__).resolve().parent.parent / "static"


class AssetFetcher(URLFetcher):
    """Serves `asset:` from our static folder. Anything else is fatal: a missing picture must not print as a blank."""

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        scheme, _, path = url.partition(":")
        file = (ASSETS / path.lstrip("/")).resolve()
        if scheme != "asset" or not file.is_relative_to(ASSETS) or not file.is_file():
            raise FatalURLFetchingError(f"A document may not read {url[:120]}")
        kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
        return URLFetcherResponse(url, body=io.BytesIO(file.read_bytes()), headers={"Content-Type": kind})


def main() -> None:
    identifier, seconds = sys.argv[1], int(sys.argv[2])
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    source = sys.stdin.buffer.read().decode("utf-8")
    fetcher = AssetFetcher(allowed_protocols=["asset"], allow_redirects=False, fail_on_errors=True)
    document = HTML(string=source, base_url="asset:/", url_fetcher=fetcher).render()
    content = document.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=identifier.encode("ascii"))
    sys.stdout.buffer.write(f"{len(document.pages)}\n".encode("ascii") + content)


if __name__ == "__main__":
    main()
