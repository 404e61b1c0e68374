"""Tickets and a year, reckoned from the text of a roll: JSON of the figures on standard output.

From the definitions, not from the program: what one scale has shown errs together, readings in quadrature (JCGM 100:2008,
5.1.5, 5.2.2); money and masses are shared out by largest remainder, so that the shares are the whole.
Usage: reckon_year.py TODAY STALE_AFTER FLOOR < ROLL
"""

import json
import sys
from collections import defaultdict
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import floor

from reckon import DROPS, FEMTO, TODAY, Books, Reading, bound, kg_up, mass_view, offer, own_error, up

SORTS = ["consumables", "disposal", "tools", "fuel", "fees", "feed", "other"]
ROW = 3


def shares(total, weights, step):
    """In whole steps: each rounded down, and the rest one by one to those that lost most, the first of equals first."""
    weights = [max(Fraction(weight), Fraction(0)) for weight in weights]
    if not weights:
        return []
    if not sum(weights):
        return [Decimal(0)] * (len(weights) - 1) + [total]
    size = abs(Fraction(total) / Fraction(step))
    exact = [size * weight / sum(weights) for weight in weights]
    parts = [floor(part) for part in exact]
    order = sorted(range(len(parts)), key=lambda at: (parts[at] - exact[at], at))
    for at in order[: int(size - sum(parts))]:
        parts[at] += 1
    return [Decimal(part) * step * (-1 if total < 0 else 1) for part in parts]


class Market(Books):
    def __init__(self, lines):
        self.tickets, self.loads, self.payments, self.trips, self.spent = {}, {}, [], [], []
        super().__init__(lines)

    def fold(self, event):
        seq, kind, body = event["seq"], event["kind"], event["body"]
        self.day = date.fromisoformat(event["wall"][:10])
        match kind:
            case "ticket-taken":
                self.tickets[seq] = body | {"id": seq, "void": False, "moves": []}
            case "load-moved":
                self.entry(seq, "load", body["fill"], Decimal(body["mass"]), Reading())
                self.loads[seq] = body
                if "ticket" in body:
                    self.tickets[body["ticket"]]["moves"].append(seq)
            case "ticket-voided":
                self.tickets[body["ticket"]]["void"] = True
                for move in body["moves"]:
                    self.entries[move]["on"] = False
            case "payment-came":
                self.payments.append(body)
            case "run-set-out":
                to = ", ".join(self.names[stop] for stop in body["stops"])
                self.trips.append({"day": body["day"], "to": to, "fetching": False, "distance_km": None, "minutes": None})
            case "money-spent":
                self.spent.append(body)
            case "arrival-came":
                span, far = body.get("span"), body.get("distance_km")
                if span is not None or far is not None:
                    minutes = None if span is None else span // 60_000_000_000
                    self.trips.append({"day": body["day"], "to": body["from"], "fetching": True, "distance_km": far, "minutes": minutes})
            case "ticket-settled":
                pass
            case _:
                super().fold(event)

    def standing(self, ticket):
        """What a ticket moved and still counts."""
        return [self.loads[move] for move in ticket["moves"] if self.entries[move]["on"]]

    def sold(self, ticket, lines):
        return [move for move in self.standing(ticket) if move["why"] == "sold" and move["line"] in lines]

    def fill_by_scale(self, ticket, fill):
        """What a fill held but for this ticket, by the stretch of the scale that showed it."""
        entries = [(n, e) for n, e in self.entries.items() if e["on"] and e["fill"] == fill]
        came = sum((e["grams"] for _, e in entries if e["kind"] != "load"), Decimal(0))
        others = sum((e["grams"] for n, e in entries if e["kind"] == "load" and n not in ticket["moves"]), Decimal(0))
        by = defaultdict(Decimal)
        for n, e in entries:
            if e["here"] and e["kind"] != "load":
                by[self.change(n)] += e["grams"]
        changes = sorted(by)
        weights = [by[change] for change in changes] + [came - sum(by.values(), Decimal(0))]
        # Weights count by the microgram.
        weights = [floor(weight * 1_000_000) for weight in weights]
        parts = shares(came + others, weights, 1 / FEMTO)
        scales = [self.stretch(change) for change in changes] + [None]
        return [(scale, part) for scale, part in zip(scales, parts) if part]


def read(line):
    """What was delivered, what is off, what is paid for."""
    net = Decimal(line["net"])
    base = Decimal(line["gross"]) - Decimal(line["tare"]) if "gross" in line and "tare" in line else None
    of = net if base is None else base
    off = Decimal(line["off"]) if "off" in line else Decimal(0)
    if "off" not in line and "off_percent" in line:
        off = (of * Decimal(line["off_percent"]) / 100).quantize(1 / FEMTO, ROUND_HALF_UP)
    if base is not None and net != base and off and abs(net - (base - off)) <= Decimal(line["digit"]):
        return base, base - net, net
    return net, off, net - off


def worth(ticket):
    if "total" in ticket:
        return Decimal(ticket["total"])
    if any("amount" not in line for line in ticket["lines"]):
        return None
    return sum((Decimal(line["amount"]) for line in ticket["lines"]), Decimal(0)) - sum(
        (Decimal(off["amount"]) for off in ticket.get("off", [])), Decimal(0)
    )


def groups(books, ticket):
    """Lines that hang together by a fill, found by walking from one to the next."""
    fills = {n: {move["fill"] for move in books.sold(ticket, [n])} for n in range(1, len(ticket["lines"]) + 1)}
    left, found = set(fills), []
    while left:
        group, edge = set(), {min(left)}
        while edge:
            line = edge.pop()
            group.add(line)
            edge |= {other for other in left - group if fills[line] & fills[other]}
        left -= group
        found.append(sorted(group))
    return found


def side(books, ticket, lines):
    """Ours by scale, theirs, and the variance of the readings of each; none where a part was not weighed at home."""
    sold = books.sold(ticket, lines)
    if not sold:
        return None
    fills = {move["fill"] for move in sold}
    whole = {move["fill"] for move in books.standing(ticket) if move["whole"] and move["fill"] in fills}
    ours, readings = [], Decimal(0)
    for fill in sorted(whole):
        ours += books.fill_by_scale(ticket, fill)
        readings += books.of(fill)[1].variance()
    for move in sold:
        if move["fill"] in whole:
            continue
        if "weighed" not in move:
            return None
        part = move["weighed"]
        ours.append((books.stretch(ticket["id"]) if part["here"] else None, Decimal(part["mass"])))
        readings += Decimal(part["division"]) ** 2 / 6
    theirs = sum((-Decimal(move["mass"]) for move in sold), Decimal(0))
    theirs += sum((Decimal(ticket["lines"][n - 1].get("refused", 0)) for n in lines), Decimal(0))
    division = lambda n: Decimal(ticket.get("division", ticket["lines"][n - 1]["digit"]))
    return ours, theirs, readings, sum((division(n) ** 2 / 6 for n in lines), Decimal(0))


def compared(books, ours, theirs, home, there):
    by = defaultdict(Decimal)
    for scale, grams in ours:
        by[scale] += grams
    own, unbounded = own_error(books, by)
    mass = sum((grams for _, grams in ours), Decimal(0))
    readings = home + there
    return {"ours": mass, "theirs": theirs, "readings": readings, "whole": readings + own, "unbounded": unbounded}


def expanded(variance, factor):
    return up((factor * factor * variance).sqrt(), -6)


def verdict(c):
    difference, twice = c["theirs"] - c["ours"], expanded(c["whole"], 2)
    if c["ours"] <= 0 or twice * 10 > c["ours"]:
        return "cannot-tell"
    if abs(difference) <= twice:
        return "agrees"
    if c["unbounded"] > 0:
        return "cannot-tell"
    if difference > 0:
        return "over"
    return "short" if -difference > expanded(c["whole"], 3) else "looks-short"


def runs_short(books, c, ours):
    """Beyond the readings and all that our own scale may be off."""
    off = Decimal(0)
    for scale, grams in ours:
        ppm = None if scale is None else bound([k for n, k in books.checks.items() if n not in books.voids and books.stretch(n) == scale])
        standard = 0 if ppm is None else int(up((Decimal(ppm) ** 2 / 3).sqrt(), 0))
        off += Decimal(int(int(int(grams * FEMTO) * standard / Decimal(1_000_000)) * Decimal("1.733"))) / FEMTO
    return not c["unbounded"] and c["ours"] - c["theirs"] > expanded(c["readings"], 2) + off


def shown(c):
    return {
        "ours": mass_view(c["ours"]),
        "theirs": mass_view(c["theirs"]),
        "difference": mass_view(c["theirs"] - c["ours"]),
        "uncertainty_kg": kg_up(c["whole"]),
        "readings_uncertainty_kg": kg_up(c["readings"]),
        "unbounded": mass_view(c["unbounded"]),
    }


def against_quote(books, ticket, line, paid):
    """What was paid less what the buyer had quoted for as much before."""
    key = (line.get("grade"), ticket["buyer"], ticket["currency"])
    known = [
        (quote["day"], n, quote)
        for n, quote in books.quotes.items()
        if n < ticket["id"] and (quote["grade"], quote["buyer"], quote["price"]["currency"]) == key and quote["day"] <= ticket["day"]
    ]
    if not known or "amount" not in line:
        return None
    value = offer(max(known)[2], paid)["value"]
    return None if value is None else f"{Decimal(line['amount']) - Decimal(value)}"


def tickets(books):
    rows, before = [], defaultdict(list)
    for ticket in sorted(books.tickets.values(), key=lambda ticket: (ticket["day"], ticket["id"])):
        loads, sides = [], []
        for lines in groups(books, ticket):
            one = side(books, ticket, lines)
            load = {"lines": lines, "verdict": "cannot-tell", "compared": None}
            if one:
                c = compared(books, *one)
                sides.append(one)
                load |= {"verdict": verdict(c), "compared": shown(c)}
                row = before[ticket["buyer"]][-ROW + 1 :]
                repeated = len(row) == ROW - 1 and all(row) and runs_short(books, c, one[0])
                if load["verdict"] == "looks-short" and repeated:
                    load["verdict"] = "short"
            loads.append(load)
        ours = [part for one in sides for part in one[0]]
        theirs, home, there = (sum((one[at] for one in sides), Decimal(0)) for at in (1, 2, 3))
        whole = compared(books, ours, theirs, home, there) if sides else None
        if not ticket["void"]:
            before[ticket["buyer"]].append(whole is not None and runs_short(books, whole, ours))
        total, came = worth(ticket), [p for p in books.payments if p["ticket"] == ticket["id"]]
        paid = sum((Decimal(payment["amount"]["amount"]) for payment in came), Decimal(0))
        lines = []
        for line in ticket["lines"]:
            _, off, left = read(line)
            lines.append({"off": mass_view(off), "paid": mass_view(left), "against_quote": against_quote(books, ticket, line, left)})
        rows.append({"id": ticket["id"], "lines": lines, "loads": loads, "whole": whole and shown(whole), "voided": ticket["void"]})
        rows[-1] |= {"total": None if total is None else f"{total:.2f}", "paid": f"{paid:.2f}"}
        rows[-1]["unpaid"] = None if total is None else f"{total - paid:.2f}"
    return rows[::-1]


def parts(books, ticket):
    found = []
    for line in ticket["lines"]:
        if "amount" in line:
            grade = books.names[line["grade"]] if "grade" in line else line["text"]
            found.append((grade, read(line)[2], Decimal(line["amount"])))
    beside = (worth(ticket) or Decimal(0)) - sum((amount for _, _, amount in found), Decimal(0))
    return found + ([(None, Decimal(0), beside)] if beside else [])


def rows_of(sums):
    rows = []
    for month, buyer, grade, currency in sorted(sums, key=lambda key: (key[0], key[1], key[2] is not None, key[2] or "", key[3])):
        mass, amount = sums[month, buyer, grade, currency]
        rows.append({"month": f"{TODAY.year}-{month:02}", "buyer": buyer, "grade": grade, "mass": mass_view(mass)})
        rows[-1]["amount"] = {"amount": f"{amount:.2f}", "currency": currency}
    return rows


def year(books):
    this = lambda day: day.startswith(f"{TODAY.year}-")
    month = lambda day: int(day[5:7])
    earned, received = defaultdict(lambda: [Decimal(0)] * 2), defaultdict(lambda: [Decimal(0)] * 2)
    unpaid, lots = Decimal(0), defaultdict(lambda: [set(), Decimal(0)])
    for ticket in books.tickets.values():
        if ticket["void"]:
            continue
        split, buyer = parts(books, ticket), books.names[ticket["buyer"]]
        came = [p for p in books.payments if p["ticket"] == ticket["id"]]
        for payment in came:
            if this(payment["day"]):
                amount = Decimal(payment["amount"]["amount"])
                whole_cents = [part[2].quantize(Decimal("0.01"), ROUND_HALF_UP) for part in split]
                by = shares(amount, whole_cents, Decimal("0.01")) if split else [amount]
                for (grade, _, _), share in zip(split or [(None, 0, 0)], by):
                    received[month(payment["day"]), buyer, grade, payment["amount"]["currency"]][1] += share
        if not this(ticket["day"]):
            continue
        for grade, mass, amount in split:
            row = earned[month(ticket["day"]), buyer, grade, ticket["currency"]]
            row[0] += mass
            row[1] += amount
        unpaid += (worth(ticket) or Decimal(0)) - sum((Decimal(p["amount"]["amount"]) for p in came), Decimal(0))
        for n, line in enumerate(ticket["lines"], 1):
            sold = books.sold(ticket, [n])
            if "amount" not in line:
                continue
            masses = [floor(-Decimal(move["mass"]) * 1_000_000) for move in sold]
            for move, part in zip(sold, shares(Decimal(line["amount"]), masses, Decimal("0.01"))):
                drops = [e for e in books.entries.values() if e["on"] and e["fill"] == move["fill"] and e["kind"] in DROPS]
                weights = [floor(drop["grams"] * 1_000_000) for drop in drops]
                for drop, share in zip(drops, shares(part, weights, Decimal("0.01"))):
                    if drop["lot"] is not None:
                        lots[drop["lot"]][0].add(ticket.get("number", str(ticket["id"])))
                        lots[drop["lot"]][1] += share
    money = lambda amount: [{"amount": f"{amount:.2f}", "currency": "EUR"}] if amount else []
    spent = defaultdict(Decimal)
    for body in books.spent:
        if this(body["day"]):
            spent[month(body["day"]), SORTS.index(body["sort"]), body["amount"]["currency"]] += Decimal(body["amount"]["amount"])
    return {
        "earned": rows_of(earned),
        "received": rows_of(received),
        "unpaid": money(unpaid),
        "spent": [
            {"month": f"{TODAY.year}-{month:02}", "sort": SORTS[sort], "amount": {"amount": f"{amount:.2f}", "currency": currency}}
            for (month, sort, currency), amount in sorted(spent.items())
        ],
        "trips": sorted((trip for trip in books.trips if this(trip["day"])), key=lambda trip: trip["day"]),
        "lots": [
            {"lot": lot, "feed": books.names[books.lots[lot]["feed"]], "tickets": sorted(names), "received": money(amount)}
            for lot, (names, amount) in sorted(lots.items())
        ],
    }


books = Market(sys.stdin)
print(json.dumps({"year": year(books), "tickets": tickets(books)}))
