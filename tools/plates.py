"""A contact sheet of all plates as one PNG, to look at: python tools/plates.py [folder] [--pairs] [taxon ...]."""

import subprocess
import sys
import tomllib
from pathlib import Path

HOME = Path(__file__).parents[1]
sys.path.insert(0, str(HOME))

from curriculum.compute.account import Account  # noqa: E402
from curriculum.compute.account_format import read_account  # noqa: E402
from curriculum.compute.drawing.pair import pair_plate  # noqa: E402
from curriculum.compute.drawing.plate import plate  # noqa: E402
from curriculum.compute.drawing.sheet import Plate  # noqa: E402
from curriculum.compute.vocabulary import Vocabulary, vocabulary_from  # noqa: E402

FONTS = HOME / "foraywright" / "static" / "fonts"
COLUMNS, ROWS = 5, 3
WIDE, HIGH = 440, 560
FACES = {"400-normal": "", "400-italic": "font-style:italic", "700-normal": "font-weight:700"}


def main(folder: Path, wanted: list[str], *, pairs: bool) -> None:
    """Write sheet-1.png and so on, each with as many plates as can be looked at in one go."""
    words = vocabulary_from(
        tomllib.loads(file.read_text()) for file in sorted((HOME / "curriculum/vocabulary").glob("*"))
    )
    known = _accounts(words)
    chosen = [known[taxon] for taxon in wanted] or sorted(known.values(), key=lambda one: (one.group, one.taxon))
    plates = _pairs(chosen, known, words) if pairs else [(one.taxon, plate(one, words)) for one in chosen]
    folder.mkdir(parents=True, exist_ok=True)
    each = COLUMNS * ROWS
    for number, start in enumerate(range(0, len(plates), each), 1):
        _shoot(_page(plates[start : start + each]), folder / f"sheet-{number}.png")


def _accounts(words: Vocabulary) -> dict[str, Account]:
    files = sorted((HOME / "curriculum" / "starter").glob("*.toml"))
    read = (read_account(file.read_text(), file.name, words) for file in files)
    return {one.taxon: one for one in read}


def _pairs(chosen: list[Account], known: dict[str, Account], words: Vocabulary) -> list[tuple[str, Plate]]:
    """Each with its lookalikes of the same group, all characters marked that they record and do not share."""
    made = []
    for one in chosen:
        for other in (known[alike.taxon] for alike in one.lookalikes if alike.taxon in known):
            if other.group == one.group:
                made.append((f"{one.taxon} / {other.taxon}", pair_plate(one, other, words, _apart(one, other, words))))
    return made


def _apart(one: Account, other: Account, words: Vocabulary) -> list[str]:
    keys = words.characters_of(one.group)
    return [k for k in keys if one.states(k) and other.states(k) and not set(one.states(k)) & set(other.states(k))]


def _page(plates: list[tuple[str, Plate]]) -> str:
    faces = "".join(_face(FONTS / f"alegreya-sans-latin-{name}.woff2", more) for name, more in FACES.items())
    figures = "".join(f"<figure>{made.svg}<figcaption>{name}</figcaption></figure>" for name, made in plates)
    grid = f"display:grid;grid-template-columns:repeat({COLUMNS},{WIDE}px)"
    looks = f"body{{background:#fbf7ea;margin:8px;{grid}}}figure{{margin:0}}"
    return f"<!doctype html><meta charset='utf-8'><style>{faces}{looks}</style>{figures}"


def _face(file: Path, more: str) -> str:
    return f"@font-face{{font-family:'Alegreya Sans';src:url({file.as_uri()});{more}}}"


def _shoot(page: str, target: Path) -> None:
    source = target.with_suffix(".html")
    source.write_text(page, encoding="utf-8")
    size = f"--window-size={COLUMNS * WIDE + 16},{ROWS * HIGH}"
    command = ["chromium", "--headless", "--no-sandbox", "--hide-scrollbars", size, f"--screenshot={target}"]
    subprocess.run([*command, source.as_uri()], check=True, capture_output=True)
    print(target)


if __name__ == "__main__":
    asked = [word for word in sys.argv[1:] if word != "--pairs"]
    main(Path(asked[0]) if asked else HOME / "var" / "plates", asked[1:], pairs="--pairs" in sys.argv)
