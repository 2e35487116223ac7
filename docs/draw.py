"""Repeat a sitting's draw from its published facts: python draw.py < facts.json (see draw.md)."""

import hmac
import json
import sys

F = json.load(sys.stdin)
EVERY, SIZE = F["orders"], F["wave_size"]
STEP = 1 if F["independent"] else 10**9 if F["one_shuffle"] else SIZE
pool = [c for c in map(str, range(100, 1000)) if len({*c}) == 3 and {*c} - {*"01689"}]
pool = [c for c in pool if c not in " ".join(["0123456789", "9876543210", *F["excluded_codes"]])]


def words(purpose, count=0):
    while True:
        message = f"{F['sitting']}/{purpose}".encode() + b"\0" + count.to_bytes(8, "big")
        block, count = hmac.digest(bytes.fromhex(F["secret"]), message, "sha256"), count + 1
        yield from (int.from_bytes(block[at : at + 8], "big") for at in (0, 8, 16, 24))


def below(n, stream):
    return next(word for word in stream if word < 2**64 - 2**64 % n) % n


def shuffle(items, stream):
    for last in range(len(items) - 1, 0, -1):
        other = below(last + 1, stream)
        items[last], items[other] = items[other], items[last]
    return items


def deal(size, before):
    turn = sorted(shuffle(EVERY[:], orders), key=before.count)
    return shuffle(EVERY * (size // len(EVERY)) + turn[: size % len(EVERY)], orders)


def half(wave, before, told):
    before += wave
    left = shuffle([*range(len(wave))], lots)
    for _ in range((len(before) - 2 * len(told) + below(2, lots)) // 2):
        left.remove(at := max(left, key=lambda p: before.count(wave[p]) - 2 * told.count(wave[p])))
        told.append(wave[at])
    return [at not in left for at in range(len(wave))]


orders, codes, lots = map(words, ("orders", "codes", "informed"))
deck, number = [], F["first_number"]
for trays in F["planned"], F["planned"] * (F["spare_factor"] - 1):
    dealt, informed, before, told = [], [], [], []
    for at in range(0, trays, STEP):
        wave = deal(min(STEP, trays - at), [] if F["independent"] else dealt)
        dealt, informed = dealt + wave, informed + half(wave, before, told)
    for at, order in enumerate(dealt):
        if at % SIZE == 0 and len("".join(dealt[at : at + SIZE])) > len(deck):
            deck += sorted(shuffle(pool[:], codes), key=deck.__contains__)
        knows = ["informed"] * (informed[at] and F.get("split", False))
        print(number, order, *[deck.pop(0) for _ in order], *knows)  # noqa: T201
        number += 1
