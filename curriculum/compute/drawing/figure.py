"""The main figure of an account alone, for large print: no small letters, a scale bar that can be read."""

from curriculum.compute.account import Account
from curriculum.compute.drawing.ink import Placing, inked
from curriculum.compute.drawing.plate import told
from curriculum.compute.drawing.sheet import MARGIN, WIDTH, Plate, Sheet, scale_to_fit
from curriculum.compute.drawing.specimen import Specimen
from curriculum.compute.drawing.views import views_of
from curriculum.compute.vocabulary import Vocabulary

LETTERS = 6.3
"""Height of the letters in millimetres on a plate of WIDTH: 16 point where it is printed 100 mm wide."""
HEIGHT = 46.0


def bare_figure(account: Account, vocabulary: Vocabulary, stage: str = "mature") -> Plate:
    """The main figure at a stage, without labels; what it shows stands in words beside it."""
    specimen = Specimen(account, vocabulary, stage)
    views = views_of(specimen)
    sheet = Sheet(size=LETTERS)
    scale = scale_to_fit(views.main, WIDTH - 2 * MARGIN, HEIGHT)
    x0, y0, x1, y1 = views.main.box()
    sheet.pieces.append(inked(views.main, Placing(scale, WIDTH / 2 - (x0 + x1) / 2 * scale, sheet.y + y1 * scale)))
    sheet.y += (y1 - y0) * scale + 1.5
    sheet.bar(views.main, scale, WIDTH / 2, room=50.0)
    title, height = f"{account.vernacular()} ({account.accepted_name})", sheet.y + MARGIN
    return Plate(
        svg=sheet.svg(height, title, told(specimen, views)),
        width_mm=WIDTH,
        height_mm=round(height, 2),
        title=title,
        description=told(specimen, views),
        drawn={c: specimen.label(c, s) if s else "" for c, s in specimen.drawn.items()},
        also={},
        not_drawn=(),
    )
