"""A few starter accounts that name only each other: small enough to load again and again."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection
from pathlib import Path

from curriculum.services.load_starter import STARTER

GARLIC = ("allium-ursinum", "arum-maculatum", "colchicum-autumnale", "convallaria-majalis")
_LOOKALIKE = re.compile(r"^\[\[lookalike\]\]\n(?:(?!\[).*\n)*", re.MULTILINE)


def among(taxa: Collection[str]) -> dict[str, str]:
    """The accounts of the taxa as TOML, without the lookalikes whose account is not among them."""

    def kept(found: re.Match[str]) -> str:
        named = tomllib.loads(found[0])["lookalike"][0].get("taxon")
        return found[0] if named is None or named in taxa else ""

    return {key: _LOOKALIKE.sub(kept, (STARTER / f"{key}.toml").read_text(encoding="utf-8")) for key in taxa}


def write_among(taxa: Collection[str], folder: Path) -> Path:
    """Write those accounts to `folder`."""
    for key, text in among(taxa).items():
        (folder / f"{key}.toml").write_text(text, encoding="utf-8")
    return folder


def garlic_files(folder: Path) -> Path:
    """Write wild garlic and the three that grow among it to `folder`, to be loaded from there or spoilt first."""
    return write_among(GARLIC, folder)
