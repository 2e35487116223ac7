"""A load over real sockets, light enough to leave the processor to the service: one process, one
loop, connections that are kept open, requests that were written beforehand."""

import asyncio
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

PATIENCE = 20.0


@dataclass
class Load:
    """What came of a load. `seconds` holds how long each answer took, in the order of answers;
    `moments` when each came, counted from the start."""

    seconds: list[float] = field(default_factory=list)
    moments: list[float] = field(default_factory=list)
    statuses: Counter[str] = field(default_factory=Counter)
    lasted: float = 0.0

    @property
    def rate(self) -> float:
        """Answers a second."""
        return len(self.seconds) / self.lasted

    def quantile(self, share: float) -> float:
        """Seconds within which that share of the answers came."""
        ordered = sorted(self.seconds)
        return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def as_fast_as_answered(ports: Sequence[int], requests: Sequence[bytes], connections: int) -> Load:
    """Every connection sends its next request as soon as the last one is answered."""
    return asyncio.run(_closed(ports, requests, connections))


def at_a_rate(
    ports: Sequence[int], requests: Sequence[bytes], connections: int, rate: float
) -> Load:
    """Requests leave by the clock, whatever the service does; the time is counted from the moment
    at which a request was due, so that one that waits for a free connection counts as slow."""
    return asyncio.run(_open(ports, requests, connections, rate))


async def _closed(ports: Sequence[int], requests: Sequence[bytes], connections: int) -> Load:
    load = Load()
    waiting = iter(requests)
    begun = time.perf_counter()

    async def one(place: int) -> None:
        phone = _Phone(ports[place % len(ports)])
        for request in waiting:
            sent = time.perf_counter()
            status = await phone.ask(request)
            now = time.perf_counter()
            load.seconds.append(now - sent)
            load.moments.append(now - begun)
            load.statuses[status] += 1
        phone.close()

    await asyncio.gather(*(one(place) for place in range(connections)))
    load.lasted = time.perf_counter() - begun
    return load


async def _open(
    ports: Sequence[int], requests: Sequence[bytes], connections: int, rate: float
) -> Load:
    load = Load()
    due: asyncio.Queue[tuple[float, bytes] | None] = asyncio.Queue()
    begun = time.perf_counter()

    async def clock() -> None:
        for place, request in enumerate(requests):
            moment = begun + place / rate
            await asyncio.sleep(max(0.0, moment - time.perf_counter()))
            due.put_nowait((moment, request))
        for _ in range(connections):
            due.put_nowait(None)

    async def one(place: int) -> None:
        phone = _Phone(ports[place % len(ports)])
        while (item := await due.get()) is not None:
            moment, request = item
            status = await phone.ask(request)
            now = time.perf_counter()
            load.seconds.append(now - moment)
            load.moments.append(now - begun)
            load.statuses[status] += 1
        phone.close()

    await asyncio.gather(clock(), *(one(place) for place in range(connections)))
    load.lasted = time.perf_counter() - begun
    return load


class _Phone:
    """One connection, opened again whenever the service has closed it."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, request: bytes) -> str:
        """The status of the answer and, of a redirect, where it leads; or what broke."""
        try:
            return await asyncio.wait_for(self._ask(request), PATIENCE)
        except (OSError, EOFError, TimeoutError) as failure:
            self.close()
            return type(failure).__name__

    def close(self) -> None:
        if self.streams is not None:
            self.streams[1].close()
            self.streams = None

    async def _ask(self, request: bytes) -> str:
        if self.streams is None:
            self.streams = await asyncio.open_connection("127.0.0.1", self.port)
        reader, writer = self.streams
        writer.write(request)
        head = await reader.readuntil(b"\r\n\r\n")
        lines = head.split(b"\r\n")
        headers = dict(line.lower().split(b": ", 1) for line in lines[1:] if b": " in line)
        await reader.readexactly(int(headers.get(b"content-length", b"0")))
        if headers.get(b"connection") == b"close":
            self.close()
        place = headers.get(b"location", b"").rpartition(b"/")[2].decode()
        return f"{lines[0].split()[1].decode()} {place}".strip()
