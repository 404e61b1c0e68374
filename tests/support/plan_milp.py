"""The plan of a run by scipy.optimize.milp, formulated apart from the program: one switch for each set of stops, one
continuous mass for each stretch of quantity. Reads a case a line, writes the best net or "infeasible" a line."""

import itertools
import json
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

CENT = 0.01


def rounds(case):
    """The cheapest round of every set of open stops, in the currency, every order tried."""
    roads, there = case["roads"], case["there"]
    home = len(there)
    useful = [place for place in range(home) if case["open"][place]]
    for size in range(len(useful) + 1):
        for stops in itertools.combinations(useful, size):
            ways = []
            for order in itertools.permutations(stops):
                path = [home, *order, home]
                ways.append(sum(roads[a][b] for a, b in zip(path, path[1:])))
            yield stops, CENT * (min(ways) + sum(there[place] for place in stops))


class Model:
    def __init__(self):
        self.cost, self.whole, self.upper, self.rows = [], [], [], []

    def var(self, cost, upper, whole):
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms, low, high):
        self.rows.append((terms, low, high))

    def solve(self):
        matrix = np.zeros((len(self.rows), len(self.cost)))
        low, high = [], []
        for at, (terms, least, most) in enumerate(self.rows):
            for var, factor in terms:
                matrix[at, var] += factor
            low.append(least)
            high.append(most)
        # scipy minimises.
        result = milp(
            -np.array(self.cost),
            constraints=LinearConstraint(matrix, low, high),
            integrality=np.array(self.whole),
            bounds=Bounds(0, np.array(self.upper)),
            options={"mip_rel_gap": 0},
        )
        if result.status == 2:
            return None
        assert result.status == 0, result.message
        return -result.fun


def plan(case):
    model, infinite = Model(), np.inf
    sets = [(stops, model.var(-cost, 1, 1)) for stops, cost in rounds(case)]
    model.row([(var, 1) for _, var in sets], 1, 1)
    holds = dict(case["holds"])
    offers = {(grade, place): rest for grade, place, *rest in case["offers"] if case["open"][place]}
    goes = {}
    for at, (grade, _, _, _, pin) in enumerate(case["bins"]):
        here = [(place, model.var(0, 1, 1)) for (of, place) in offers if of == grade]
        for place, var in here:
            goes[at, place] = var
            model.row([(var, 1)] + [(on, -1) for stops, on in sets if place in stops], -infinite, 0)
        need = {"go": (1, 1), "leave": (0, 0), None: (0, 1)}[pin]
        model.row([(var, 1) for _, var in here], *need)
    for (grade, place), (steps, minimum, deduction) in offers.items():
        bins = [at for at, bin in enumerate(case["bins"]) if bin[0] == grade]
        kilos = [(goes[at, place], case["bins"][at][1] / 1000) for at in bins]
        most = sum(weight for _, weight in kilos)
        paid, on = [], []
        ends = [start for start, _ in steps[1:]] + [None]
        for (start, cents), end in zip(steps, ends):
            if grade in holds and cents < holds[grade]:
                continue
            # A gram below the next step, since every mass here is whole grams.
            upper = most if end is None else min(most, (end - 1) / 1000)
            lower = max(start, minimum) / 1000
            if lower > upper:
                continue
            switch = model.var(0, 1, 1)
            mass = model.var(CENT * cents * (100 - deduction) / 100, max(upper, 0), 0)
            model.row([(mass, 1), (switch, -upper)], -infinite, 0)
            model.row([(mass, 1), (switch, -lower)], 0, infinite)
            paid.append((mass, -1))
            on.append((switch, 1))
        if on:
            model.row(on, 0, 1)
        model.row(kilos + paid, 0, 0)
    for column, most in ((2, case["payload"]), (3, case["litres"])):
        if most is not None:
            model.row([(var, case["bins"][at][column]) for (at, _), var in goes.items()], -infinite, most)
    if case["count"] is not None:
        model.row([(var, 1) for var in goes.values()], -infinite, case["count"])
    return model.solve()


for line in sys.stdin:
    best = plan(json.loads(line))
    print("infeasible" if best is None else f"{best:.6f}")
