"""Which grades earn a place, reckoned from the text of a roll: JSON of the figures on standard output.

From the definitions: what collected over the last thirteen weeks at most, as a month of 30.4375 days; both prices at the
buyer who pays most for the grade by itself and takes the coarser one too; the gain is kilograms times the difference, less
what sorting costs at the floor; places go to what gains most for each.
Usage: reckon_places.py TODAY STALE_AFTER 0 < ROLL
"""

import json
import sys
from collections import defaultdict
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from datetime import date
from reckon import DAY, FEMTO, STALE, Books, age, by_piece, cents, mass_view, per_gram, written

HOUR = 3_600_000_000_000


class Bench(Books):
    def __init__(self, lines):
        self.grades, self.coarser, self.sorting, self.taps = [], {}, {}, []
        self.floor = self.places = None
        super().__init__(lines)

    def fold(self, event):
        seq, kind, body = event["seq"], event["kind"], event["body"]
        match kind:
            case "grade-made":
                self.grades.append(seq)
                super().fold(event)
            case "bin-full":
                self.taps.append((seq, date.fromisoformat(event["wall"][:10]), body["fill"]))
                super().fold(event)
            case "grade-told":
                self.coarser[body["grade"]] = body["fallback"]
            case "sorting-told":
                self.sorting[body["grade"]] = body["a_month"]
            case "limits-told":
                self.floor, self.places = Decimal(body["floor"]["amount"]), body["places"]
            case _:
                super().fold(event)

    def in_fill(self, fill):
        return [(n, e) for n, e in self.entries.items() if e["on"] and e["fill"] == fill]


def collects(entry):
    kind = entry["kind"]
    return kind in ("drop", "elsewhere", "out", "transfer", "crumbs") or (kind == "unseen" and entry["grams"] > 0)


def know(books, grade):
    bins = sorted((bin["number"], bin["capacity"]) for bin in books.bins.values() if bin["grade"] == grade)
    came = [
        (e["day"], e["grams"])
        for e in books.entries.values()
        if e["on"] and e["fill"] and books.fills[e["fill"]]["grade"] == grade and collects(e) and e["day"] <= DAY
    ]
    days = min((DAY - min(day for day, _ in came)).days + 1, 91) if came else 0
    collected = sum((grams for day, grams in came if (DAY - day).days < days), Decimal(0))
    month = None
    if days >= 28:
        month = (max(collected, Decimal(0)) * Decimal("30.4375") / days).quantize(1 / FEMTO, ROUND_DOWN)
    seen, full, took, empty = set(), [], [], 0
    for seq, day, fill in books.taps:
        if books.fills[fill]["grade"] != grade or day > DAY or fill in seen:
            continue
        held = books.in_fill(fill)
        grams = sum((e["grams"] for n, e in held if n < seq), Decimal(0))
        if grams <= 0:
            empty += 1
            continue
        seen.add(fill)
        full.append(grams)
        if not any(e["kind"] in ("stock", "tipped") for _, e in held):
            took.append((day - books.fills[fill]["day"]).days)
    full, took = sorted(full), sorted(took)
    said = next((Decimal(capacity) for _, capacity in bins if capacity is not None), None)
    return {
        "bins": [number for number, _ in bins],
        "days": days,
        "collected": collected,
        "month": month,
        "full": full[(len(full) - 1) // 2] if full else said,
        "learned": bool(full),
        "took": took,
        "empty": empty,
    }


def places(books):
    held = {(grade, buyer): quote for (grade, buyer, currency), quote in books.in_force().items() if currency == "EUR"}
    buyers = sorted({buyer for _, buyer in held})
    known = {grade: know(books, grade) for grade in books.grades}
    coarser = {grade: other for grade, other in books.coarser.items() if other != grade}
    coarse = [grade for grade in books.grades if grade in coarser.values() and grade not in coarser]
    takes = lambda grade: max(len(known[grade]["bins"]), 1)
    trip = lambda grade: known[grade]["full"] or known[grade]["month"] or Decimal(0)

    def price(grade, buyer, grams):
        """A kilogram where so much is brought, to nine places."""
        quote = held.get((grade, buyer))
        if quote is None or by_piece(quote) or (quote["minimum"] is not None and grams < Decimal(quote["minimum"])):
            return None
        amount = quote["price"]["amount"]
        for step in quote["breaks"]:
            if grams >= Decimal(step["from"]):
                amount = step["amount"]
        return (1000 * per_gram(quote, amount)).quantize(Decimal("1e-9"), ROUND_HALF_EVEN)

    def dearest(prices):
        told = [(amount, at) for at, (_, amount) in enumerate(prices) if amount is not None]
        return prices[max(told)[1]] if told else None

    def pair(grade):
        """Of the grade and of the coarser one: the buyer and the price; and whether a trip is too little for everybody."""
        other = coarser.get(grade)
        together = trip(grade) + (trip(other) if other else Decimal(0))
        own = [(buyer, price(grade, buyer, trip(grade))) for buyer in buyers]
        folded = {buyer: price(other, buyer, together) for buyer in buyers} if other else {}
        both = dearest([(buyer, amount) for buyer, amount in own if folded.get(buyer) is not None])
        if both:
            return both, (both[0], folded[both[0]]), False
        best, lumped = dearest(own), dearest(list(folded.items()))
        weighed = any((grade, buyer) in held and not by_piece(held[grade, buyer]) for buyer in buyers)
        little = best is None and weighed
        return (lumped if little and lumped else best), lumped, little

    def judge(grade):
        facts, (own, folded, little) = known[grade], pair(grade)
        line = {
            "grade": books.names[grade],
            "coarser": books.names.get(coarser.get(grade)),
            "bins": facts["bins"],
            "places": takes(grade),
            "month": None if facts["month"] is None else mass_view(facts["month"]),
            "days": facts["days"],
            "collected": mass_view(facts["collected"]),
            "buyer": books.names[(own or folded)[0]] if own or folded else None,
            "own_price_per_kg": written(own[1], 2) if own else None,
            "coarser_price_per_kg": written(folded[1], 2) if folded else None,
            "full_bin": None if facts["full"] is None else mass_view(facts["full"]),
            "full_learned": facts["learned"],
            "days_to_fill": None,
            "full_bin_value": None,
            "wrong_piece_costs": None,
            "gain_a_month": None,
            "rank": None,
        }
        stale = lambda of, at: (of, at[0]) in held and age(held[of, at[0]]) > STALE if at else False
        line["stale"] = stale(grade, own) or stale(coarser.get(grade), folded)
        sorting = books.sorting.get(grade)
        line["sorting_minutes_a_month"] = None if sorting is None else sorting // 60_000_000_000
        money = lambda amount: {"amount": f"{cents(amount)}", "currency": "EUR"}
        if facts["took"]:
            took = facts["took"]
            line["days_to_fill"] = {"median": took[(len(took) - 1) // 2], "shortest": took[0], "longest": took[-1], "taps": len(took)}
        comparable = own and folded and own[0] == folded[0]
        if own and facts["full"] is not None:
            line["full_bin_value"] = money(facts["full"] / 1000 * own[1])
        if comparable and facts["full"] is not None:
            line["wrong_piece_costs"] = money(facts["full"] / 1000 * max(own[1] - folded[1], Decimal(0)))
        if not comparable or facts["month"] is None:
            return None, line | {"verdict": "cannot-tell"}
        earns = facts["month"] / 1000 * (own[1] - folded[1])
        gain = earns - Decimal(sorting or 0) / HOUR * books.floor
        if sorting is None:
            verdict = "cannot-tell" if gain > 0 else "goes-in"
            return (None if gain > 0 else Fraction(gain) / takes(grade)), line | {"verdict": verdict}
        line |= {"gain_a_month": money(gain), "verdict": "earns" if gain > 0 else "goes-in"}
        return Fraction(gain) / takes(grade), line

    judged = [(*judge(grade), grade) for grade in books.grades if grade not in coarse]
    judged.sort(key=lambda one: (one[0] is None, -(one[0] or 0), one[2]))
    reserved = sum(takes(grade) for grade in coarse)
    left, rank = max(books.places - reserved, 0), 0
    for _, line, grade in judged:
        if line["verdict"] == "earns":
            rank += 1
            line["rank"], room = rank, takes(grade) <= left
            line["verdict"] = "keep-apart" if room else "when-a-place-is-free"
            left -= takes(grade) if room else 0
    rows = [line for _, line, _ in judged] + [judge(grade)[1] | {"verdict": "coarse"} for grade in coarse]
    return {"reserved": reserved, "places": books.places, "floor_per_hour": f"{books.floor:.2f}", "grades": rows}


if __name__ == "__main__":
    books = Bench(sys.stdin)
    print(json.dumps(places(books)))
