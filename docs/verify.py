"""Check an unpacked bundle without Panel: python verify.py FOLDER [SEAL]. See checking.md."""
import csv, hashlib, hmac, itertools, json, pathlib, struct, sys
T = {path.name: path.read_text("utf-8") for path in pathlib.Path(sys.argv[1]).glob("*.*")}
S, ABOUT, F = (json.loads(T[f"{name}.json"]) for name in ("sealed", "comparison", "findings"))
CUPS, KEY, right = csv.reader(T["cups.csv"].split()[1:]), bytes.fromhex(S["secret"]), []
DOC, PLAN, SEAL = S["plan"], S["plan"]["plan"], "".join(sys.argv[2:]) or ABOUT["seal"]["digest"]
NO, SIZE = " ".join(["0123456789", "9876543210", *PLAN["excluded_codes"]]), PLAN["wave_size"]
POOL = [c for c in map(str, range(100, 999)) if len({*c}) > 2 and {*c} - {*"01689"} and c not in NO]
def words(name):  # draw.md says what is done from here to "yield"
    texts = (name.encode() + at.to_bytes(9, "big") for at in itertools.count())  # 0, and 8 bytes
    return (w for text in texts for w in struct.unpack(">4Q", hmac.digest(KEY, text, "sha256")))
def shuffle(items, stream):
    for n in range(len(items), 1, -1):
        at = next(word for word in stream if word < 2**64 - 2**64 % n) % n
        items[n - 1], items[at] = items[at], items[n - 1]
    return items
def deal(sitting, every, trays):
    orders, codes, deck = words(f"{sitting['id']}/orders"), words(f"{sitting['id']}/codes"), []
    step = 1 if sitting["kind"] != "table" else trays if DOC["blinding"] == "single" else SIZE
    for dealt in [], []:  # the planned trays, and as many to spare
        for at in range(0, trays, step):
            turn = sorted(shuffle(every[:], orders), key=([] if step == 1 else dealt).count)
            whole, rest = divmod(min(step, trays - at), len(every))
            dealt += shuffle(every * whole + turn[:rest], orders)
        for at, order in enumerate(dealt):
            if at % SIZE == 0 and len("".join(dealt[at : at + SIZE])) > len(deck):
                deck += sorted(shuffle(POOL[:], codes), key=deck.__contains__)
            yield [[deck.pop(0), beer] for beer in order]
HELD = {n: [row[2:] for row in rows] for n, rows in itertools.groupby(CUPS, lambda row: row[0])}
ALL = DOC["sittings"] + [one["sitting"] for one in ABOUT["sittings"] if "sitting" in one]
for row in csv.DictReader(T["ballots.csv"].splitlines()):
    held, said = dict(HELD[row["tray"]]), row["answer"].split()
    got, two = "".join(held.get(code, "") for code in said), len({*held.values()}) > 1
    signs = [(held[w[:3]] == "A") == (w[4:] == "yes") for w in said if ":" in w]
    signs += [two == (w == "different") for w in said if w in ("same", "different")]
    n, k = [beer for _, beer in HELD[row["tray"]]].count(got[:1]), len({*got})
    ok = {"triangle": n, "duo-trio": n - 1, "tetrad": k, "two-out-of-five": n * k - 1}
    if PLAN["method"] == "ranking":  # one word for each place: a beer's places add up to its words
        right += [row["counts_as"] + beer for at, beer in enumerate(got, 1) for _ in range(at)]
    else:
        ok = ok.get(PLAN["method"], {*got} == {PLAN["stronger"] or "A"})
        right += [row["counts_as"]] * ((ok == 1) + sum(signs))
SUMS = [(f["group"], f.get("rank sums") or {"": f.get("correct", 0)}) for f in F["findings"]]
SAID = [group + beer for group, sums in SUMS for beer in sums for _ in range(int(sums[beer]))]
print("seal", hashlib.sha256(T["sealed.json"].encode()).hexdigest().startswith(SEAL))
print("key", {n: HELD[n] for n in S["key"]} == S["key"] and json.loads(T["plan.json"]) == DOC)
print("draw", [t for s in ALL for t in deal(s, DOC["orders"], s["planned"])] == [*HELD.values()])
print("right", sorted(SAID) == sorted(g for g in right if g.startswith(tuple(dict(SUMS)))))
