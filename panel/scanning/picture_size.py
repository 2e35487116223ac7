"""What can be told of a file without unpacking it."""

from io import BytesIO

from PIL import Image


def size_of_picture(data: bytes) -> tuple[int, int]:
    """Width and height in pixels of a picture that the reader has made."""
    with Image.open(BytesIO(data)) as picture:
        return picture.size


def may_have_pages(data: bytes) -> bool:
    """Whether a file is of a kind that holds many pages, by its first bytes."""
    return data[:4] in (b"II*\x00", b"MM\x00*") or b"%PDF-" in data[:1024]
