"""How large a kept picture is, without unpacking it."""

from io import BytesIO

from PIL import Image


def picture_size(data: bytes) -> tuple[int, int]:
    """Width and height in pixels of a picture that the reader has made."""
    with Image.open(BytesIO(data)) as picture:
        return picture.size
