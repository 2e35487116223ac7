"""Phones and a keying laptop that post over real sockets, and keep a ledger of what they were told.

Three words for every ballot that was sent: acknowledged (a redirect to its receipt came back),
unknown (the connection broke, so either is right), refused (another answer came; always wrong
here). They are told apart as crash tests of databases tell them.
"""

import http.client
import random
import re
import threading
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from urllib.parse import urlencode

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Tray
from tests.builders import answers

CUT, AGAIN = 0.10, 0.05
"""Shares of sends whose connection is cut before the answer, and that are sent twice at once."""

LOOKS = 0.3
"""Share of senders who look at their receipt."""

PATIENCE = 15.0
"""Seconds after which a phone gives a connection up."""


class State(Enum):
    """What a sender knows of a ballot."""

    ACKNOWLEDGED = "acknowledged"
    UNKNOWN = "unknown"
    REFUSED = "refused"


@dataclass
class Sent:
    """One filled-in form: the tray, the key in the form, the answers; what became of it."""

    tray: int
    key: str
    answers: Mapping[str, tuple[str, ...]]
    state: State = State.UNKNOWN
    receipt: str = ""
    why: str = ""


@dataclass
class Ledger:
    """Every form that was sent, and how often anything was sent at all."""

    forms: list[Sent] = field(default_factory=list)
    posts: int = 0
    repeats: int = 0
    cuts: int = 0
    changed_receipts: list[str] = field(default_factory=list)

    def in_state(self, state: State) -> list[Sent]:
        return [form for form in self.forms if form.state is state]


class Sender(threading.Thread):
    """Somebody with a browser and some trays: sends one ballot after another until told to stop.

    What is not acknowledged is sent again first, with the same key, as a page does that kept it.
    """

    def __init__(self, known: Comparison, trays: tuple[Tray, ...], seed: str) -> None:
        super().__init__(daemon=True)
        self.known = known
        self.trays = trays
        self.chance = random.Random(seed)
        self.ledger = Ledger()
        self.pending: Sent | None = None
        self.port = 0
        self.form: tuple[str, str] | None = None
        self.stop = threading.Event()
        self.failure: Exception | None = None

    def run(self) -> None:
        try:
            while not self.stop.is_set():
                self._one()
        except Exception as failure:  # a defect of the test itself must not look like silence
            self.failure = failure

    def again_at(self, port: int) -> "Sender":
        """The same sender with the same ledger, for the next life of the service."""
        other = type(self).__new__(type(self))
        threading.Thread.__init__(other, daemon=True)
        kept = ("known", "trays", "chance", "ledger", "pending", "cookie", "addresses")
        for name in kept:
            if hasattr(self, name):
                setattr(other, name, getattr(self, name))
        other.port = port
        other.form = None
        other.stop = threading.Event()
        other.failure = None
        return other

    # --- what phones and the laptop do differently ---

    def page(self, tray: Tray) -> str:
        """The address of an empty form for a tray."""
        raise NotImplementedError

    def target(self, tray: Tray) -> str:
        """Where its form goes."""
        raise NotImplementedError

    def cookies(self, tray: Tray) -> str:
        """What proves who is sending."""
        raise NotImplementedError

    def extra(self, _tray: Tray) -> dict[str, str]:
        """Fields beside the answers."""
        return {}

    # --- the same for both ---

    def _one(self) -> None:
        form = self.pending or self._filled()
        tray = next(one for one in self.trays if one.number == form.tray)
        try:
            self.form = self.form or self._opened(tray)
        except (OSError, http.client.HTTPException):
            self.stop.wait(0.02)  # nobody is there just now
            return
        if self.pending is None:
            self.ledger.forms.append(form)
            self.pending = form
        known_receipt = form.receipt
        twice = self.chance.random() < AGAIN
        cut = self.chance.random() < CUT
        for _ in range(2 if twice else 1):
            self._send(tray, form, cut)
        self.ledger.repeats += twice
        if known_receipt and form.receipt != known_receipt:
            self.ledger.changed_receipts.append(f"{known_receipt} became {form.receipt}")
        if form.state is not State.UNKNOWN:
            # Some that were acknowledged are sent once more after the next start as well.
            self.pending = form if self.chance.random() < AGAIN and not twice else None

    def _filled(self) -> Sent:
        tray = self.chance.choice(self.trays)
        key = uuid.UUID(int=self.chance.getrandbits(128)).hex
        words = f"ballot {len(self.ledger.forms)} of {self.name_of()}: " + "malt and hops " * 8
        picked = answers(self.known, tray, self.chance.choice((1, 2, 3)))
        given = {**picked, "words": (words.strip(),)}
        return Sent(tray.number, key, given)

    def name_of(self) -> str:
        return f"{type(self).__name__} {self.trays[0].number}"

    def _opened(self, tray: Tray) -> tuple[str, str]:
        """The token of a fresh form, and the cookie that belongs to it: good for every tray."""
        status, headers, body = self._ask("GET", self.page(tray), self.cookies(tray))
        found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', body)
        if status != 200 or found is None:
            raise AssertionError(f"{self.page(tray)} answered {status}: {body[:2000]}")
        own = re.search(r"panel=[^;]+", headers.get("Set-Cookie", "") or "")
        return found[1], own[0] if own else ""

    def _send(self, tray: Tray, form: Sent, cut: bool) -> None:
        assert self.form is not None
        token, own = self.form
        cookie = f"{self.cookies(tray)}; {own}"
        fields = [("csrf_token", token), ("key", form.key), *self.extra(tray).items()]
        for name, words in form.answers.items():
            fields += [(f"answer-{name}", word) for word in words]
        try:
            status, headers, body = self._ask("POST", self.target(tray), cookie, fields, cut)
        except ConnectionRefusedError:
            self.stop.wait(0.02)  # nobody is there just now: nothing was sent
            return
        except (OSError, http.client.HTTPException):
            return  # unknown stays unknown; what was acknowledged once stays so
        if status in (302, 303):
            form.state = State.ACKNOWLEDGED
            if form.receipt or self.chance.random() < LOOKS:
                form.receipt = self._receipt(headers.get("Location", ""), cookie) or form.receipt
        elif status != 503:
            form.state, form.why = State.REFUSED, f"{status}: {' '.join(body.split())[:600]}"

    def _receipt(self, address: str, cookie: str) -> str:
        """The receipt's code; "" if the service went away meanwhile."""
        try:
            _status, _headers, body = self._ask("GET", address, cookie)
        except (OSError, http.client.HTTPException):
            return ""
        found = re.search(r"\d+ [A-Z]·\d+", body)
        return found[0] if found else ""

    def _ask(
        self,
        method: str,
        path: str,
        cookie: str,
        fields: list[tuple[str, str]] | None = None,
        cut: bool = False,
    ) -> tuple[int, http.client.HTTPMessage, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        headers = {"Cookie": cookie, "Origin": f"http://127.0.0.1:{self.port}"}
        headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            connection.connect()
            self.ledger.posts += method == "POST"
            self.ledger.cuts += cut
            connection.request(method, path, urlencode(fields) if fields else None, headers)
            if cut:
                raise ConnectionAbortedError("cut on purpose")
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read().decode()
        finally:
            connection.close()


class Phone(Sender):
    """Tasters' phones: each tray's card was opened once, and its cookie kept ever since."""

    addresses: dict[int, tuple[str, str]]
    """Tray number to (ref, proof in the cookie)."""

    def page(self, tray: Tray) -> str:
        return f"/t/{self.addresses[tray.number][0]}?at=over"

    def target(self, tray: Tray) -> str:
        return f"/t/{self.addresses[tray.number][0]}/send"

    def cookies(self, tray: Tray) -> str:
        return f"panel-tray={self.addresses[tray.number][1]}"


class Laptop(Sender):
    """Somebody who keys paper cards in, signed in as an organiser."""

    cookie: str

    def page(self, tray: Tray) -> str:
        return f"/steward/{self.known.id}/{tray.sitting}/key"

    def target(self, tray: Tray) -> str:
        return self.page(tray)

    def cookies(self, _tray: Tray) -> str:
        return f"panel-signed-in={self.cookie}"

    def extra(self, tray: Tray) -> dict[str, str]:
        return {"card": card_number(tray.number)}

    def _receipt(self, _address: str, _cookie: str) -> str:
        return ""  # keyed ballots are named in a list, not on a receipt of their own
