"""How hard a text reads: the grade level of Flesch and Kincaid.

Formula: 0.39 · words / sentences + 11.8 · syllables / words − 15.59 (Kincaid, Fishburne, Rogers and Chissom 1975, Naval
Technical Training Command, Research Branch Report 8-75; the report from memory, the formula and the worked example as
an encyclopaedia gives them). A grade is a year of school in the United States: grade 8 is an age of 13 to 14.
Syllables are counted as groups of vowels, less a silent end: near enough for a mean, not for a single word.
"""

from __future__ import annotations

import re

VOWELS = re.compile(r"[aeiouy]+")
SPLIT = re.compile(r"(?:ia(?!n)|eo|io(?!n)|iu|ua(?!r))")
"""Two vowels that are two syllables, as in media; the worked example counts -ian as one."""
SILENT = re.compile(r"(?:[^laeiouy]e|[^aeiouytd]ed|[^aeiouyscxz]es)$")


def syllables(word: str) -> int:
    """Syllables of one English word, at least one."""
    word = word.lower()
    found = len(VOWELS.findall(word)) + len(SPLIT.findall(word)) - bool(SILENT.search(word))
    return max(found, 1)


def grade(text: str) -> float:
    """The grade level of a text. ValueError for one without words."""
    words = re.findall(r"[A-Za-z]+(?:['’][a-z]+)?", text)
    sentences = [one for one in re.split(r"[.!?:;]+(?:\s|$)", text) if re.search("[A-Za-z]", one)]
    if not words:
        raise ValueError("There is nothing to read.")
    spoken = sum(syllables(word.split("'")[0].split("’")[0]) for word in words)
    return 0.39 * len(words) / len(sentences) + 11.8 * spoken / len(words) - 15.59
