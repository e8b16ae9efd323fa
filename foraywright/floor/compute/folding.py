"""The folded form that search columns hold: the two databases disagree on case and collation, so we decide."""

import unicodedata


def folded(text: str) -> str:
    """Return `text` casefolded, without accents, white space squeezed: "Cèpe  de Bordeaux" gives "cepe de bordeaux"."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
    return " ".join(bare.split())
