"""The shapes of what stands in addresses. What has another shape is no page at all."""

from werkzeug.routing import BaseConverter


class TokenConverter(BaseConverter):
    """The token of a card: 16 base-32 characters, in upper or lower case."""

    regex = "[A-Za-z2-7]{16}"
    part_isolating = True


class RefConverter(BaseConverter):
    """The name of a tray after its token has left the address: 16 hex digits."""

    regex = "[0-9a-f]{16}"
    part_isolating = True


class IdConverter(BaseConverter):
    """The id of a comparison, sitting or person: 12 lower-case base-32 characters."""

    regex = "[a-z2-7]{12}"
    part_isolating = True


class SlugConverter(BaseConverter):
    """The public name of a comparison: 16 lower-case base-32 characters."""

    regex = "[a-z2-7]{16}"
    part_isolating = True


CONVERTERS: dict[str, type[BaseConverter]] = {
    "token": TokenConverter,
    "ref": RefConverter,
    "id": IdConverter,
    "slug": SlugConverter,
}
