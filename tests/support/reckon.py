"""The yard-run report and the report on an hour, reckoned from the text of a roll: JSON of the figures on standard output.

From the definitions, not from the program: uncertainties by JCGM 100:2008 (F.2.2.1, 5.1.5: a sum rests on each reading
as often as it is in it), ratios total over total with Cochran's standard error, Student's t from scipy, units from pint.
Usage: reckon.py DAY STALE_AFTER FLOOR < ROLL
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
DAY, STALE, FLOOR = date.fromisoformat(sys.argv[1]), int(sys.argv[2]), Decimal(sys.argv[3])


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
        self.running, self.leg, self.last = None, None, None
        for line in lines:
            self.fold(json.loads(line.rsplit("\t", 1)[0]))

    def lot_now(self, feed):
        """The open lot of a feed; of two the one that was opened last."""
        open_lots = [(lot["opened"], n) for n, lot in self.lots.items() if lot["feed"] == feed and lot["open"]]
        return max(open_lots)[1] if open_lots else None

    def entry(self, seq, kind, fill, grams, reading, lot=None):
        self.entries[seq] = {"kind": kind, "fill": fill, "grams": grams, "reading": reading, "lot": lot, "on": kind != "drop"}

    def fold(self, event):
        seq, kind, body, mono = event["seq"], event["kind"], event["body"], event["mono"]
        if self.running is not None:
            lot = self.lot_now(self.running)
            if lot is not None:
                self.lots[lot]["clock"].append((seq, mono - self.last))
        self.last = mono
        match kind:
            case "feed-made" | "grade-made" | "buyer-made":
                self.names[seq] = body["name"]
            case "bin-made":
                self.bins[seq] = {"number": body["number"], "grade": body["grade"], "capacity": body["capacity"]}
                self.fresh(seq, seq, event)
            case "quote-given":
                self.quotes[seq] = body
            case "quote-withdrawn":
                del self.quotes[body["quote"]]
            case "epoch-opened":
                self.division = Decimal(body["division"])
            case "session-started":
                self.running = self.feed = body["feed"]
            case "session-paused" | "session-ended":
                self.running = None
            case "session-resumed":
                self.running = self.feed
            case "lot-entered":
                self.lots[seq] = {"feed": body["feed"], "open": True, "opened": seq, "closed": None, "grams": Decimal(body["mass"])}
                self.lots[seq] |= {"reading": source(body["source"]), "clock": [], "off": 0}
            case "lot-closed":
                self.lots[body["lot"]] |= {"open": False, "closed": seq}
            case "lot-reopened":
                self.lots[body["lot"]] |= {"open": True, "closed": None, "opened": seq}
            case "minutes-spent":
                self.lots[body["lot"]]["off"] += body["span"]
            case "stepped":
                end = lambda rest: (event["epoch"], rest["since"])
                self.steps[seq] = Reading({end(body["from"]): (-1, self.division), end(body["to"]): (1, self.division)})
            case "drop-landed":
                self.entry(seq, "drop", body["fill"], Decimal(body["mass"]), self.steps[body["step"]], self.lot_now(self.feed))
            case "weight-entered":
                self.entry(seq, "elsewhere", body["fill"], Decimal(body["mass"]), source(body["source"]), self.lot_now(self.feed))
            case "opening-stock":
                self.entry(seq, "stock", body["fill"], Decimal(body["mass"]), source(body["source"]))
            case "confirmed":
                self.entries[body["entry"]]["on"] = True
            case "drop-voided":
                self.entries[body["entry"]]["on"] = False
            case "drop-adjusted":
                self.entries[body["entry"]] |= {"grams": Decimal(body["mass"]), "reading": source(body["source"])}
            case "drops-moved":
                for entry in body["entries"]:
                    self.entries[entry]["fill"] = body["fill"]
            case "bin-emptied":
                self.fresh(body["bin"], seq, event)
            case "bin-tipped":
                moved = Reading(other=self.of(body["from_fill"])[1].variance())
                self.entry(seq, "tipped", body["to_fill"], Decimal(body["mass"]), moved)
                self.fresh(body["from"], seq, event)
            case "store-founded" | "epoch-closed":
                pass
            case _:
                sys.exit(f"no reckoning for {kind}")

    def fresh(self, bin, seq, event):
        self.fills[seq] = {"grade": self.bins[bin]["grade"], "day": date.fromisoformat(event["wall"][:10])}
        self.bins[bin]["fill"] = seq

    def of(self, fill):
        there = [entry for entry in self.entries.values() if entry["on"] and entry["fill"] == fill]
        drops = sum(entry["kind"] in ("drop", "elsewhere") for entry in there)
        return sum((entry["grams"] for entry in there), Decimal(0)), summed(entry["reading"] for entry in there), drops

    def in_force(self):
        held = {}
        for n, quote in self.quotes.items():
            key = (quote["grade"], quote["buyer"])
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


def offer(quote, grams):
    if quote is None:
        return None
    amount = quote["price"]["amount"]
    for step in quote["breaks"]:
        if grams >= Decimal(step["from"]):
            amount = step["amount"]
    short = quote["minimum"] is not None and grams < Decimal(quote["minimum"])
    value = None if short else cents(grams * per_gram(quote, amount))
    return {"value": None if short else f"{value}", "quote_day": quote["day"], "quote_age_days": age(quote), "stale": age(quote) > STALE}


def yard_run(books):
    held = books.in_force()
    columns = sorted({buyer for _, buyer in held}, key=lambda buyer: books.names[buyer])
    rows, mass, variance = [], Decimal(0), Decimal(0)
    totals = [[Decimal("0.00"), 0, Decimal(0), 0] for _ in columns]
    for bin in sorted(books.bins.values(), key=lambda bin: bin["number"]):
        grams, reading, drops = books.of(bin["fill"])
        if not grams and not drops:
            continue
        grade = books.fills[bin["fill"]]["grade"]
        offers = [offer(held.get((grade, buyer)), grams) for buyer in columns]
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
        rows[-1]["days_since_emptied"] = (DAY - books.fills[bin["fill"]]["day"]).days
        mass += grams
        variance += reading.variance()
    loose = [entry["grams"] for entry in books.entries.values() if entry["on"] and entry["fill"] is None]
    tell = [
        {"value": f"{value}", "bins": bins, "left_out_kg": written(left / 1000, 3, ROUND_HALF_EVEN), "left_out_bins": out}
        for value, bins, left, out in totals
    ]
    unassigned = {"mass": mass_view(sum(loose, Decimal(0))), "drops": len(loose)}
    return {
        "buyers": [{"name": books.names[buyer]} for buyer in columns],
        "bins": rows,
        "total": mass_view(mass),
        "total_uncertainty_kg": kg_up(variance),
        "totals": tell,
        "unassigned": unassigned,
    }


def ratio(pairs, factor=1):
    """Total over total, with the 95 % interval from four lots on."""
    above, below, n = sum(a for a, _ in pairs), sum(b for _, b in pairs), len(pairs)
    r = above / below
    shown = {"value": written(r * factor, 2), "low": None, "high": None}
    if n >= 4:
        error = (sum((a - r * b) ** 2 for a, b in pairs) / (n * (n - 1))).sqrt() / (below / n)
        half = Decimal(f"{t.ppf(0.975, n - 1):.6f}") * error
        shown |= {"low": written((r - half) * factor, 2), "high": written((r + half) * factor, 2)}
    return shown


def quotient(above, below, grams, whole):
    r = grams / whole
    return written(200 * (above + r * r * below).sqrt() / whole, 2, ROUND_CEILING)


def line(needed, size, write):
    if needed <= 0:
        return {"pays": "always", "value": None}
    return {"pays": "at", "value": write(needed / size)} if size > 0 else {"pays": "never", "value": None}


def hour(books):
    held = books.in_force()

    def best(grade):
        offers = [quote for (of, _), quote in held.items() if of == grade]
        return max(offers, key=lambda quote: per_gram(quote, quote["price"]["amount"]), default=None)

    def value(grade, grams):
        quote = best(grade)
        return None if quote is None else cents(grams * per_gram(quote, quote["price"]["amount"]))

    feeds = []
    for feed in sorted({lot["feed"] for lot in books.lots.values()}):
        lots = {n: lot for n, lot in books.lots.items() if lot["feed"] == feed}
        closed = {n: lot for n, lot in lots.items() if not lot["open"]}
        if not closed:
            continue
        outputs = defaultdict(list)
        for seq, entry in books.entries.items():
            if entry["on"] and entry["lot"] in closed and seq < closed[entry["lot"]]["closed"]:
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
        worth, whole = {}, {}
        for n, lot in closed.items():
            priced = [value(grade, grams(n, grade)) for grade in grades if outputs.get((n, grade))]
            worth[n] = sum((one for one in priced if one is not None), Decimal(0))
            whole[n] = value(whole_grade, lot["grams"]) if whole_quote else Decimal(0)
        brought, kept, spent = sum(worth.values()), sum(whole.values()), sum(hours.values())
        rows = []
        for grade in grades:
            mass = sum(grams(n, grade) for n in closed)
            each = [value(grade, grams(n, grade)) for n in closed if outputs.get((n, grade))]
            got = sum(each, Decimal(0)) if best(grade) else None
            row = {"grade": books.names.get(grade), "mass": mass_view(mass), "value": None if got is None else f"{got}"}
            row["percent"] = ratio([(grams(n, grade), lot["grams"]) for n, lot in closed.items()], 100)
            row["weighing_percent"] = quotient(spread((n, grade) for n in closed), intake_variance, mass, intake)
            if grade:
                needed = kept + FLOOR * spent - (brought - (got or 0))
                row["break_even_price_per_kg"] = line(needed, mass / 1000, lambda value: written(value, 2))
            rows.append(row)
        loss = intake - sum(sum(grams(n, grade) for grade in grades) for n in closed)
        missing = [(lot["grams"] - sum(grams(n, grade) for grade in grades), lot["grams"]) for n, lot in closed.items()]
        added = brought - kept
        feeds.append(
            {
                "feed": books.names[feed],
                "closed_lots": len(closed),
                "open_lots": len(lots) - len(closed),
                "intake": mass_view(intake),
                "grades": rows,
                "loss": {"mass": mass_view(loss), "percent": ratio(missing, 100)},
                "hands_on_seconds": sum(clock.values()) // 1_000_000_000,
                "whole": "quoted" if whole_quote else "left",
                "adds_per_hour": ratio([(worth[n] - whole[n], hours[n]) for n in closed]),
                "break_even_hours": {"pays": "never", "value": None}
                if added <= 0
                else {"pays": "at", "value": written(Decimal(int(added / FLOOR * 3600)) / 3600, 2)},
            }
        )
    return {"feeds": feeds}


books = Books(sys.stdin)
print(json.dumps({"yard_run": yard_run(books), "hour": hour(books)}))
