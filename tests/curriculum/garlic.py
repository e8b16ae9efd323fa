"""Wild garlic and the three that grow among it: the smallest set of starter accounts that names only itself."""

from __future__ import annotations

from pathlib import Path
from shutil import copy

from curriculum.services.load_starter import STARTER

GARLIC = ("allium-ursinum", "arum-maculatum", "colchicum-autumnale", "convallaria-majalis")


def garlic_files(folder: Path) -> Path:
    """Copy the four files to `folder`, to be loaded from there or spoilt first."""
    for key in GARLIC:
        copy(STARTER / f"{key}.toml", folder)
    return folder
