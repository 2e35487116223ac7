"""How often things may be asked. Sized for a hall whose two hundred phones share one address.

What can be guessed is counted for all worker processes together. Floods, of one address or of one
tray, are counted by each for itself, in memory: two processes let twice as much through, which is
no harm, and no ballot waits for a file.
"""

from flask import Response
from flask_limiter import Limiter
from flask_limiter.util import get_remote_address
from limits import parse
from werkzeug.exceptions import TooManyRequests

from panel.web import cookies
from panel.web.process_counters import ProcessCounters
from panel.web.shared_counters import SharedCounters

FROM_ONE_ADDRESS = "200 per second"
BALLOTS_OF_ONE_TRAY = "30 per minute"
SIGN_INS = "10 per minute"
PASSPHRASES = "30 per minute"
"""How often a key holder's passphrase is worked out; wrong ones are counted by lock_key."""
WRONG_SHORT_CODES = "100 per hour"

SHARED = f"{SharedCounters.STORAGE_SCHEME[0]}://"
OWN = f"{ProcessCounters.STORAGE_SCHEME[0]}://"

flood = Limiter(
    get_remote_address,
    default_limits=[FROM_ONE_ADDRESS],
    storage_uri=OWN,
    strategy="fixed-window",
)
"""Of every request."""

limiter = Limiter(
    get_remote_address,
    storage_uri=SHARED,
    strategy="fixed-window",
    in_memory_fallback_enabled=True,  # a full disk must not keep ballots out
)
"""Of what else the constants above name."""


_BALLOTS = parse(BALLOTS_OF_ONE_TRAY)


def count_ballot(ref: str) -> None:
    """Counts a ballot against the limit of one tray opened in one browser; TooManyRequests once it
    is used up. By hand, since the library's decorator takes as long as several questions to the
    database."""
    if flood.enabled and not flood.limiter.hit(_BALLOTS, f"{ref} {cookies.cookie(cookies.TRAY)}"):
        raise TooManyRequests(retry_after=_BALLOTS.get_expiry())


def was_refused(response: Response) -> bool:
    """Only failures count against the typed fallback."""
    return response.status_code >= 400
