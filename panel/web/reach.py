"""Whether phones in the room can reach what the cards will print."""

from panel.core.message import Message, say
from panel.settings import Settings, on_this_machine_only


def no_phone_reaches(settings: Settings) -> Message | None:
    """What to do where cards would print an address that leads phones nowhere; None if they do."""
    if not on_this_machine_only(settings):
        return None
    return say(
        "The cards' codes would lead to %(address)s, which no phone can reach: paper ballots only. "
        "For phones, stop Panel and start it with --host 0.0.0.0 and with --address and this "
        "laptop's address in the room's wifi, such as http://192.168.1.20:8000; then print.",
        address=settings.address,
    )
