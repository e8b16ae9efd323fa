"""Pictures that people send, drawn anew: only the pixels are kept, never where or with what they were taken."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageOps

LARGEST_PIXELS = 40_000_000


class PictureRefused(ValueError):
    """The file is no picture that can be drawn, or too large; the text says which."""


def redrawn(content: bytes, kind: str) -> bytes:
    """The picture in `content` ("jpg" or "png") with its pixels alone. Raises PictureRefused.

    The size is read from the head before a pixel is unpacked: a small file can hold a picture that fills the memory.
    """
    try:
        with Image.open(BytesIO(content), formats=["JPEG" if kind == "jpg" else "PNG"]) as picture:
            if picture.width * picture.height <= LARGEST_PIXELS:
                return _written(ImageOps.exif_transpose(picture), kind)
    except Image.DecompressionBombError:
        pass  # the library reads the head first too, with a limit of its own
    except (OSError, SyntaxError, ValueError) as fault:
        raise PictureRefused("It is broken: it cannot be drawn.") from fault
    raise PictureRefused(f"It has more than {LARGEST_PIXELS // 1_000_000} million pixels, more than can be kept.")


def _written(picture: Image.Image, kind: str) -> bytes:
    bare = Image.new("RGB", picture.size, "white")
    bare.paste(picture.convert("RGBA"), mask=picture.convert("RGBA").getchannel("A"))
    target = BytesIO()
    if kind == "jpg":
        bare.save(target, "JPEG", quality=88)
    else:
        bare.save(target, "PNG")
    return target.getvalue()
