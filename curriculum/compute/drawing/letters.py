"""Widths of the letters of Alegreya Sans, so that labels can be set without opening a font.

Advance widths in thousandths of the type size, read from the font's hmtx table (SIL Open Font License; kerning is left
out, so a line is never set narrower than it prints). A letter that is not in the table counts as the widest.
"""

SIZE = 2.75
LEADING = 3.25
ASCENT = 0.9
DESCENT = 0.3
FAMILY = "'Alegreya Sans', 'Alegreya Sans Ext', sans-serif"

WIDTHS: dict[str, int] = {
    " ": 165, "!": 256, '"': 280, "&": 694, "'": 166, "(": 288, ")": 306, "*": 374, "+": 480, ",": 229, "-": 307,
    ".": 229, "/": 287, "0": 528, "1": 344, "2": 455, "3": 412, "4": 481, "5": 418, "6": 470, "7": 417, "8": 474,
    "9": 470, ":": 229, ";": 229, "A": 578, "B": 537, "C": 520, "D": 646, "E": 482, "F": 434, "G": 600, "H": 684,
    "I": 268, "J": 310, "K": 547, "L": 416, "M": 789, "N": 683, "O": 635, "P": 520, "Q": 639, "R": 555, "S": 472,
    "T": 490, "U": 626, "V": 564, "W": 893, "X": 594, "Y": 528, "Z": 528, "a": 462, "b": 514, "c": 385, "d": 518,
    "e": 461, "f": 303, "g": 487, "h": 520, "i": 242, "j": 265, "k": 456, "l": 247, "m": 800, "n": 516, "o": 491,
    "p": 509, "q": 510, "r": 323, "s": 370, "t": 319, "u": 510, "v": 423, "w": 674, "x": 435, "y": 427, "z": 412,
    "é": 461, "×": 480, "–": 476, "’": 167, "·": 229,
}  # fmt: skip
WIDEST = max(WIDTHS.values())


def width(text: str, size: float = SIZE) -> float:
    """The printed width of a line in millimetres at a type size in millimetres."""
    return sum(WIDTHS.get(letter, WIDEST) for letter in text) * size / 1000


def lines(text: str, room: float, size: float = SIZE) -> list[str]:
    """Words broken into lines no wider than `room`; one word that is wider stays whole."""
    found: list[str] = []
    for word in text.split():
        if found and width(f"{found[-1]} {word}", size) <= room:
            found[-1] = f"{found[-1]} {word}"
        else:
            found.append(word)
    return found
