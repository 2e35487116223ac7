"""Phones, a keying laptop and a laptop with photographs: they post over real sockets, and keep a
ledger of what they were told.

Three words for everything that was sent: acknowledged (the answer said that it is in), unknown (the
connection broke, so either is right), refused (another answer came; always wrong here). They are
told apart as crash tests of databases tell them.

One loop drives them all, so that two hundred phones leave the processor to the service.
"""

import asyncio
import random
import re
import time
import uuid
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from enum import Enum
from urllib.parse import urlencode

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Tray
from panel.web.steward import SAVED
from tests.builders import answers

CUT, AGAIN = 0.10, 0.05
"""Shares of sends whose connection is cut before the answer, and that are sent twice at once."""

HALF = 0.3
"""Share of cut connections that end in the middle of the form."""

PAPER = 0.2
"""Share of what comes from the laptops, where any of them has nothing under way."""

LOOKS = 0.3
"""Share of senders who look at their receipt."""

PATIENCE = 15.0
"""Seconds after which a phone gives a connection up."""

MARK = "malt-and-hops-of-the-storm"
"""In the free words of every ballot: where a page shows it, it shows a ballot."""


class State(Enum):
    """What a sender knows of a ballot."""

    ACKNOWLEDGED = "acknowledged"
    UNKNOWN = "unknown"
    REFUSED = "refused"


@dataclass
class Sent:
    """One filled-in form: the tray, the key in the form, the answers; what became of it.

    `acknowledged` is when it first was, in nanoseconds of the machine's steady clock.
    """

    tray: int
    key: str
    answers: Mapping[str, tuple[str, ...]]
    state: State = State.UNKNOWN
    receipt: str = ""
    why: str = ""
    acknowledged: int = 0
    fresh: int = 0
    """How many answers said that it was not in before: one at most."""

    def is_in(self) -> None:
        """The service has said so."""
        self.state = State.ACKNOWLEDGED
        self.acknowledged = self.acknowledged or time.monotonic_ns()


@dataclass(frozen=True)
class Picture:
    """A photographed sheet: its file, and what is marked on the card of each tray."""

    data: bytes
    digest: str
    cards: Mapping[int, Mapping[str, tuple[str, ...]]]


@dataclass
class Ledger:
    """Everything that was sent, and how often anything was sent at all."""

    forms: list[Sent] = field(default_factory=list)
    posts: int = 0
    repeats: int = 0
    cuts: int = 0
    wrong: list[str] = field(default_factory=list)

    def in_state(self, state: State) -> list[Sent]:
        return [form for form in self.forms if form.state is state]


@dataclass(frozen=True)
class Answered:
    """What came back."""

    status: int
    location: str
    cookie: str
    body: str


class Sender:
    """Somebody with a browser and some trays, who sends one thing at a time.

    What is not acknowledged is sent again first, with the same key, as a page does that kept it. A
    form's token is asked for once and kept: it has to be good after every start of the service.
    """

    def __init__(self, known: Comparison, trays: tuple[Tray, ...], seed: str) -> None:
        self.known = known
        self.trays = trays
        self.chance = random.Random(seed)
        self.seed = seed
        self.ledger = Ledger()
        self.pending: Sent | None = None
        self.port = 0
        self.form: tuple[str, str] | None = None
        self.busy = False

    async def one(self) -> None:
        """Sends what is next."""
        self.busy = True
        try:
            if self.form is None:
                self.form = await self._opened()
            form = self.pending or self.filled()
            if self.pending is None:
                self.ledger.forms.append(form)
                self.pending = form
            twice, cut = self.chance.random() < AGAIN, self.chance.random() < CUT
            self.ledger.repeats += twice
            before = form.receipt
            await asyncio.gather(*(self._send(form, cut) for _ in range(2 if twice else 1)))
            if before and form.receipt != before:
                self.ledger.wrong.append(f"the receipt {before} became {form.receipt}")
            if form.state is not State.UNKNOWN:
                # Some that were acknowledged are sent once more, perhaps by the next life.
                self.pending = form if self.chance.random() < AGAIN and not twice else None
        except (OSError, EOFError, TimeoutError):
            return  # nobody is there just now, or not any more
        finally:
            self.busy = False

    # --- what differs ---

    def page(self) -> str:
        """The address of an empty form."""
        raise NotImplementedError

    def target(self) -> str:
        """Where its form goes."""
        raise NotImplementedError

    def cookies(self) -> str:
        """What proves who is sending."""
        raise NotImplementedError

    def fields(self, form: Sent) -> list[tuple[str, str]]:
        """Of a form, without its token."""
        fields = [("key", form.key)]
        fields += [
            (f"answer-{name}", word) for name, words in form.answers.items() for word in words
        ]
        return fields

    async def heard(self, form: Sent, answered: Answered) -> bool:
        """Notes what the answer says; whether it was one that acknowledges."""
        raise NotImplementedError

    # --- the same for all ---

    def filled(self) -> Sent:
        """A new form."""
        tray = self.chance.choice(self.trays)
        key = uuid.UUID(int=self.chance.getrandbits(128)).hex
        words = f"ballot {len(self.ledger.forms)} of {self.seed}: " + f"{MARK} " * 8
        picked = answers(self.known, tray, self.chance.choice((1, 2, 3)))
        return Sent(tray.number, key, {**picked, "words": (words.strip(),)})

    async def _opened(self) -> tuple[str, str]:
        """The token of a fresh form, and the cookie that belongs to it."""
        answered = await self.ask("GET", self.page(), self.cookies())
        if answered.status == 503:
            raise EOFError("the service is there, its database is not")
        found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', answered.body)
        if answered.status != 200 or found is None:
            said = " ".join(answered.body.split())[:2000]
            raise AssertionError(f"{self.page()} answered {answered.status}: {said}")
        own = re.search(r"panel=[^;]+", answered.cookie)
        return found[1], own[0] if own else ""

    async def _send(self, form: Sent, cut: bool) -> None:
        assert self.form is not None
        token, own = self.form
        content, kind = self.content([("csrf_token", token), *self.fields(form)], form)
        try:
            answered = await self.ask(
                "POST", self.target(), f"{self.cookies()}; {own}", content, kind, cut
            )
        except (OSError, EOFError, TimeoutError):
            return  # unknown stays unknown; what was acknowledged once stays so
        if answered.status != 503 and not await self.heard(form, answered):
            said = _words(answered.body.partition("<main")[2])
            form.state, form.why = State.REFUSED, f"{answered.status}: {said}"

    def content(self, fields: list[tuple[str, str]], _form: Sent) -> tuple[bytes, str]:
        """The body of a form and its content type."""
        return urlencode(fields).encode(), "application/x-www-form-urlencoded"

    async def ask(
        self,
        method: str,
        path: str,
        cookie: str,
        content: bytes = b"",
        kind: str = "text/plain",
        cut: bool = False,
    ) -> Answered:
        """One request on a connection of its own; OSError, EOFError or TimeoutError if it broke."""
        head = (
            f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nCookie: {cookie}\r\n"
            f"Origin: http://127.0.0.1:{self.port}\r\nConnection: close\r\n"
            f"Content-Type: {kind}\r\nContent-Length: {len(content)}\r\n\r\n"
        )
        async with asyncio.timeout(PATIENCE):
            reader, writer = await asyncio.open_connection("127.0.0.1", self.port)
            self.ledger.posts += method == "POST"
            self.ledger.cuts += cut
            try:
                if cut and self.chance.random() < HALF:
                    content = content[: len(content) // 2]
                writer.write(head.encode() + content)
                await writer.drain()
                if cut:
                    raise ConnectionAbortedError("cut on purpose")
                return _parsed(await reader.read())
            finally:
                writer.transport.abort() if cut else writer.close()


def _parsed(answer: bytes) -> Answered:
    head, found, body = answer.partition(b"\r\n\r\n")
    if not found:
        raise EOFError("the answer has no end")
    lines = head.decode().split("\r\n")
    headers = [line.partition(": ") for line in lines[1:]]
    named = {name.lower(): words for name, _, words in headers}
    if int(named.get("content-length", len(body))) > len(body):
        raise EOFError("the answer is not whole")
    cookies = "; ".join(words for name, _, words in headers if name.lower() == "set-cookie")
    text = body.decode()
    return Answered(int(lines[0].split()[1]), named.get("location", ""), cookies, text)


def _words(page: str) -> str:
    """What stands on a page, with single spaces."""
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


class Phone(Sender):
    """A taster's phone: its card was opened once, and the cookie kept ever since."""

    def __init__(
        self, known: Comparison, trays: tuple[Tray, ...], seed: str, ref: str, proof: str
    ) -> None:
        super().__init__(known, trays, seed)
        self.ref, self.proof = ref, proof

    def page(self) -> str:
        return f"/t/{self.ref}?at=over"

    def target(self) -> str:
        return f"/t/{self.ref}/send"

    def cookies(self) -> str:
        return f"panel-tray={self.proof}"

    async def heard(self, form: Sent, answered: Answered) -> bool:
        if answered.status not in (302, 303):
            return False
        form.is_in()
        if form.receipt or self.chance.random() < LOOKS:
            try:
                shown = await self.ask("GET", answered.location, self.cookies())
            except (OSError, EOFError, TimeoutError):
                return True
            found = re.search(r"\d+ [A-Z]·\d+", shown.body)
            form.receipt = found[0] if found else form.receipt
        return True


class Laptop(Sender):
    """Somebody who keys paper cards in, signed in as an organiser."""

    cookie = ""

    def page(self) -> str:
        return f"/steward/{self.known.id}/{self.trays[0].sitting}/key"

    def target(self) -> str:
        return self.page()

    def cookies(self) -> str:
        return f"panel-signed-in={self.cookie}"

    def fields(self, form: Sent) -> list[tuple[str, str]]:
        return [*super().fields(form), ("card", card_number(form.tray))]

    async def heard(self, form: Sent, answered: Answered) -> bool:
        if answered.status not in (302, 303):
            return False
        # Its receipt is a sentence on the next page: which card, and what it is beside the others.
        told = dict(re.findall(r"[?&](done|copy)=(\w+)", answered.location))
        if told.get("done") != str(form.tray):
            self.ledger.wrong.append(f"card {form.tray} was acknowledged as {told}")
        form.fresh += told.get("copy") != "same"
        if form.fresh > 1:
            self.ledger.wrong.append(f"card {form.tray}, sent again, counts again: {told}")
        form.is_in()
        return True


class Camera(Laptop):
    """Somebody who photographs sheets of cards; `form.key` is the hash of the picture's file."""

    def __init__(
        self, known: Comparison, trays: tuple[Tray, ...], seed: str, pictures: Sequence[Picture]
    ) -> None:
        super().__init__(known, trays, seed)
        self.pictures = {one.digest: one for one in pictures}

    def page(self) -> str:
        return f"/steward/{self.known.id}/{self.trays[0].sitting}/photos"

    def filled(self) -> Sent:
        return Sent(0, self.chance.choice(tuple(self.pictures)), {})

    def fields(self, _form: Sent) -> list[tuple[str, str]]:
        return []

    def content(self, fields: list[tuple[str, str]], form: Sent) -> tuple[bytes, str]:
        line = "storm-of-the-night"
        part = f'--{line}\r\nContent-Disposition: form-data; name="'
        before = f'{part}csrf_token"\r\n\r\n{dict(fields)["csrf_token"]}\r\n{part}pictures"; '
        before += 'filename="cards.jpg"\r\nContent-Type: image/jpeg\r\n\r\n'
        whole = before.encode() + self.pictures[form.key].data + f"\r\n--{line}--\r\n".encode()
        return whole, f"multipart/form-data; boundary={line}"

    async def heard(self, form: Sent, answered: Answered) -> bool:
        if answered.status != 200:
            return False
        told = _words(answered.body)
        for tray in self.pictures[form.key].cards:
            card = {"card": card_number(tray)}
            if not any(said.id % card in told for said in SAVED.values()):
                return False
        form.is_in()
        return True


@dataclass(frozen=True)
class Life:
    """A load that runs until it is told to stop."""

    loop: asyncio.AbstractEventLoop
    ending: asyncio.Event
    done: Future[None]
    pool: ThreadPoolExecutor

    def stop(self) -> None:
        """Nothing more is sent; returns once every sender has heard or given up."""
        if not self.done.done():
            self.loop.call_soon_threadsafe(self.ending.set)
        try:
            self.done.result(4 * PATIENCE)
        finally:
            self.pool.shutdown(wait=False)


def let_loose(senders: Sequence[Sender], port: int, rate: float, chance: random.Random) -> Life:
    """Offers `rate` forms a second, each by a sender who has nothing under way, in a thread of its
    own. A sender who waits is passed over, as a taster who waits sends nothing."""
    for one in senders:
        one.port = port
    runner, ending = asyncio.Runner(), asyncio.Event()

    def run() -> None:
        with runner:
            runner.run(_offer(senders, rate, chance, ending))

    pool = ThreadPoolExecutor(1)
    return Life(runner.get_loop(), ending, pool.submit(run), pool)


async def _offer(
    senders: Sequence[Sender], rate: float, chance: random.Random, ending: asyncio.Event
) -> None:
    begun = time.monotonic()
    under_way: set[asyncio.Task[None]] = set()
    for due in _clock(begun, rate):
        wait = max(0.0, due - time.monotonic())
        try:
            await asyncio.wait_for(ending.wait(), wait)
            break
        except TimeoutError:
            pass
        idle = [one for one in senders if not one.busy]
        if idle:
            desks = [one for one in idle if isinstance(one, Laptop)]
            one = chance.choice(desks if desks and chance.random() < PAPER else idle)
            one.busy = True
            under_way.add(asyncio.create_task(one.one()))
        over = {task for task in under_way if task.done()}
        under_way -= over
        for task in over:
            task.result()  # a defect of the test itself must not look like silence
    await asyncio.gather(*under_way)
    await asyncio.sleep(0)  # what was closed is let go of


def _clock(begun: float, rate: float) -> Iterator[float]:
    place = 0
    while True:
        yield begun + place / rate
        place += 1
        if time.monotonic() - (begun + place / rate) > 1:  # after a halt no flood makes up for it
            begun = time.monotonic() - place / rate


def until_all_are_in(senders: Sequence[Sender], port: int) -> None:
    """Everybody sends what is not acknowledged until it is, one after the other."""

    async def everything() -> None:
        for one in senders:
            one.port = port
            for _ in range(40):
                if one.pending is None or one.pending.state is State.ACKNOWLEDGED:
                    break
                await one.one()

    with ThreadPoolExecutor(1) as pool:
        pool.submit(asyncio.run, everything()).result()
