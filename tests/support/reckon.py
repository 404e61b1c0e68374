"""The yard-run report and the report on an hour, reckoned from the text of a roll: JSON of the figures on standard output.

From the definitions, not from the program: uncertainties by JCGM 100:2008 (F.2.2.1, 5.1.5: a sum rests on each reading
as often as it is in it), ratios total over total with Cochran's standard error, Student's t from scipy, units from pint.
Usage: reckon.py TODAY STALE_AFTER FLOOR [AS_OF] < ROLL
"""

import json
import sys
from collections import defaultdict
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, getcontext

import pint
from scipy.stats import t

getcontext().prec = 60
units = pint.UnitRegistry(non_int_type=Decimal)
PINT = {"short-cwt": "hundredweight", "ozt": "troy_ounce", "short-ton": "short_ton", "long-ton": "long_ton", "tonne": "tonne"}
TODAY, STALE, FLOOR = date.fromisoformat(sys.argv[1]), int(sys.argv[2]), Decimal(sys.argv[3])
PAST = len(sys.argv) > 4
DAY = date.fromisoformat(sys.argv[4]) if PAST else TODAY
# Kinds of entries: what came out of work, and what only the bench's own scale can have shown.
DROPS, SHOWN = ("drop", "elsewhere"), ("drop", "out", "intake", "transfer", "crumbs", "unseen")
FEMTO = Decimal(10) ** 15


def grams_of(unit):
    return units.Quantity(Decimal(1), PINT.get(unit, unit)).to("gram").magnitude


def written(value, places, rule=ROUND_HALF_UP):
    return f"{value.quantize(Decimal(1).scaleb(-places), rule):f}"


def mass_view(grams):
    kg, lb = grams / 1000, grams / grams_of("lb")
    return {"kg": written(kg, 3, ROUND_HALF_EVEN), "lb": written(lb, 3, ROUND_HALF_EVEN)}


class Reading:
    """A sum of readings, each as often as it is in it, and of what was weighed elsewhere."""

    def __init__(self, readings=None, other=Decimal(0)):
        self.readings, self.other = readings or {}, other

    def variance(self):
        return self.other + sum(n * n * d * d / 12 for n, d in self.readings.values())


def summed(parts):
    total, other = {}, Decimal(0)
    for part in parts:
        other += part.other
        for key, (n, d) in part.readings.items():
            total[key] = (total.get(key, (0, d))[0] + n, d)
    return Reading(total, other)


def source(told):
    if told["from"] == "estimate":
        half = (Decimal(told["high"]) - Decimal(told["low"])) / 2
        return Reading(other=half * half / 3)
    d = Decimal(told["division"])
    return Reading(other=d * d / 6)


class Books:
    def __init__(self, lines):
        self.names, self.bins, self.fills, self.quotes = {}, {}, {}, {}
        self.entries, self.lots, self.legs = {}, {}, {}
        self.steps, self.divisions = {}, {}
        self.running, self.feed, self.last = None, None, None
        # Where the scale may have changed, as it was told; and what was taken back.
        self.changes, self.checks, self.moves, self.voids = [0], {}, [], set()
        self.counts = defaultdict(list)
        for line in lines:
            self.fold(json.loads(line.rsplit("\t", 1)[0]))

    def lot_now(self, feed):
        """The open lot of a feed; of two the one that was opened last."""
        open_lots = [(lot["opened"], n) for n, lot in self.lots.items() if lot["feed"] == feed and lot["open"]]
        return max(open_lots)[1] if open_lots else None

    def entry(self, seq, kind, fill, grams, reading, lot=None):
        on = kind not in ("drop", "out", "transfer", "intake")
        self.entries[seq] = {"kind": kind, "fill": fill, "grams": grams, "reading": reading, "lot": lot, "on": on}
        self.entries[seq] |= {"day": self.day, "here": kind in SHOWN}

    def fold(self, event):
        seq, kind, body, mono = event["seq"], event["kind"], event["body"], event["mono"]
        if self.running is not None:
            lot = self.lot_now(self.running)
            if lot is not None:
                self.lots[lot]["clock"].append((seq, mono - self.last))
        self.last = mono
        self.day = date.fromisoformat(event["wall"][:10])
        match kind:
            case "feed-made" | "grade-made" | "buyer-made":
                self.names[seq] = body["name"]
            case "bin-made":
                self.bins[seq] = {"number": body["number"], "grade": body["grade"], "capacity": body["capacity"]}
                self.fresh(seq, seq, event)
            case "quote-given":
                self.quotes[seq] = body
            case "rate-quoted":
                (per, price), = body["rate"].items()
                told = {"breaks": [], "minimum": None, "deduction": None} | body
                self.quotes[seq] = told | {"price": price | ({"per": "piece"} if per == "piece" else {})}
            case "pieces-counted":
                self.counts[body["fill"]].append((self.day, body["pieces"], self.of(body["fill"])[0]))
            case "quote-withdrawn":
                del self.quotes[body["quote"]]
            case "epoch-opened":
                self.division = Decimal(body["division"])
            case "session-started":
                self.running = self.feed = body["feed"]
            case "leg-began":
                self.running = self.feed = body["feed"]
            case "session-paused" | "session-ended":
                self.running = None
            case "session-resumed":
                self.running = self.feed
            case "lot-entered":
                self.begin_lot(seq, body, source(body["source"]))
            case "intake-landed":
                self.begin_lot(seq, body, self.steps[body["step"]])
                self.entry(seq, "intake", None, Decimal(body["mass"]), self.steps[body["step"]])
            case "lot-closed":
                self.lots[body["lot"]]["open"] = False
                self.lots[body["lot"]]["turns"].append((seq, self.day))
            case "lot-reopened":
                self.lots[body["lot"]] |= {"open": True, "opened": seq}
                self.lots[body["lot"]]["turns"].append((seq, self.day))
            case "minutes-spent":
                self.lots[body["lot"]]["off"] += body["span"]
            case "stepped":
                end = lambda rest: (event["epoch"], rest["since"])
                self.steps[seq] = Reading({end(body["from"]): (-1, self.division), end(body["to"]): (1, self.division)})
            case "drop-landed":
                if body.get("transfer"):
                    self.entry(seq, "transfer", body["fill"], Decimal(body["mass"]), self.steps[body["step"]])
                else:
                    lot = self.lot_now(self.feed)
                    self.entry(seq, "drop", body["fill"], Decimal(body["mass"]), self.steps[body["step"]], lot)
            case "taken-out":
                self.entry(seq, "out", body["fill"], -Decimal(body["mass"]), self.steps[body["step"]])
            case "caught-up" | "crumbs-settled":
                apart = Reading(other=self.division**2 / 6)
                self.entry(seq, "unseen" if kind == "caught-up" else "crumbs", body["fill"], Decimal(body["mass"]), apart)
            case "check-weighed":
                self.checks[seq] = body | {"day": min(self.day, TODAY)}
            case "scale-disturbed":
                self.changes.append(seq)
                self.moves.append(seq)
            case "record-voided":
                self.voids.add(body["record"])
            case "weight-entered":
                lot = self.lot_now(self.feed) if body["session"] else None
                self.entry(seq, "elsewhere", body["fill"], Decimal(body["mass"]), source(body["source"]), lot)
            case "opening-stock":
                self.entry(seq, "stock", body["fill"], Decimal(body["mass"]), source(body["source"]))
            case "confirmed":
                self.entries[body["entry"]]["on"] = True
            case "drop-voided":
                self.entries[body["entry"]]["on"] = False
            case "drop-adjusted":
                self.entries[body["entry"]] |= {"grams": Decimal(body["mass"]), "reading": source(body["source"]), "here": False}
            case "drops-moved":
                for entry in body["entries"]:
                    self.entries[entry]["fill"] = body["fill"]
            case "bin-emptied":
                self.fills[body["fill"]]["closed"] = self.day
                self.fresh(body["bin"], seq, event)
            case "bin-tipped":
                moved = Reading(other=self.of(body["from_fill"])[1].variance())
                same = lambda entry: self.change(entry) == self.change(seq)
                here = [e["grams"] for n, e in self.entries.items() if e["on"] and e["here"] and same(n) and e["fill"] == body["from_fill"]]
                self.entry(seq, "tipped", body["to_fill"], Decimal(body["mass"]), moved)
                self.entries[seq]["here"] = bool(here) and sum(here) == Decimal(body["mass"])
                self.fills[body["from_fill"]]["closed"] = self.day
                self.fresh(body["from"], seq, event)
            case "store-founded" | "epoch-closed" | "bin-full":
                pass
            case _:
                sys.exit(f"no reckoning for {kind}")

    def begin_lot(self, seq, body, reading):
        self.lots[seq] = {"feed": body["feed"], "open": True, "opened": seq, "grams": Decimal(body["mass"]), "reading": reading}
        self.lots[seq] |= {"day": self.day, "turns": [], "clock": [], "off": 0}

    def change(self, seq):
        """The last change of the scale that was told before an event, taken back or not."""
        return max(at for at in self.changes if at <= seq)

    def stretch(self, seq):
        """Where the stretch of the scale began that an event lies in."""
        return max((at for at in self.moves if at <= seq and at not in self.voids), default=0)

    def fresh(self, bin, seq, event):
        self.fills[seq] = {"bin": bin, "grade": self.bins[bin]["grade"], "day": self.day, "closed": None}
        self.bins[bin]["fill"] = seq

    def of(self, fill):
        there = [entry for _, entry in self.there(fill)]
        drops = sum(entry["kind"] in DROPS for entry in there)
        return sum((entry["grams"] for entry in there), Decimal(0)), summed(entry["reading"] for entry in there), drops

    def there(self, fill):
        by_then = lambda entry: not PAST or entry["day"] <= DAY
        return [(n, e) for n, e in self.entries.items() if e["on"] and e["fill"] == fill and by_then(e)]

    def counted(self, fill):
        """The pieces of a fill as they were counted last, and what lay there then."""
        by_then = [count[1:] for count in self.counts[fill] if not PAST or count[0] <= DAY]
        return by_then[-1] if by_then else (None, None)

    def in_force(self):
        held = {}
        for n, quote in self.quotes.items():
            key = (quote["grade"], quote["buyer"], quote["price"]["currency"])
            day = date.fromisoformat(quote["day"])
            if day <= DAY and (key not in held or held[key][:2] < (day, n)):
                held[key] = (day, n, quote)
        return {key: quote for key, (_, _, quote) in held.items()}


def age(quote):
    return (DAY - date.fromisoformat(quote["day"])).days


def per_gram(quote, amount):
    left = 1 - Decimal(quote["deduction"] or 0) / 100
    return Decimal(amount) * left / grams_of(quote["price"]["per"])


def cents(value):
    return value.quantize(Decimal("0.01"), ROUND_HALF_UP)


def kg_up(variance):
    return written(2 * variance.sqrt() / 1000, 4, ROUND_CEILING)


def by_piece(quote):
    return quote["price"]["per"] == "piece"


def offer(quote, grams, pieces=None):
    if quote is None:
        return None
    amount = quote["price"]["amount"]
    for step in quote["breaks"]:
        if grams >= Decimal(step["from"]):
            amount = step["amount"]
    short = quote["minimum"] is not None and grams < Decimal(quote["minimum"])
    short = short or (by_piece(quote) and pieces is None)
    value = None if short else cents(pieces * Decimal(amount) if by_piece(quote) else grams * per_gram(quote, amount))
    return {"value": None if short else f"{value}", "quote_day": quote["day"], "quote_age_days": age(quote), "stale": age(quote) > STALE}


def up(value, exponent):
    return value.quantize(Decimal(1).scaleb(exponent), ROUND_CEILING)


def bound(checks):
    """What the last day of checks bounds a scale to, in parts per million: its best, but the worst that it cannot be true for."""
    judged = []
    for check in checks:
        if check.get("within") is None or check["day"] != checks[-1]["day"]:
            continue
        nominal, division = Decimal(check["nominal"]), Decimal(check["division"])
        error = abs(Decimal(check["shown"]) - nominal)
        expanded = up(2 * (division**2 / 12 + Decimal(check["within"]) ** 2 / 3).sqrt(), -6)
        ppm = lambda part: int(up(part / nominal * 1_000_000, 0))
        judged.append((ppm(error + expanded), ppm(error - expanded) if error > expanded else 0))
    if not judged:
        return None
    best = min(judged)[0]
    return max((most for most, surely in judged if surely > best), default=best)


def own_error(books, shares):
    """Within a stretch of the scale the error is common (JCGM 100:2008, 5.2.2): a rectangle as wide as the bound (4.3.7)."""
    variance, unbounded = Decimal(0), shares.pop(None, Decimal(0))
    for stretch, grams in shares.items():
        known = [c for n, c in books.checks.items() if n not in books.voids and books.stretch(n) == stretch]
        ppm = bound(known)
        if ppm is None:
            unbounded += grams
            continue
        standard = up((Decimal(ppm) ** 2 / 3).sqrt(), 0)
        common = int(grams * FEMTO * standard / 1_000_000) / FEMTO
        variance += up(abs(common), -6) ** 2
    return variance, unbounded


def yard_run(books):
    held = books.in_force()
    columns = sorted({key[1:] for key in held}, key=lambda column: (books.names[column[0]], column[1]))
    shares = defaultdict(Decimal)
    rows, mass, variance = [], Decimal(0), Decimal(0)
    totals = [[Decimal("0.00"), 0, Decimal(0), 0] for _ in columns]
    standing = lambda fill: fill["closed"] is None or (PAST and fill["closed"] > DAY)
    there = {n: fill for n, fill in books.fills.items() if standing(fill) and (not PAST or fill["day"] <= DAY)}
    for n, fill in sorted(there.items(), key=lambda one: books.bins[one[1]["bin"]]["number"]):
        bin, grade = books.bins[fill["bin"]], fill["grade"]
        grams, reading, drops = books.of(n)
        if not grams and not drops:
            continue
        for seq, entry in books.there(n):
            shares[books.stretch(seq) if entry["here"] else None] += entry["grams"]
        offers = [offer(held.get((grade, *column)), grams, books.counted(n)[0]) for column in columns]
        for total, one in zip(totals, offers):
            if one and one["value"]:
                total[0] += Decimal(one["value"])
                total[1] += 1
            else:
                total[2] += grams
                total[3] += 1
        capacity = bin["capacity"]
        rows.append({"number": bin["number"], "grade": books.names.get(grade), "mass": mass_view(grams), "drops": drops})
        rows[-1] |= {"uncertainty_kg": kg_up(reading.variance()), "offers": offers}
        rows[-1]["filled_percent"] = int(grams * 100 / Decimal(capacity)) if capacity else None
        rows[-1]["days_since_emptied"] = (DAY - fill["day"]).days
        mass += grams
        variance += reading.variance()
    loose = [entry["grams"] for _, entry in books.there(None) if entry["kind"] in DROPS]
    own, unbounded = own_error(books, shares)
    tell = [
        {"value": f"{value}", "bins": bins, "left_out_kg": written(left / 1000, 3, ROUND_HALF_EVEN), "left_out_bins": out}
        for value, bins, left, out in totals
    ]
    unassigned = {"mass": mass_view(sum(loose, Decimal(0))), "drops": len(loose)}
    return {
        "buyers": [{"name": books.names[buyer], "currency": currency} for buyer, currency in columns],
        "own_error": {
            "uncertainty_kg": None if unbounded and not own else kg_up(own),
            "with_readings_kg": None if unbounded and not own else kg_up(own + variance),
            "unbounded": mass_view(unbounded),
        },
        "bins": rows,
        "total": mass_view(mass),
        "total_uncertainty_kg": kg_up(variance),
        "totals": tell,
        "unassigned": unassigned,
    }


def ratio(pairs, share=False):
    """Total over total, with the 95 % interval from four lots on; that of a share ends at nothing and at all of it."""
    factor = 100 if share else 1
    above, below, n = sum(a for a, _ in pairs), sum(b for _, b in pairs), len(pairs)
    r = above / below
    shown = {"value": written(r * factor, 2), "low": None, "high": None}
    if n >= 4:
        error = (sum((a - r * b) ** 2 for a, b in pairs) / (n * (n - 1))).sqrt() / (below / n)
        half = Decimal(f"{t.ppf(0.975, n - 1):.6f}") * error
        ends = [r - half, r + half]
        if share and 0 <= r <= 1:
            ends = [max(ends[0], Decimal(0)), min(ends[1], Decimal(1))]
        shown |= {name: written(end * factor, 2) for name, end in zip(("low", "high"), ends)}
    return shown


def one_rules(pairs):
    """The jackknife's standard error, one lot left out at a time, is not within a factor of two of Cochran's."""
    above, below, n = sum(a for a, _ in pairs), sum(b for _, b in pairs), len(pairs)
    if n < 4:
        return False
    without = [(above - a) / (below - b) for a, b in pairs]
    mean = sum(without) / n
    jackknife = ((n - 1) * sum((one - mean) ** 2 for one in without) / n).sqrt()
    error = (sum((a - above / below * b) ** 2 for a, b in pairs) / (n * (n - 1))).sqrt() / (below / n)
    return jackknife > 2 * error or error > 2 * jackknife


def quotient(above, below, grams, whole):
    r = grams / whole
    return written(200 * (above + r * r * below).sqrt() / whole, 2, ROUND_CEILING)


def line(needed, size, write):
    if needed <= 0:
        return {"pays": "always", "value": None}
    return {"pays": "at", "value": write(needed / size)} if size > 0 else {"pays": "never", "value": None}


def part(needed, got, mass, intake):
    """Of the intake, at the price as it is; more than all of it is never."""
    if needed <= 0:
        return {"pays": "always", "value": None}
    share = needed / got * mass / intake if got > 0 and mass > 0 else None
    return {"pays": "never", "value": None} if share is None or share > 1 else {"pays": "at", "value": written(share * 100, 2)}


def hour(books):
    held = books.in_force()

    def rank(quote):
        """What pays goes before what charges, then by weight before by the piece, then the most."""
        amount = Decimal(quote["price"]["amount"])
        return amount >= 0, not by_piece(quote), amount if by_piece(quote) else per_gram(quote, amount)

    def best(grade):
        offers = [quote for (of, _, currency), quote in held.items() if of == grade and currency == "EUR"]
        return max(offers, key=rank, default=None)

    def value(grade, grams):
        quote = best(grade)
        return None if quote is None else cents(grams * per_gram(quote, quote["price"]["amount"]))

    def brings(grade, entries):
        """What came out of a lot as one grade, and what of it is paid by the piece and not counted since the last of it came."""
        quote = best(grade)
        if quote is None or not by_piece(quote):
            return value(grade, sum((entry["grams"] for entry in entries), Decimal(0))), Decimal(0)
        each, number = shares(entries), pieces(entries)
        missing = sum((grams for grams, share in each if share is None), Decimal(0))
        return None if number is None else cents(number * Decimal(quote["price"]["amount"])), missing

    def shares(entries):
        """By the fill that it went into, what of it came and its share of the pieces; none where the count does not hold."""
        told = []
        for fill in {entry["fill"] for entry in entries}:
            grams = sum((entry["grams"] for entry in entries if entry["fill"] == fill), Decimal(0))
            number, whole = books.counted(fill)
            holds = number is not None and whole == books.of(fill)[0] and whole > 0
            told.append((grams, number * grams / whole if holds else None))
        return told

    def pieces(entries):
        known = [share for _, share in shares(entries) if share is not None]
        return sum(known) if known else None

    by_then = lambda day: not PAST or day <= DAY
    feeds = []
    for feed in sorted({lot["feed"] for lot in books.lots.values()}):
        lots = {n: lot for n, lot in books.lots.items() if lot["feed"] == feed and by_then(lot["day"])}
        for lot in lots.values():
            turns = [seq for seq, day in lot["turns"] if by_then(day)]
            lot["closed"] = turns[-1] if len(turns) % 2 else None
        closed = {n: lot for n, lot in lots.items() if lot["closed"]}
        if not closed:
            continue
        outputs = defaultdict(list)
        for seq, entry in books.entries.items():
            if entry["on"] and by_then(entry["day"]) and entry["lot"] in closed and seq < closed[entry["lot"]]["closed"]:
                grade = books.fills[entry["fill"]]["grade"] if entry["fill"] else None
                outputs[entry["lot"], grade or 0].append(entry)
        grams = lambda lot, grade: sum((entry["grams"] for entry in outputs[lot, grade]), Decimal(0))
        spread = lambda pairs: sum((summed(e["reading"] for e in outputs[p]).variance() for p in pairs), Decimal(0))
        intake = sum(lot["grams"] for lot in closed.values())
        intake_variance = sum(lot["reading"].variance() for lot in closed.values())
        grades = sorted({grade for _, grade in outputs})
        whole_grade = next((n for n, name in books.names.items() if name == books.names[feed] and n != feed), None)
        whole_quote = best(whole_grade) if whole_grade else None
        clock = {n: sum(span for seq, span in lot["clock"] if seq <= lot["closed"]) + lot["off"] for n, lot in closed.items()}
        hours = {n: Decimal(span) / 3_600_000_000_000 for n, span in clock.items()}
        worth, whole, charged = {}, {}, {}
        for n, lot in closed.items():
            priced = [brings(grade, outputs[n, grade])[0] for grade in grades if outputs.get((n, grade))]
            worth[n] = sum((one for one in priced if one is not None and one > 0), Decimal(0))
            charged[n] = sum((-one for one in priced if one is not None and one < 0), Decimal(0))
            whole[n] = value(whole_grade, lot["grams"]) if whole_quote else Decimal(0)
        brought, spent = sum(worth.values()), sum(hours.values())
        # What buyers charge is a cost of being rid of it.
        kept = sum(whole.values()) + sum(charged.values())
        rows = []
        for grade in grades:
            mass = sum(grams(n, grade) for n in closed)
            each = [brings(grade, outputs[n, grade]) for n in closed if outputs.get((n, grade))]
            told = [one for one, _ in each if one is not None]
            got, missing = sum(told, Decimal("0.00")) if told else None, sum((left for _, left in each), Decimal(0))
            row = {"grade": books.names.get(grade), "mass": mass_view(mass), "value": None if got is None else f"{got}"}
            row["percent"] = ratio([(grams(n, grade), lot["grams"]) for n, lot in closed.items()], share=True)
            row["weighing_percent"] = quotient(spread((n, grade) for n in closed), intake_variance, mass, intake)
            row["not_counted"] = mass_view(missing) if missing else None
            if grade:
                # At another price there would be no charge.
                needed = kept + min(got or 0, 0) + FLOOR * spent - (brought - max(got or 0, 0))
                weight = not best(grade) or not by_piece(best(grade))
                row["break_even_price_per_kg"] = line(needed, mass / 1000, lambda value: written(value, 2)) if weight else None
                counts = [pieces(outputs[n, grade]) for n in closed if outputs.get((n, grade))]
                number = sum(known for known in counts if known is not None) if any(known is not None for known in counts) else None
                each = line(needed, number, lambda value: written(value, 2)) if number is not None and not weight else None
                row["break_even_price_per_piece"] = each
                row["break_even_percent"] = part(needed, max(got or Decimal(0), Decimal(0)), mass, intake)
            rows.append(row)
        valued = [Decimal(row["value"]) for row in rows if row["value"] is not None]
        loss = intake - sum(sum(grams(n, grade) for grade in grades) for n in closed)
        missing = [(lot["grams"] - sum(grams(n, grade) for grade in grades), lot["grams"]) for n, lot in closed.items()]
        added, paid = brought - kept, [(worth[n] - whole[n] - charged[n], hours[n]) for n in closed]
        feeds.append(
            {
                "feed": books.names[feed],
                "closed_lots": len(closed),
                "open_lots": len(lots) - len(closed),
                "intake": mass_view(intake),
                "grades": rows,
                "value_per_kg": written(sum(valued) / (intake / 1000), 2) if valued else None,
                "loss": {"mass": mass_view(loss), "percent": ratio(missing, share=True)},
                "hands_on_seconds": sum(clock.values()) // 1_000_000_000,
                "whole": "quoted" if whole_quote else "left",
                "charges": f"{sum(charged.values()):.2f}",
                "disposal": f"{sum(charged.values()):.2f}",
                "adds_per_hour": ratio(paid),
                "one_lot_rules": one_rules(paid),
                "break_even_hours": {"pays": "never", "value": None}
                if added <= 0
                else {"pays": "at", "value": written(Decimal(int(added / FLOOR * 3600)) / 3600, 2)},
            }
        )
    return {"feeds": feeds}


if __name__ == "__main__":
    books = Books(sys.stdin)
    print(json.dumps({"yard_run": yard_run(books), "hour": hour(books)}))
