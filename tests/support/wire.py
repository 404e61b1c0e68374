"""Reckons again what stripping wire gains, from the samples: numpy for the sums, scipy for the quantile of t.

The estimator and its error are those of a ratio of two sums; the uncertainty of a weighing is that of a difference of two
readings (JCGM 100:2008, F.2.2.1), carried through the quotient (5.1.3).
"""

import json
import sys
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal

import numpy
from scipy import stats

asked = json.load(sys.stdin)
before, after, seconds = (numpy.array([float(row[at]) for row in asked["samples"]]) for at in range(3))
count = len(before)
share = after.sum() / before.sum()

one = asked["division"] / numpy.sqrt(6)
both = one * numpy.sqrt(count)
weighing = numpy.hypot(both, share * both) / before.sum()
strays = after - share * before
between = numpy.sqrt((strays**2).sum() / (count * (count - 1))) / before.mean()
standard = max(weighing, between)
half = stats.t.ppf(0.975, count - 1) * between

bare, insulated, disposal = asked["bare"], asked["insulated"], asked["disposal"]
gain = share * bare - (1 - share) * disposal - insulated
error = (bare + disposal) * standard
pace = before.sum() / 1000 / (seconds.sum() / 3600)
least = (insulated + disposal + asked["floor"] / pace) / (bare + disposal)


def near(value, places=2):
    return str(Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))


def up(value):
    return str(Decimal(repr(float(value))).quantize(Decimal("0.01"), ROUND_UP))


json.dump(
    {
        "recovery_percent.value": near(share * 100),
        "recovery_percent.low": near((share - half) * 100),
        "recovery_percent.high": near((share + half) * 100),
        "recovery_uncertainty_percent": up(standard * 200),
        "gain_per_kg": near(gain),
        "gain_per_kg_uncertainty": up(error * 2),
        "kg_per_hour": near(pace, 3),
        "gain_per_hour": near(gain * pace),
        "gain_per_hour_uncertainty": up(error * pace * 2),
        "break_even_percent": near(least * 100),
    },
    sys.stdout,
)
