"""The letters and digits of grid references: a lettered square, then easting and northing inside it.

A reference names the south-west corner of a square, so figures are cut off and never rounded (Ordnance Survey, "A guide
to coordinate systems in Great Britain", section 7.3).
"""

import re

LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
"""The letters of a 5 by 5 block of squares, row by row from the north-west; I is never used."""

SQUARE_M = 100_000


class ReferenceRefused(ValueError):
    """What was typed names no place; the sentence quotes it, says why and shows the form that is expected."""

    def __init__(self, typed: str, why: str, example: str) -> None:
        super().__init__(f"“{typed}” {why} Write it as {example}.")


def split_digits(typed: str, digits: str, example: str) -> tuple[int, int, int]:
    """Easting and northing of a corner inside its square, and the size of the smaller square named, all in metres.

    `digits` = figures only, run together or in two groups. ReferenceRefused when they cannot be halved.
    """
    groups = digits.split()
    run = "".join(groups)
    if not 2 <= len(run) <= 10:
        raise ReferenceRefused(typed, f"has {len(run)} figures after the letters; it needs 2 to 10.", example)
    if len(run) % 2 or len(groups) > 2 or len(groups[0]) != len(groups[-1]):
        raise ReferenceRefused(typed, "needs as many figures for the easting as for the northing.", example)
    half = len(run) // 2
    size = 10 ** (5 - half)
    return int(run[:half]) * size, int(run[half:]) * size, size


def figures(easting: float, northing: float, precision_m: int) -> str:
    """The figures after the letters: metres inside the 100 km square, cut off at `precision_m` (1 to 10,000)."""
    width = 5 - _decimal_places(precision_m)
    return " ".join(
        f"{corner(metres, precision_m) % SQUARE_M // precision_m:0{width}}" for metres in (easting, northing)
    )


def corner(metres: float, precision_m: int) -> int:
    """Metres cut down to a whole multiple of `precision_m`.

    A corner kept as degrees to six decimals comes back up to 0.06 m short (half of the last decimal), which would name
    the square beside it; so that much is added before the cut, and 1 mm where metres themselves are shown. Both are far
    below the accuracy of the grids.
    """
    _decimal_places(precision_m)
    hair = 0.001 if precision_m == 1 else 0.06
    return int((metres + hair) // precision_m) * precision_m


def _decimal_places(precision_m: int) -> int:
    if not re.fullmatch("10{0,4}", str(precision_m)):
        raise ValueError(f"A precision is 1, 10, 100, 1000 or 10000 metres, not {precision_m}.")
    return len(str(precision_m)) - 1


def national_square(letters: str) -> tuple[int, int] | None:
    """South-west corner in metres of a 100 km square of the National Grid, None if there is no such square.

    The first letter names a 500 km square, S being the one at the false origin.
    """
    if len(letters) != 2 or not set(letters) <= set(LETTERS):
        return None
    large, small = (_place_in_block(letter) for letter in letters)
    easting = (large[0] - 2) * 500_000 + small[0] * SQUARE_M
    northing = (large[1] - 1) * 500_000 + small[1] * SQUARE_M
    return (easting, northing) if on_national_grid(easting, northing) else None


def national_letters(easting: float, northing: float) -> str:
    """The two letters of the 100 km square in which a point of the National Grid lies."""
    column, row = int(easting // SQUARE_M), int(northing // SQUARE_M)
    return _letter(column // 5 + 2, row // 5 + 1) + _letter(column % 5, row % 5)


def on_national_grid(easting: float, northing: float) -> bool:
    """True inside 700 km by 1,300 km, the extent of the National Grid's squares."""
    return 0 <= easting < 700_000 and 0 <= northing < 1_300_000


def irish_square(letter: str) -> tuple[int, int] | None:
    """South-west corner in metres of a 100 km square of the Irish Grid, None if there is no such square."""
    if letter not in LETTERS:
        return None
    column, row = _place_in_block(letter)
    return column * SQUARE_M, row * SQUARE_M


def irish_letter(easting: float, northing: float) -> str:
    """The letter of the 100 km square in which a point of the Irish Grid lies."""
    return _letter(int(easting // SQUARE_M), int(northing // SQUARE_M))


def on_irish_grid(easting: float, northing: float) -> bool:
    """True inside 500 km by 500 km, the extent of the Irish Grid."""
    return 0 <= easting < 500_000 and 0 <= northing < 500_000


def _place_in_block(letter: str) -> tuple[int, int]:
    row_from_north, column = divmod(LETTERS.index(letter), 5)
    return column, 4 - row_from_north


def _letter(column: int, row: int) -> str:
    return LETTERS[(4 - row) * 5 + column]
